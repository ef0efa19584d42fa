// Choice of lines and of a window for a line chart: checkboxes, buttons, fields, and dragging over the plot.
import {plainName, plainNumber, withUnit} from './numbers.js';
import {unitOfX} from './lines.js';

let count = 0;

function make(name, attributes = {}, ...children) {
  const made = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) {
    if (key in made && typeof value !== 'string') made[key] = value;
    else made.setAttribute(key, value);
  }
  made.append(...children);
  return made;
}

/// A short stroke as the line is drawn.
function sample() {
  const space = 'http://www.w3.org/2000/svg';
  const svg = document.createElementNS(space, 'svg');
  svg.setAttribute('width', '26');
  svg.setAttribute('height', '8');
  svg.setAttribute('aria-hidden', 'true');
  const line = document.createElementNS(space, 'line');
  for (const [key, value] of Object.entries({x1: 0, x2: 26, y1: 4, y2: 4, 'stroke-width': 2})) line.setAttribute(key, value);
  svg.append(line);
  return {svg, line};
}

/// Keeps a window inside the whole, in the measure of the axis.
function fitted(chart, from, to) {
  const first = chart.x[0];
  const last = chart.x[chart.x.length - 1];
  if (chart.x_logarithmic) {
    const [a, b] = fitted({x: [Math.log(first), Math.log(last)]}, Math.log(from), Math.log(to));
    return [Math.exp(a), Math.exp(b)];
  }
  const least = (last - first) * 1e-5;
  const span = Math.min(last - first, Math.max(to - from, least));
  const begin = Math.min(Math.max(from, first), last - span);
  return [begin, begin + span];
}

function choiceOf(figure, redraw) {
  const {chart, state} = figure;
  const groups = [...new Set(chart.lines.map((line) => line.group))];
  const boxes = [];
  const samples = [];
  const whole = make('div', {class: 'choice', role: 'group', 'aria-label': 'Lines shown'});
  const single = make('div', {class: 'lines'});  // lines without others of their group, in a row
  for (const group of groups) {
    const own = chart.lines.map((line, i) => i).filter((i) => chart.lines[i].group === group);
    const alone = !group || own.length === 1;
    const list = alone ? single : make('div', {class: 'lines'});
    for (const i of own) {
      const id = `line-${++count}`;
      const box = make('input', {type: 'checkbox', id, checked: state.shown[i]});
      const {svg, line} = sample();
      samples[i] = line;
      boxes[i] = box;
      box.addEventListener('change', () => {
        state.shown[i] = box.checked;
        redraw();
      });
      list.append(make('label', {for: id}, box, svg, make('bdi', {}, plainName(chart.lines[i].name))));
    }
    if (alone) continue;
    const all = make('input', {type: 'checkbox', id: `line-${++count}`});
    all.addEventListener('change', () => {
      for (const i of own) state.shown[i] = all.checked;
      redraw();
    });
    boxes.push({group: all, own});
    const lines = own.length <= 12 ? list : make('details', {open: own.some((i) => state.shown[i])}, make('summary', {}, `${own.length} single lines`), list);
    const set = make('div', {class: 'group'},
      make('label', {for: all.id, class: 'all'}, all, make('bdi', {}, plainName(group))), lines);
    whole.append(set);
  }
  if (single.children.length) whole.prepend(single);
  const show = (looks) => {
    boxes.forEach((box, i) => {
      if (box.group) {
        const shown = box.own.filter((k) => state.shown[k]).length;
        box.group.checked = shown === box.own.length;
        box.group.indeterminate = shown > 0 && shown < box.own.length;
      } else {
        box.checked = state.shown[i];
        samples[i].setAttribute('stroke', looks[i].colour);
        samples[i].setAttribute('stroke-dasharray', Array.isArray(looks[i].dash) ? looks[i].dash.join(' ') : 'none');
      }
    });
  };
  return {whole, show};
}

/// What shades and strokes mean, in words.
function keyOf(chart) {
  const kinds = (list) => [...new Set(list.map((one) => plainName(one.kind)))];
  const said = [];
  if (chart.bands.length) said.push(`Shaded: ${kinds(chart.bands).join(', ')}.`);
  if (chart.marks.length) said.push(`Strokes above the panels${kinds(chart.marks).length > 1 ? ', from top' : ''}: ${kinds(chart.marks).join(', ')}.`);
  if (chart.levels.length) said.push('Dashed: limits.');
  return make('p', {class: 'key'}, said.join(' '),
    make('span', {class: 'how'}, ' Drag over the panels to look closer, double-click for the whole.'));
}

function windowOf(figure, redraw) {
  const {chart, state} = figure;
  const name = plainName(chart.x_name);
  const go = (from, to) => {
    [state.from, state.to] = fitted(chart, from, to);
    redraw();
  };
  const scaled = (factor, shift) => {
    const [a, b] = chart.x_logarithmic ? [Math.log(state.from), Math.log(state.to)] : [state.from, state.to];
    const middle = (a + b) / 2 + shift * (b - a);
    const half = (b - a) / 2 * factor;
    const back = chart.x_logarithmic ? Math.exp : (value) => value;
    go(back(middle - half), back(middle + half));
  };
  const button = (label, does) => {
    const made = make('button', {type: 'button'}, label);
    made.addEventListener('click', does);
    return made;
  };
  const fields = [make('input', {type: 'text', inputmode: 'decimal', size: 8}), make('input', {type: 'text', inputmode: 'decimal', size: 8})];
  const unit = make('span');
  const typed = () => {
    const {factor} = unitOfX(chart, state);
    const [from, to] = fields.map((field) => Number.parseFloat(field.value.replace(',', '.')) * factor);
    if (from < to) go(from, to);
    else redraw();
  };
  for (const field of fields) field.addEventListener('change', typed);
  const said = make('p', {class: 'said', 'aria-live': 'polite'});
  const whole = make('div', {class: 'window', role: 'group', 'aria-label': `Part of ${name} shown`},
    button('Zoom in', () => scaled(0.5, 0)), button('Zoom out', () => scaled(2, 0)),
    button('Earlier', () => scaled(1, -0.5)), button('Later', () => scaled(1, 0.5)),
    button('Whole', () => go(chart.x[0], chart.x[chart.x.length - 1])),
    make('label', {}, 'from ', fields[0]), make('label', {}, 'to ', fields[1], ' ', unit));
  if (chart.x_unit !== 's') {
    whole.children[2].textContent = 'Lower';
    whole.children[3].textContent = 'Higher';
  }
  const show = (banded) => {
    const scale = unitOfX(chart, state);
    [state.from, state.to].forEach((value, i) => { fields[i].value = plainNumber(value / scale.factor); });
    unit.textContent = scale.unit;
    const words = `${name} from ${plainNumber(state.from / scale.factor)} to ${withUnit(plainNumber(state.to / scale.factor), scale.unit)}` +
      (banded ? '. What swings too fast for this width is a band from its lowest to its highest; a closer look shows the line.' : '');
    if (said.textContent !== words) said.textContent = words;
    figure.host.dataset.window = `${state.from} ${state.to}`;
    figure.host.dataset.shown = String(state.shown.filter(Boolean).length);
  };
  return {whole, said, show, go};
}

/// Dragging over the plot chooses a window; a double click shows the whole again.
function dragging(figure, go) {
  const {host} = figure;
  const mark = make('div', {class: 'drag', hidden: true});
  let begin = null;
  const place = (event) => {
    const {left, width} = figure.plot;
    return Math.min(Math.max(event.clientX - host.getBoundingClientRect().left, left), left + width);
  };
  host.append(mark);
  host.addEventListener('pointerdown', (event) => {
    if (event.button !== 0 || event.pointerType === 'touch') return;
    begin = place(event);
  });
  host.addEventListener('pointermove', (event) => {
    if (begin === null) return;
    const end = place(event);
    mark.hidden = Math.abs(end - begin) < 5;
    mark.style.left = `${Math.min(begin, end)}px`;
    mark.style.width = `${Math.abs(end - begin)}px`;
    mark.style.top = `${figure.plot.top}px`;
    mark.style.height = `${figure.plot.bottom - figure.plot.top}px`;
  });
  addEventListener('pointerup', (event) => {
    if (begin === null) return;
    const [from, to] = [begin, place(event)].sort((a, b) => a - b);
    begin = null;
    mark.hidden = true;
    if (to - from >= 5) go(figure.plot.value(from), figure.plot.value(to));
  });
  host.addEventListener('dblclick', () => go(figure.chart.x[0], figure.chart.x[figure.chart.x.length - 1]));
}

/// Puts the controls around the chart; `show` brings them up to what is drawn.
export function lineControls(figure) {
  const redraw = () => figure.draw();
  const choice = choiceOf(figure, redraw);
  const part = windowOf(figure, redraw);
  if (figure.chart.x.length > 30) figure.host.before(part.whole);
  figure.host.after(part.said, keyOf(figure.chart));
  if (figure.chart.lines.length > 1) figure.host.nextSibling.nextSibling.after(choice.whole);
  dragging(figure, part.go);
  return {show({looks, banded}) {
    choice.show(looks);
    part.show(banded);
  }};
}
