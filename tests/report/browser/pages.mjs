// Opens pages of reports in a real browser and looks whether they hold what they promise.
//   node pages.mjs [--brief|--paint[=milliseconds]] <folder with node_modules> <page.html>...
// Without an option: everything. --brief, for many pages: what differs from page to page, that is: all but contrasts, a click of each kind and no more, the first page as PDF and the others as they would be printed, and access and paper
// with the first rows of each table, which stand for the others. --paint: how soon something is painted, the best of three
// (within a second, or so many milliseconds), and nothing else.
// Prints one line for each fault, `<page>: <what>`, then "N pages, M faults". Exit status 0: none. CHROMIUM names the browser.
import {existsSync, readFileSync} from 'node:fs';
import {createRequire} from 'node:module';
import {basename, join, resolve} from 'node:path';
import {pathToFileURL} from 'node:url';

const brief = process.argv.includes('--brief');
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

/// A window of the browser; whatever it complains of or asks for is a fault of the page that it shows.
async function windowOf(browser, settings = {}) {
  const context = await browser.newContext({viewport: {width: 1280, height: 900}, ...settings});
  const page = await context.newPage();
  const seen = {page, context, name: ''};
  const complain = (what) => fault(seen.name, what);
  page.on('console', (message) => complain(`console ${message.type()}: ${message.text().slice(0, 300)}`));
  page.on('pageerror', (error) => complain(`error: ${String(error).slice(0, 300)}`));
  page.on('dialog', (dialog) => complain(`dialog: ${dialog.message()}`));
  page.on('request', (request) => {
    const url = request.url();
    if (!(request.isNavigationRequest() && url.startsWith('file:')) && !url.startsWith('data:')) complain(`asks for ${url.slice(0, 200)}`);
  });
  return seen;
}

async function show(seen, path, look = {}) {
  const {width = 1280, colorScheme = 'light'} = look;
  seen.name = `${basename(path)} (${colorScheme}, ${width})`;
  await seen.page.emulateMedia({media: null, colorScheme});
  await seen.page.setViewportSize({width, height: look.height ?? 900});
  await seen.page.goto(pathToFileURL(path).href);
}

/// The page that is open in another form: what it draws follows.
async function turnTo(seen, path, {width, height, colorScheme}) {
  seen.name = `${basename(path)} (${colorScheme}, ${width})`;
  await seen.page.emulateMedia({media: null, colorScheme});
  await seen.page.setViewportSize({width, height});
  await seen.page.evaluate(() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done))));
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
    if (Object.keys(Object.prototype).length) found.push(`a name changed all objects: ${Object.keys(Object.prototype)}`);
    if (window.broken !== undefined) found.push('a name was run as script');
    if (document.querySelector('img, iframe, object, embed, link:not([rel=icon]), script[src]')) found.push('an element that loads');
    if (document.documentElement.scrollWidth > innerWidth) found.push(`wider than the window: ${document.documentElement.scrollWidth}`);
    for (const needed of ['header', 'nav[aria-label]', 'main', 'footer', '.answer', '.verdict']) if (!document.querySelector(needed)) found.push(`no ${needed}`);
    for (const link of document.querySelectorAll('nav a')) if (!document.getElementById(link.hash.slice(1))) found.push(`${link.hash} leads nowhere`);
    return found;
  });
  for (const what of told) fault(name, what);
}

/// What charts show also stands in tables, to the digits that are printed there: in those of the section, or, for limits and
/// marks, anywhere on the page. Of a thinned table every row is a point of the chart.
async function checkNumbers({name, page}) {
  const told = await page.evaluate(() => {
    const found = [];
    const numberOf = (text) => {
      const words = text.trim();
      if (!/^[-+]?\d[\d.]*(e[-+]?\d+)?$/.test(words)) return null;
      const [digits, power] = words.split('e');
      return {value: Number(words), half: 0.5 * 10 ** (Number(power ?? 0) - (digits.split('.')[1] ?? '').length)};
    };
    const is = (cell, value, more = 0) => cell && Math.abs(cell.value - value) <= 1.001 * cell.half + more;
    const tablesIn = (place) => [...place.querySelectorAll('table')].map((table) => ({
      heads: [...table.tHead.rows[0].cells].map((head) => ({
        name: (head.querySelector('bdi') ?? head).textContent, unit: head.querySelector('.u')?.textContent ?? ''})),
      thinned: Boolean(table.parentElement.querySelector('.left-out')),
      rows: [...table.tBodies[0].rows].map((row) => [...row.cells].map((cell) => numberOf(cell.textContent)))}));
    const cellsOf = (tables) => tables.flatMap((table) => table.rows.flat()).filter((cell) => cell);
    const everywhere = cellsOf(tablesIn(document));
    const inAny = (cells, value) => cells.some((cell) => is(cell, value));
    const missing = (where, what, value) => found.push(`${where}: ${what} ${value} is in no table`);

    // Arrays of numbers as the page carries them.
    const bytes = (text) => Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0));
    const doubles = (text) => [...new Float64Array(bytes(text).buffer)];
    const steps = ({low, step, steps: packed}) => {
      const three = bytes(packed);
      return Array.from({length: three.length / 3}, (nothing, i) => {
        const count = three[3 * i] | three[3 * i + 1] << 8 | three[3 * i + 2] << 16;
        return count === 0xffffff ? NaN : low + step * count;
      });
    };
    const factors = {s: 1, min: 60, h: 3600, d: 86400};

    const looks = {
      flow(chart, where, tables) {
        for (const link of chart.links) if (!inAny(cellsOf(tables), link[2])) missing(where, 'power', link[2]);
      },
      margins(chart, where, tables) {
        const cells = cellsOf(tables);
        for (const bar of chart.bars) {
          for (const what of ['margin', 'value', 'limit']) if (!inAny(cells, bar[what])) missing(where, what, bar[what]);
          if (bar.reserved > 0 && !inAny(cells, bar.reserved)) missing(where, 'reserved', bar.reserved);
        }
      },
      rank(chart, where, tables) {
        for (const bar of chart.bars) if (!inAny(cellsOf(tables), bar.value)) missing(where, 'value', bar.value);
      },
      heat(chart, where, tables) {
        const values = steps(chart.values);
        const fine = chart.values.step;
        const across = chart.x.length;
        const table = tables[0];
        if (table.heads.length === across + 1 && table.rows.length === chart.y.length) {
          table.rows.forEach((row, y) => {
            if (!is(row[0], chart.y[y])) missing(where, chart.y_name, chart.y[y]);
            for (let x = 0; x < across; ++x) {
              const value = values[y * across + x];
              if (Number.isFinite(value) ? !is(row[x + 1], value, fine) : row[x + 1]) missing(where, 'value', value);
            }
          });
        } else if (table.heads.length === 3) {
          values.forEach((value, i) => {
            const [x, y] = [chart.x[i % across], chart.y[Math.floor(i / across)]];
            if (Number.isFinite(value) && !table.rows.some((row) => is(row[0], x) && is(row[1], y) && is(row[2], value, fine))) missing(where, 'value', value);
          });
        } else if (table.thinned) {
          for (const row of table.rows) {
            const y = chart.y.findIndex((value) => is(row[0], value));
            const own = values.slice(y * across, (y + 1) * across);
            if (y < 0 || row.slice(1).some((cell) => cell && !own.some((value) => is(cell, value, fine)))) found.push(`${where}: a row of the table is not on the map`);
          }
        } else found.push(`${where}: the table is not that of the map`);
      },
      lines(chart, where, tables) {
        const x = doubles(chart.x);
        const lines = chart.lines.map((line) => ({...line, fine: line.values.step, values: steps(line.values)}));
        const own = tables.filter((table) => table.heads[0].name === chart.x_name);
        const told = new Set();
        if (own.length === 0) found.push(`${where}: no table begins with ${chart.x_name}`);
        for (const table of own) {
          const factor = chart.x_unit === 's' ? factors[table.heads[0].unit] : 1;
          const columns = table.heads.map((head) => lines.filter((line) => line.name === head.name));
          if (columns.every((same) => same.length === 0)) continue;  // of something else over the same quantity
          columns.forEach((same) => same.forEach((line) => told.add(line)));
          if (!table.thinned && table.rows.length !== x.length) found.push(`${where}: ${table.rows.length} rows for ${x.length} points`);
          for (const row of table.rows) {
            if (!row[0]) continue;
            const [at, reach] = [row[0].value * factor, 1.001 * row[0].half * factor];
            const places = x.flatMap((value, i) => Math.abs(value - at) <= reach ? [i] : []);
            if (places.length === 0) found.push(`${where}: no point at ${at}`);
            row.forEach((cell, c) => {
              if (c === 0 || columns[c].length === 0 || places.length === 0) return;
              const fits = columns[c].some((line) => places.some((i) => cell ? is(cell, line.values[i], line.fine) : !Number.isFinite(line.values[i])));
              if (!fits) missing(where, `'${columns[c][0].name}' at ${at}, not ${cell?.value},`, columns[c][0].values[places[0]]);
            });
          }
        }
        if (own.every((table) => !table.thinned)) for (const line of lines) if (!told.has(line)) found.push(`${where}: '${line.name}' has no column`);
        for (const level of chart.levels) if (!inAny(everywhere, level.value)) missing(where, 'limit', level.value);
        const marks = doubles(chart.marks.at);
        const events = tablesIn(document).filter((table) => table.thinned).length > 0;
        if (!events) for (const at of marks) if (!inAny(everywhere, at)) missing(where, 'mark', at);
      },
    };
    for (const data of document.querySelectorAll('script[type="application/json"]')) {
      const chart = JSON.parse(data.textContent);
      const section = data.closest('section');
      looks[chart.kind]?.(chart, section.id, tablesIn(section));
    }
    for (const picture of document.querySelectorAll('.section-picture')) {
      const section = picture.closest('section');
      const own = cellsOf(tablesIn(section));
      for (const text of picture.querySelectorAll('text')) {
        for (const [, digits, unit] of text.textContent.matchAll(/([-+]?\d[\d.]*) (\u00b0C|K|W|mm|\u00b5m)(?![\w])/g)) {
          const number = numberOf(digits);
          const factor = unit === '\u00b5m' ? 1e-3 : 1;
          const cells = unit === 'W' ? everywhere : own;
          if (!cells.some((cell) => Math.abs(cell.value - factor * number.value) <= 1.001 * (factor * number.half + cell.half))) missing(section.id, 'number', `${digits} ${unit}`);
        }
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

const partOf = (chart) => chart.getAttribute('data-window').then((text) => text.split(' ').map(Number));

/// A click on Zoom in, which must show less than `whole`; gives what it shows.
async function zoomedIn(name, figure, chart, whole) {
  await figure.getByRole('button', {name: 'Zoom in'}).click();
  const closer = await partOf(chart);
  if (!(closer[1] - closer[0] < 0.9 * (whole[1] - whole[0]))) fault(name, 'a click on Zoom in shows no smaller part');
  return closer;
}

/// Zoom by click, by key, by field and by dragging; choice by click and by key.
async function checkUse({name, page}) {
  for (const section of await page.locator('main > section:has(.chart[data-drawn=lines])').all()) {
    const chart = section.locator('.chart[data-drawn=lines]').first();
    const figure = section.locator('figure');
    const whole = await partOf(chart);
    const zoom = figure.getByRole('button', {name: 'Zoom in'});
    if (await zoom.count()) {
      const closer = await zoomedIn(name, figure, chart, whole);
      await zoom.focus();
      await page.keyboard.press('Enter');
      const closest = await partOf(chart);
      if (!(closest[1] - closest[0] < 0.9 * (closer[1] - closer[0]))) fault(name, 'Enter on Zoom in shows no smaller part');
      await figure.getByRole('button', {name: 'Whole'}).press('Space');
      if (String(await partOf(chart)) !== String(whole)) fault(name, 'Whole does not bring the whole back');
      const box = await chart.boundingBox();
      await page.mouse.move(box.x + 0.3 * box.width, box.y + 0.5 * box.height);
      await page.mouse.down();
      await page.mouse.move(box.x + 0.5 * box.width, box.y + 0.5 * box.height, {steps: 4});
      await page.mouse.up();
      const dragged = await partOf(chart);
      if (!(dragged[1] - dragged[0] < 0.5 * (whole[1] - whole[0]))) fault(name, 'dragging over the plot shows no smaller part');
      let told = '';
      for (const share of [0.5, 0.45, 0.4]) {  // between two panels there is nothing to tell
        await page.mouse.move(box.x + 0.4 * box.width, box.y + share * box.height);
        told ||= await chart.locator('.tip').first().textContent({timeout: 1000}).catch(() => '');
      }
      if (!told) fault(name, 'no numbers under the pointer');
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

/// One click of each kind on each chart of lines: closer, back, a line away, and back again.
async function checkClicks({name, page}) {
  for (const chart of await page.locator('.chart[data-drawn=lines]').all()) {
    const figure = page.locator('figure', {has: chart});
    const whole = await partOf(chart);
    if (await figure.getByRole('button', {name: 'Zoom in'}).count()) {
      await zoomedIn(name, figure, chart, whole);
      await figure.getByRole('button', {name: 'Whole'}).click();
      if (String(await partOf(chart)) !== String(whole)) fault(name, 'Whole does not bring the whole back');
    }
    const box = figure.locator('.choice .lines input[type=checkbox]:visible').first();
    if (await box.count() === 0) continue;
    const shown = async () => Number(await chart.getAttribute('data-shown'));
    const before = await shown();
    await box.click();
    if (Math.abs(await shown() - before) !== 1) fault(name, 'a click on a checkbox does not show or hide one line');
    await box.click();
    if (await shown() !== before) fault(name, 'a second click on a checkbox does not bring the line back');
  }
}

/// Rows of a table are alike: where all are not needed, the first stand for them.
function leaveFewRows(page) {
  return page.evaluate(() => {
    for (const row of document.querySelectorAll('tbody tr:nth-child(n+4)')) row.remove();
  });
}

/// On paper: no figure wider than the page or higher than it, and every chart drawn for it.
async function checkPrint({name, page}, path) {
  if (!brief || path === pages[0]) await checkPdf({name, page});
  await checkPaper({name, page});
}

async function checkPdf({name, page}) {
  const pdf = await page.pdf({preferCSSPageSize: true, printBackground: true});
  const text = pdf.toString('latin1');
  const sheets = (text.match(/\/Type\s*\/Page\b/g) ?? []).length;
  if (sheets < 1) fault(name, 'printing gives no page');
  const size = /\/MediaBox\s*\[0 0 ([\d.]+) ([\d.]+)\]/.exec(text);
  if (!size || Math.abs(size[1] - 595) > 2 || Math.abs(size[2] - 842) > 2) fault(name, `paper is ${size?.slice(1)} pt, not A4`);
}

async function checkPaper({name, page}) {
  // The width between the margins of A4, as the style sheet sets them.
  await page.setViewportSize({width: 665, height: 950});
  await page.emulateMedia({media: 'print', colorScheme: 'light'});
  await page.evaluate(() => dispatchEvent(new Event('beforeprint')));
  const told = await page.evaluate(() => {
    const found = [];
    for (const figure of document.querySelectorAll('main figure')) {
      const where = figure.closest('section').id;
      const svg = figure.querySelector('svg:not([aria-hidden])');
      if (!svg) continue;  // which was told of before
      const box = svg.getBoundingClientRect();
      if (box.right > innerWidth + 1 || box.left < -1) found.push(`${where}: wider than the paper`);
      if (figure.getBoundingClientRect().height > 950) found.push(`${where}: higher than a page`);
      if (getComputedStyle(figure).breakInside !== 'avoid') found.push(`${where}: may be cut by the end of a page`);
      const next = figure.nextElementSibling;
      if (next && next.getBoundingClientRect().top < box.bottom - 1 && next.getBoundingClientRect().left < box.right - 1 && next.offsetHeight)
        found.push(`${where}: what follows lies on the chart`);
    }
    for (const table of document.querySelectorAll('table')) {
      if (!table.closest('details:not([open])') && table.offsetWidth > 0 && table.getBoundingClientRect().right > innerWidth + 1) found.push(`table '${table.caption.textContent.slice(0, 60)}' is cut`);
    }
    return found;
  });
  for (const what of told) fault(name, `on paper, ${what}`);
  await checkLabels({name: `${name} on paper`, page});
}

/// What is inside of a picture with a label is not told to anyone who cannot see it; `region` is a moderate matter.
async function checkAccess({name, page}) {
  await page.evaluate(axe);
  const {violations} = await page.evaluate((contrasts) => window.axe.run({exclude: ['.chart svg']}, {
    resultTypes: ['violations'], elementRef: false, rules: {region: {enabled: false}, 'color-contrast': {enabled: contrasts}}}), !brief);
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
  const seen = await windowOf(browser, {javaScriptEnabled: false});
  await show(seen, path);
  const {name, page, context} = seen;
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
    const seen = await windowOf(browser);
    await show(seen, path);
    best_ms = Math.min(best_ms, await firstPaint_ms(seen.page));
    await seen.context.close();
  }
  if (best_ms > mostPaint_ms) fault(basename(path), `first paint after ${best_ms} ms`);
  return best_ms;
}

// A low window where nobody looks at the picture: what is not seen is not painted.
const screen = {width: 1280, height: brief ? 300 : 900, colorScheme: 'light'};
const phone = {width: 360, height: brief ? 300 : 740, colorScheme: 'dark'};

async function checkPage(seen, path) {
  await show(seen, path, screen);
  const paint_ms = brief ? 'not asked' : await firstPaint_ms(seen.page);
  await allDrawn(seen.page);
  await checkContent(seen);
  await checkNumbers(seen);
  if (brief) await leaveFewRows(seen.page);
  await checkLabels(seen);
  if (brief) await checkClicks(seen);
  else await checkUse(seen);
  await checkAccess(seen);
  if (!brief) await checkPrint(seen, path);
  if (brief) await turnTo(seen, path, phone);
  else await show(seen, path, phone);
  await allDrawn(seen.page);
  await checkContent(seen);
  await checkLabels(seen);
  if (brief) await checkPrint(seen, path);
  else await checkAccess(seen);
  return paint_ms;
}

const browser = await chromium.launch({executablePath: program, args: ['--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run',
  '--disable-background-networking', '--disable-component-update', '--disable-sync']});
const waiting = pages.values();
async function lookAtPages() {
  const seen = await windowOf(browser);
  for (const path of waiting) {
    const begin = performance.now();
    const looked = paint !== undefined ? checkPaint(browser, path) : checkPage(seen, path);
    const paint_ms = await looked.catch((error) => fault(basename(path), `not looked at: ${error.message}`));
    console.log(`  ${basename(path)}: first paint, ms: ${paint_ms}; looked at for ${((performance.now() - begin) / 1000).toFixed(1)} s`);
  }
  await seen.context.close();
}
await Promise.all(pages.length > 2 ? [lookAtPages(), lookAtPages()] : [lookAtPages()]);  // a browser waits a good deal
if (pages.length > 0 && paint === undefined) {
  await checkPolicy(browser, pages[0]);
  if (!brief) await checkWithoutScript(browser, pages[0]);
}
await browser.close();
console.log(`${pages.length} pages, ${faults} faults`);
process.exit(faults === 0 ? 0 : 1);
