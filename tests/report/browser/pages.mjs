// Opens pages of reports in a real browser and looks whether they hold what they promise.
//   node pages.mjs [--glance|--brief|--paint[=milliseconds]] <folder with node_modules> <page.html>...
// --glance: what is drawn on a screen of 1280 pixels, and its numbers. --brief: on a screen of 1280 pixels and on paper only, without use; for many pages. --paint: how soon something is painted, the
// best of three (within a second, or so many milliseconds), and nothing else.
// Prints one line for each fault, `<page>: <what>`, then "N pages, M faults". Exit status 0: none. CHROMIUM names the browser.
import {existsSync, readFileSync} from 'node:fs';
import {createRequire} from 'node:module';
import {basename, join, resolve} from 'node:path';
import {pathToFileURL} from 'node:url';

const glance = process.argv.includes('--glance');
const brief = glance || process.argv.includes('--brief');
const paint = process.argv.find((argument) => argument.startsWith('--paint'));
const [packages, ...pages] = process.argv.slice(2).filter((argument) => !argument.startsWith('--')).map((path) => resolve(path));
const bring = createRequire(join(packages, 'package.json'));
const {chromium} = bring('playwright-core');
const axe = readFileSync(bring.resolve('axe-core/axe.min.js'), 'utf8');
const program = process.env.CHROMIUM ?? ['/usr/bin/chromium', '/usr/bin/chromium-browser', '/usr/bin/google-chrome'].find(existsSync);
if (!program) {
  console.log('no browser: install the Debian package chromium, or name one with CHROMIUM');
  process.exit(1);
}

const mostPaint_ms = Number(paint?.split('=')[1] ?? 1000);
let faults = 0;

function fault(page, what) {
  faults += 1;
  console.log(`${page}: ${what}`);
}

/// A page in a context of its own; whatever it complains of or asks for is a fault.
async function opened(browser, path, settings = {}) {
  const name = `${basename(path)} (${settings.colorScheme ?? 'light'}, ${settings.viewport?.width ?? 1280})`;
  const context = await browser.newContext({viewport: {width: 1280, height: 900}, ...settings});
  const page = await context.newPage();
  page.on('console', (message) => fault(name, `console ${message.type()}: ${message.text().slice(0, 300)}`));
  page.on('pageerror', (error) => fault(name, `error: ${String(error).slice(0, 300)}`));
  page.on('dialog', (dialog) => fault(name, `dialog: ${dialog.message()}`));
  page.on('request', (request) => {
    const url = request.url();
    if (!(request.isNavigationRequest() && url.startsWith('file:')) && !url.startsWith('data:')) fault(name, `asks for ${url.slice(0, 200)}`);
  });
  await page.goto(pathToFileURL(path).href);
  return {name, page, context};
}

async function allDrawn(page) {
  await page.waitForFunction(() => !document.querySelector('.chart[data-from]:not([data-drawn])'), null, {timeout: 60000});
}

/// Every figure has a picture with shapes in it and a label that says something; every table has a caption and heads.
async function checkContent({name, page}) {
  const told = await page.evaluate(() => {
    const found = [];
    const pictures = [...document.querySelectorAll('main figure')];
    for (const figure of pictures) {
      const picture = figure.querySelector('[role=img][aria-label]');
      const where = figure.closest('section').id;
      if (!picture || picture.getAttribute('aria-label').length < 20) found.push(`${where}: no label`);
      else if (/NaN|undefined|null|\[object/.test(picture.getAttribute('aria-label'))) found.push(`${where}: label is broken`);
      const svg = figure.querySelector('svg:not([aria-hidden])');
      const shapes = svg ? svg.querySelectorAll('path, rect, polyline, line').length : 0;
      if (shapes < 3) found.push(`${where}: nothing is drawn`);
      const words = svg ? [...svg.querySelectorAll('text')].map((text) => text.textContent) : [];
      if (words.length < 2) found.push(`${where}: nothing is written in the picture`);
      for (const word of words) if (/NaN|undefined|\[object|Infinity/.test(word)) found.push(`${where}: '${word}' is written`);
      if (!figure.closest('section').querySelector('table')) found.push(`${where}: no table with the numbers`);
    }
    for (const table of document.querySelectorAll('table')) {
      if (!table.caption?.textContent || table.querySelectorAll('thead th[scope=col]').length === 0) found.push('a table lacks caption or heads');
      for (const cell of table.querySelectorAll('td')) if (/^(NaN|undefined)$/.test(cell.textContent)) found.push('a cell is no number');
    }
    if (window.broken !== undefined) found.push('a name was run as script');
    if (document.querySelector('img, iframe, object, embed, link:not([rel=icon]), script[src]')) found.push('an element that loads');
    if (document.documentElement.scrollWidth > innerWidth) found.push(`wider than the window: ${document.documentElement.scrollWidth}`);
    for (const needed of ['header', 'nav[aria-label]', 'main', 'footer', '.answer', '.verdict']) if (!document.querySelector(needed)) found.push(`no ${needed}`);
    for (const link of document.querySelectorAll('nav a')) if (!document.getElementById(link.hash.slice(1))) found.push(`${link.hash} leads nowhere`);
    return found;
  });
  for (const what of told) fault(name, what);
}

/// What charts show also stands in the tables below them, to the digits that are printed there.
async function checkNumbers({name, page}) {
  const told = await page.evaluate(() => {
    const found = [];
    const shownBy = {
      flow: (chart) => chart.links.map((link) => link[2]),
      margins: (chart) => chart.bars.map((bar) => bar.margin),
      rank: (chart) => chart.bars.map((bar) => bar.value),
    };
    for (const data of document.querySelectorAll('script[type="application/json"]')) {
      const chart = JSON.parse(data.textContent);
      const section = data.closest('section');
      if (!shownBy[chart.kind]) continue;
      const cells = [...section.querySelectorAll('td.n')].map((cell) => cell.textContent.trim()).filter((text) => /^[-+]?\d/.test(text))
        .map((text) => ({value: Number(text), half: 0.5 * 10 ** (Number(text.split('e')[1] ?? 0) - (text.split('e')[0].split('.')[1] ?? '').length)}));
      for (const value of shownBy[chart.kind](chart)) {
        if (!cells.some((cell) => Math.abs(cell.value - value) <= 1.001 * cell.half)) found.push(`${section.id}: ${value} is in no table`);
      }
    }
    return found.slice(0, 12);
  });
  for (const what of told) fault(name, what);
}

/// Labels of a picture must not lie on each other, nor leave the picture.
async function checkLabels({name, page}) {
  const told = await page.evaluate(() => {
    const found = [];
    for (const svg of document.querySelectorAll('main figure svg:not([aria-hidden])')) {
      const where = svg.closest('section').id;
      const whole = svg.getBoundingClientRect();
      const boxes = [...svg.querySelectorAll('text')].filter((text) => text.textContent.trim()).map((text) => {
        const {left, right, top, bottom} = text.getBoundingClientRect();
        return {left, right, top, bottom, words: text.textContent};
      });
      for (const box of boxes) {
        if (box.left < whole.left - 3 || box.right > whole.right + 3) found.push(`${where}: '${box.words}' is cut`);
      }
      for (let i = 0; i < boxes.length; ++i) {
        for (let k = i + 1; k < boxes.length; ++k) {
          const wide = Math.min(boxes[i].right, boxes[k].right) - Math.max(boxes[i].left, boxes[k].left);
          const high = Math.min(boxes[i].bottom, boxes[k].bottom) - Math.max(boxes[i].top, boxes[k].top);
          if (wide > 3 && high > 5) found.push(`${where}: '${boxes[i].words}' lies on '${boxes[k].words}'`);
        }
      }
    }
    return found.slice(0, 12);
  });
  for (const what of told) fault(name, what);
}

const windowOf = (chart) => chart.getAttribute('data-window').then((text) => text.split(' ').map(Number));

/// Zoom by click, by key, by field and by dragging; choice by click and by key.
async function checkUse({name, page}) {
  for (const chart of await page.locator('.chart[data-drawn=lines]').all()) {
    const section = page.locator('main > section', {has: chart});
    const figure = section.locator('figure');
    const whole = await windowOf(chart);
    const zoom = figure.getByRole('button', {name: 'Zoom in'});
    if (await zoom.count()) {
      await zoom.click();
      const closer = await windowOf(chart);
      if (!(closer[1] - closer[0] < 0.9 * (whole[1] - whole[0]))) fault(name, 'a click on Zoom in shows no smaller part');
      await zoom.focus();
      await page.keyboard.press('Enter');
      const closest = await windowOf(chart);
      if (!(closest[1] - closest[0] < 0.9 * (closer[1] - closer[0]))) fault(name, 'Enter on Zoom in shows no smaller part');
      await figure.getByRole('button', {name: 'Whole'}).press('Space');
      if (String(await windowOf(chart)) !== String(whole)) fault(name, 'Whole does not bring the whole back');
      const box = await chart.boundingBox();
      await page.mouse.move(box.x + 0.3 * box.width, box.y + 0.5 * box.height);
      await page.mouse.down();
      await page.mouse.move(box.x + 0.5 * box.width, box.y + 0.5 * box.height, {steps: 4});
      await page.mouse.up();
      const dragged = await windowOf(chart);
      if (!(dragged[1] - dragged[0] < 0.5 * (whole[1] - whole[0]))) fault(name, 'dragging over the plot shows no smaller part');
      await page.mouse.move(box.x + 0.4 * box.width, box.y + 0.5 * box.height);
      if (!(await chart.locator('.tip').first().textContent({timeout: 2000}).catch(() => ''))) fault(name, 'no numbers under the pointer');
      await figure.getByRole('button', {name: 'Whole'}).click();
    }
    const boxes = figure.locator('.choice .lines input[type=checkbox]:visible');
    if (await boxes.count() === 0) continue;
    const shown = async () => Number(await chart.getAttribute('data-shown'));
    const before = await shown();
    await boxes.first().click();
    const after = await shown();
    if (Math.abs(after - before) !== 1) fault(name, 'a click on a checkbox does not show or hide one line');
    await boxes.first().focus();
    await page.keyboard.press('Space');
    if (await shown() !== before) fault(name, 'the space bar on a checkbox does not bring the line back');
  }
}

/// On paper: no figure wider than the page or higher than it, and every chart drawn for it.
async function checkPrint({name, page}) {
  const pdf = await page.pdf({preferCSSPageSize: true, printBackground: true});
  const text = pdf.toString('latin1');
  const sheets = (text.match(/\/Type\s*\/Page\b/g) ?? []).length;
  if (sheets < 1) fault(name, 'printing gives no page');
  const size = /\/MediaBox\s*\[0 0 ([\d.]+) ([\d.]+)\]/.exec(text);
  if (!size || Math.abs(size[1] - 595) > 2 || Math.abs(size[2] - 842) > 2) fault(name, `paper is ${size?.slice(1)} pt, not A4`);
  // The width between the margins of A4, as the style sheet sets them.
  await page.setViewportSize({width: 665, height: 950});
  await page.emulateMedia({media: 'print', colorScheme: 'light'});
  await page.evaluate(() => dispatchEvent(new Event('beforeprint')));
  const told = await page.evaluate(() => {
    const found = [];
    for (const figure of document.querySelectorAll('main figure')) {
      const where = figure.closest('section').id;
      const svg = figure.querySelector('svg:not([aria-hidden])');
      const box = svg.getBoundingClientRect();
      if (box.right > innerWidth + 1 || box.left < -1) found.push(`${where}: wider than the paper`);
      if (figure.getBoundingClientRect().height > 950) found.push(`${where}: higher than a page`);
      if (getComputedStyle(figure).breakInside !== 'avoid') found.push(`${where}: may be cut by the end of a page`);
      const next = figure.nextElementSibling;
      if (next && next.getBoundingClientRect().top < box.bottom - 1 && next.getBoundingClientRect().left < box.right - 1 && next.offsetHeight)
        found.push(`${where}: what follows lies on the chart`);
    }
    return found;
  });
  for (const what of told) fault(name, `on paper, ${what}`);
  await checkLabels({name: `${name} on paper`, page});
}

async function checkAccess({name, page}) {
  await page.evaluate(axe);
  const {violations} = await page.evaluate(() => window.axe.run(document, {resultTypes: ['violations']}));
  for (const {id, impact, nodes} of violations) {
    if (impact === 'serious' || impact === 'critical') fault(name, `${impact} ${id}: ${nodes[0].html.slice(0, 200)} (${nodes.length})`);
  }
}

/// The content-security-policy: a request that a script makes must fail. Whatever the browser says about it is wanted.
async function checkPolicy(browser, path) {
  const context = await browser.newContext();
  const page = await context.newPage();
  await page.goto(pathToFileURL(path).href);
  const refused = await page.evaluate(async () => {
    const events = [];
    addEventListener('securitypolicyviolation', (event) => events.push(event.effectiveDirective));
    await fetch('data:text/plain,x').catch(() => {});
    const script = document.createElement('script');
    script.textContent = 'window.broken = 1';
    document.body.append(script);
    const picture = document.createElement('img');
    picture.src = 'https://example.invalid/x.png';
    document.body.append(picture);
    await new Promise((done) => setTimeout(done, 50));
    return {events, broken: window.broken};
  });
  for (const directive of ['connect-src', 'script-src-elem', 'img-src']) {
    if (!refused.events.includes(directive)) fault(basename(path), `the policy lets ${directive} through`);
  }
  if (refused.broken) fault(basename(path), 'the policy lets a foreign script run');
  await context.close();
}

async function checkWithoutScript(browser, path) {
  const {name, page, context} = await opened(browser, path, {javaScriptEnabled: false});
  if (await page.locator('main table').count() === 0) fault(name, 'no tables without script');
  if (await page.locator('.answer').innerText() === '') fault(name, 'no answer without script');
  await context.close();
}

function firstPaint_ms(page) {
  return page.evaluate(() => new Promise((done) => {
    const known = () => performance.getEntriesByName('first-contentful-paint')[0]?.startTime;
    const wait = () => known() === undefined ? setTimeout(wait, 20) : done(Math.round(known()));
    wait();
  }));
}

async function checkPaint(browser, path) {
  let best_ms = Infinity;
  for (let i = 0; i < 3; ++i) {
    const {page, context} = await opened(browser, path);
    best_ms = Math.min(best_ms, await firstPaint_ms(page));
    await context.close();
  }
  if (best_ms > mostPaint_ms) fault(basename(path), `first paint after ${best_ms} ms`);
  return best_ms;
}

async function checkPage(browser, path) {
  const light = await opened(browser, path);
  const paint_ms = await firstPaint_ms(light.page);
  await allDrawn(light.page);
  await checkContent(light);
  await checkNumbers(light);
  await checkLabels(light);
  if (!brief) await checkUse(light);
  if (!glance) await checkAccess(light);
  if (!glance) await checkPrint(light);
  await light.context.close();
  if (brief) return paint_ms;
  const phone = await opened(browser, path, {viewport: {width: 360, height: 740}, colorScheme: 'dark'});
  await allDrawn(phone.page);
  await checkContent(phone);
  await checkLabels(phone);
  await checkAccess(phone);
  await phone.context.close();
  return paint_ms;
}

const browser = await chromium.launch({executablePath: program, args: ['--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run',
  '--disable-background-networking', '--disable-component-update', '--disable-sync']});
const waiting = pages.values();
async function lookAtPages() {
  for (const path of waiting) await lookAt(path);
}
async function lookAt(path) {
  const begin = performance.now();
  const paint_ms = await (paint !== undefined ? checkPaint : checkPage)(browser, path).catch((error) => fault(basename(path), `not looked at: ${error.message}`));
  console.log(`  ${basename(path)}: first paint ${paint_ms} ms, looked at for ${((performance.now() - begin) / 1000).toFixed(1)} s`);
}
await Promise.all(brief ? [lookAtPages(), lookAtPages()] : [lookAtPages()]);  // a browser waits a good deal
if (pages.length > 0 && paint === undefined) {
  await checkPolicy(browser, pages[0]);
  await checkWithoutScript(browser, pages[0]);
}
await browser.close();
console.log(`${pages.length} pages, ${faults} faults`);
process.exit(faults === 0 ? 0 : 1);
