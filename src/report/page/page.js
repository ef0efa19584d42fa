// The page in a browser: draws each chart when it comes near, and again when width, colours or paper change.
import {drawn} from './charts.js';
import {unpacked} from './codec.js';
import {lineControls} from './controls.js';
import {echarts} from './engine.js';
import {firstState} from './lines.js';
import {dark, light} from './palette.js';

const night = matchMedia('(prefers-color-scheme: dark)');
const paperWidth = 660;  // of A4 between its margins, in CSS pixels
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
    const made = drawn(this.chart, {width, palette}, this.state);
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
  };
  addEventListener('beforeprint', () => paper(true));
  addEventListener('afterprint', () => paper(false));
}

document.documentElement.classList.add('scripted');
begin();
