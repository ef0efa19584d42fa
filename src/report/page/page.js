// The page in a browser: draws each chart when it comes near, and again when width, colours or paper change.
import {drawn} from './charts.js';
import {unpacked} from './codec.js';
import {lineControls} from './controls.js';
import {echarts} from './engine.js';
import {firstState} from './lines.js';
import {dark, light} from './palette.js';

const night = matchMedia('(prefers-color-scheme: dark)');
const paperWidth = 660;    // of A4 between its margins, in CSS pixels
const paperHeight = 820;   // what a chart may take of a page, with its words
let printing = false;
const figures = [];

function paletteNow() {
  return night.matches && !printing ? dark : light;
}

function element(name, text) {
  const made = document.createElement(name);
  if (text !== undefined) made.textContent = text;
  return made;
}

/// What a pointer rests on, as rows of name and value; text only, never markup.
function tipBox(rows) {
  const box = element('div');
  box.className = 'tip';
  for (const [name, value] of rows) {
    const row = element('div');
    const what = element('bdi', name);
    row.append(what, element('b', value));
    box.append(row);
  }
  return box;
}

class Figure {
  constructor(host) {
    this.host = host;
    this.packed = document.getElementById(host.dataset.from);
  }

  /// One chart that cannot be drawn does not keep the others from it.
  open() {
    if (this.host.dataset.drawn) return;
    try {
      this.chart = unpacked(JSON.parse(this.packed.textContent));
      this.engine = echarts.init(this.host, null, {renderer: 'svg', width: this.width(), height: 100});
      if (this.chart.kind === 'lines') {
        this.state = firstState(this.chart);
        this.controls = lineControls(this);
      }
      this.draw();
      this.host.dataset.drawn = this.chart.kind;
    } catch (error) {
      console.error(error);
      this.chart = null;
      this.host.dataset.drawn = 'failed';
      this.host.replaceChildren(element('p', 'This chart could not be drawn. Its numbers are in the tables below.'));
    }
  }

  width() {
    return printing ? paperWidth : Math.max(this.host.clientWidth, 280);
  }

  draw() {
    if (!this.chart) return;
    const width = this.width();
    const palette = paletteNow();
    const made = drawn(this.chart, {width, palette, tallest: printing ? paperHeight : Infinity}, this.state);
    made.option.tooltip = {
      ...made.option.tooltip, confine: true, appendTo: () => this.host, transitionDuration: 0, padding: 0, borderWidth: 0,
      backgroundColor: 'transparent', extraCssText: 'box-shadow:none', formatter: (params) => tipBox(made.tip(params))};
    this.plot = made.plot;
    this.host.style.height = `${made.height}px`;
    this.engine.resize({width: made.width ?? width, height: made.height, silent: true});
    this.engine.setOption(made.option, {notMerge: true});
    this.engine.getZr().flush();
    if (made.after) {
      this.engine.setOption(made.after());
      this.engine.getZr().flush();
    }
    this.drawnWidth = width;
    // On paper a picture that is wider than the page becomes smaller as a whole.
    this.host.querySelector('svg').setAttribute('viewBox', `0 0 ${made.width ?? width} ${made.height}`);
    // What scrolls can be reached by key.
    const box = this.host.parentElement;
    if (box.scrollWidth > box.clientWidth) box.tabIndex = 0;
    else box.removeAttribute('tabindex');
    this.controls?.show(made);
  }
}

/// A table that is wider than paper is printed as several, each with the first column.
function splitTable(table) {
  const heads = [...table.tHead.rows[0].cells];
  const shrunk = matchMedia('print').matches ? 1 : 0.84;  // letters on paper are smaller
  const least = 120;  // text breaks into lines
  const widths = heads.map((head) => shrunk * (head.classList.contains('n') ? head.offsetWidth : Math.min(head.offsetWidth, least)));
  const groups = [[]];
  let taken = widths[0];
  for (let i = 1; i < widths.length; ++i) {
    if (taken + widths[i] > paperWidth && groups[groups.length - 1].length) {
      groups.push([]);
      taken = widths[0];
    }
    groups[groups.length - 1].push(i);
    taken += widths[i];
  }
  if (groups.length === 1) return;
  table.classList.add('split');
  for (const group of [...groups].reverse()) {
    const part = table.cloneNode(true);
    part.className = 'part';
    for (const row of part.rows) {
      const cells = [...row.cells];
      cells.forEach((cell, i) => { if (i > 0 && !group.includes(i)) cell.remove(); });
    }
    if (group !== groups[0]) part.caption.append(', continued');
    table.after(part);
  }
}

function splitTables(on) {
  for (const part of document.querySelectorAll('table.part')) part.remove();
  for (const table of document.querySelectorAll('table.split')) table.classList.remove('split');
  if (on) for (const table of document.querySelectorAll('.table table')) if (!table.closest('details:not([open])')) splitTable(table);
}

function openAll() {
  for (const figure of figures) figure.open();
}

function redraw() {
  for (const figure of figures) figure.draw();
}

function begin() {
  for (const host of document.querySelectorAll('.chart[data-from]')) figures.push(new Figure(host));
  const watch = new IntersectionObserver((entries) => {
    for (const entry of entries) {
      if (!entry.isIntersecting) continue;
      watch.unobserve(entry.target);
      figures.find((figure) => figure.host === entry.target).open();
    }
  }, {rootMargin: '400px'});
  for (const figure of figures) watch.observe(figure.host);
  // Those further down follow when nothing else is to be done, so that a search or a printer finds them.
  const later = window.requestIdleCallback ?? ((task) => setTimeout(task, 200));
  const next = () => {
    const closed = figures.find((figure) => !figure.host.dataset.drawn);
    if (!closed) return;
    closed.open();
    later(next);
  };
  later(next);
  const widths = new ResizeObserver(() => {
    if (printing) return;
    for (const figure of figures) if (figure.chart && figure.width() !== figure.drawnWidth) figure.draw();
  });
  for (const figure of figures) widths.observe(figure.host);
  night.addEventListener('change', redraw);
  const paper = (on) => {
    printing = on;
    openAll();
    redraw();
    splitTables(on);
  };
  addEventListener('beforeprint', () => paper(true));
  addEventListener('afterprint', () => paper(false));
}

document.documentElement.classList.add('scripted');
begin();
