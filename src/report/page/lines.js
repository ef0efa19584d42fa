// Values over time or over a swept input: one panel for each unit, limits, bands and marks.
import {decimalsFor, fittedName, formatted, logarithmicTicks, niceRange, plainName, plainNumber, spread, textWidth,
  ticksOf, tightRange, timeInterval, timeScale, unitName, withUnit} from './numbers.js';
import {envelopeOf, firstNotBelow, thinned, turnsOf, valueAt, windowed} from './series.js';

const size = 12;
const dashes = ['solid', [7, 3], [2, 3], [9, 3, 2, 3], [4, 2]];

/// How a line looks: its place among the lines of its unit. Those that are shown at first come first, so that no two of them
/// share a colour before they must.
export function looksOf(chart, palette) {
  const counts = new Map();
  const looks = [];
  for (const first of [true, false]) {
    chart.lines.forEach((line, i) => {
      if (Boolean(line.shown) !== first) return;
      const place = counts.get(line.unit) ?? 0;
      counts.set(line.unit, place + 1);
      looks[i] = {
        colour: palette.series[place % palette.series.length],
        dash: dashes[Math.floor(place / palette.series.length) % dashes.length]};
    });
  }
  return looks;
}

/// What a reader sees at first.
export function firstState(chart) {
  return {shown: chart.lines.map((line) => line.shown), from: chart.x[0], to: chart.x[chart.x.length - 1]};
}

function scaleOf(chart, state) {
  // Decades stay in seconds: their round numbers are those of the unit that is stated.
  if (chart.x_unit !== 's' || chart.x_logarithmic) return {factor: 1, unit: unitName(chart.x_unit)};
  return timeScale(state.to - state.from);
}

/// From a value of x to the axis that is drawn.
function axisOf(chart, scale) {
  return chart.x_logarithmic ? Math.log10 : (x) => x / scale.factor;
}

export function unitOfX(chart, state) {
  return scaleOf(chart, state);
}

/// Levels that stand beside shown lines; equal ones of a unit are one.
function levelsOf(chart, state) {
  const shown = new Set(chart.lines.filter((line, i) => state.shown[i]).map((line) => line.name));
  const merged = new Map();
  for (const level of chart.levels) {
    if (level.of && !shown.has(level.of)) continue;
    const key = `${level.unit} ${level.value}`;
    if (merged.has(key)) merged.get(key).names.push(level.of || level.name);
    else merged.set(key, {...level, names: [level.of || level.name]});
  }
  return [...merged.values()];
}

/// Range of a panel: its lines in the window, and limits that are not so far off that they would flatten them.
function rangeOf(chart, panel, span) {
  let low = Infinity;
  let high = -Infinity;
  for (const i of panel.lines) {
    const values = chart.lines[i].values;
    for (let k = span.begin; k < span.end; ++k) {
      if (values[k] < low) low = values[k];
      if (values[k] > high) high = values[k];
    }
  }
  if (!(high >= low)) return {...niceRange(0, 1), far: []};
  const reach = 0.5 * Math.max(high - low, 1e-3 * Math.max(Math.abs(high), Math.abs(low)));
  const near = panel.levels.filter((level) => level.value >= low - reach && level.value <= high + reach);
  const far = panel.levels.filter((level) => !near.includes(level));
  const values = near.map((level) => level.value);
  return {...tightRange(Math.min(low, ...values), Math.max(high, ...values), 4), far};
}

/// One panel for each unit with shown lines, in the order of the lines.
function panelsOf(chart, state, span) {
  const levels = levelsOf(chart, state);
  const units = [...new Set(chart.lines.filter((line, i) => state.shown[i]).map((line) => line.unit))];
  return units.map((unit) => {
    const lines = chart.lines.map((line, i) => i).filter((i) => state.shown[i] && chart.lines[i].unit === unit);
    const panel = {unit, lines, levels: levels.filter((level) => level.unit === unit)};
    const {far, ...range} = rangeOf(chart, panel, span);
    return {...panel, range, far, levels: panel.levels.filter((level) => !far.includes(level))};
  });
}

const mostLabels = 12;  // names at the ends of the lines of a panel

/// Kinds of marks: when all of a kind have one name, that name stands for it.
function kindsOf(chart) {
  const names = new Map();
  for (const mark of chart.marks) {
    if (!names.has(mark.kind)) names.set(mark.kind, new Set());
    names.get(mark.kind).add(mark.name);
  }
  return [...names].map(([kind, own]) => ({kind, alike: own.size === 1, name: own.size === 1 ? [...own][0] : kind,
    count: chart.marks.filter((mark) => mark.kind === kind).length}));
}

function levelWords(level) {
  return `limit ${plainNumber(level.value, 4)}` + (level.names.length > 1 ? ` (${level.names.length} parts)` : `, ${plainName(level.names[0])}`);
}

/// Room for what is written at the right of the panels.
function roomAtRight(chart, panels, kinds, view) {
  const words = panels.flatMap((panel) => [
    ...panel.levels.map((level) => textWidth(levelWords(level), size)),
    ...(panel.lines.length > mostLabels ? [] : panel.lines.map((i) => textWidth(plainName(chart.lines[i].name), size)))]);
  const kindWidths = kinds.map(({name, count}) => textWidth(`${plainName(name)} (${count})`, 11) - 9);
  return Math.min(0.3 * view.width, 250, Math.max(90, ...words, ...kindWidths)) + 26;
}

function placed(chart, state, view) {
  const wide = view.width >= 620;
  const span = windowed(chart.x, state.from, state.to);
  const panels = panelsOf(chart, state, span);
  const kinds = kindsOf(chart);
  const left = 58;
  const right = wide ? roomAtRight(chart, panels, kinds, view) : 14;
  const strip = chart.bands.length ? 18 : 0;
  const rug = 18 * kinds.length;
  let top = 6 + strip + rug + (strip + rug ? 6 : 0) + 16;
  const first = top;
  const heightOf = (panel) => panels.length === 1 ? 300 : panel === panels[0] ? 220 : 150;
  const wanted = panels.reduce((sum, panel) => sum + heightOf(panel), 0);
  const room = (view.tallest ?? Infinity) - top - 28 * panels.length;
  for (const panel of panels) {
    panel.top = top;
    panel.height = Math.round(heightOf(panel) * Math.min(1, Math.max(0.4, room / wanted)));
    top += panel.height + 28;
  }
  const [from, to] = chart.x_logarithmic ? [Math.log(state.from), Math.log(state.to)] : [state.from, state.to];
  const plot = {left, right, width: view.width - left - right, top: first, bottom: top - 28, strip, rug, wide, kinds, span};
  plot.pixel = (x) => left + plot.width * ((chart.x_logarithmic ? Math.log(x) : x) - from) / (to - from || 1);
  plot.value = (pixel) => {
    const x = from + (to - from) * (pixel - left) / plot.width;
    return chart.x_logarithmic ? Math.exp(x) : x;
  };
  return {panels, plot, height: top + (panels.length ? 18 : 40)};
}

function text(x, y, words, fill, more = {}) {
  return {type: 'text', silent: true, x, y, style: {text: words, fill, verticalAlign: 'middle', font: '12px sans-serif', ...more}};
}

/// Bands: a strip with their names on top, and a tint through all panels.
function bandElements(chart, state, plot, palette) {
  const kinds = [...new Set(chart.bands.map((band) => band.kind))];
  const elements = [];
  const boxes = [];
  for (const band of chart.bands) {
    if (band.end < state.from || band.begin > state.to) continue;
    const begin = plot.pixel(Math.max(band.begin, state.from));
    const end = plot.pixel(Math.min(band.end, state.to));
    const kind = kinds.indexOf(band.kind);
    const last = boxes[boxes.length - 1];
    if (last && last.kind === kind && last.begin + 1 > begin) {
      last.end = Math.max(last.end, end);
      last.count += 1;
    } else {
      boxes.push({begin, end, kind, name: band.name, count: 1});
    }
  }
  const font = `11px ${palette.font}`;
  for (const box of boxes) {
    const fill = palette.bands[box.kind % palette.bands.length];
    const width = Math.max(1, box.end - box.begin);
    elements.push({type: 'rect', silent: true, z: -1, shape: {x: box.begin, y: 6, width, height: plot.strip - 3}, style: {fill}});
    elements.push({type: 'rect', silent: true, z: -1, style: {fill, opacity: 0.55},
      shape: {x: box.begin, y: plot.top, width, height: plot.bottom - plot.top}});
    const words = fittedName(box.name, width - 8, 11);
    if (words.length > 3) elements.push(text(box.begin + 4, 6 + (plot.strip - 3) / 2, words, palette.ink, {font}));
  }
  if (plot.wide && kinds.length === 1 && boxes.length > 1) {
    elements.push(text(plot.left + plot.width + 10, 6 + (plot.strip - 3) / 2, fittedName(kinds[0], plot.right - 14, 11), palette.soft, {font}));
  }
  return elements;
}

/// Strokes of one kind: those that would touch are one.
function strokesOf(chart, kind, state, plot) {
  const strokes = [];
  for (const mark of chart.marks) {
    if (mark.kind !== kind || mark.at < state.from || mark.at > state.to) continue;
    const at = plot.pixel(mark.at);
    const last = strokes[strokes.length - 1];
    if (last && at - last.at < 4) last.count += 1;
    else strokes.push({at, name: mark.name, count: 1});
  }
  return strokes;
}

/// What stands beside strokes: nothing where the row has a name at its right that says it all, or where the one before said it.
function wordsOf(strokes, {kind, alike, name}, wide) {
  const prefix = `${kind}: `;
  return strokes.map((stroke, i) => {
    if (alike) return wide || i > 0 ? '' : fittedName(name, 180, 11);
    if (stroke.count > 1) return `${stroke.count} together`;
    return fittedName(wide && stroke.name.startsWith(prefix) ? stroke.name.slice(prefix.length) : stroke.name, 180, 11);
  });
}

/// Marks: a row of strokes for each kind, the taller the more fall together; names where there is room; through the panels
/// only where they are few.
function markElements(chart, state, plot, palette) {
  const elements = [];
  const font = `11px ${palette.font}`;
  const rows = plot.kinds.map(({kind}) => strokesOf(chart, kind, state, plot));
  const few = rows.flat().length <= 6;
  rows.forEach((strokes, row) => {
    const y = 6 + plot.strip + 18 * row + 8;
    const most = Math.max(...strokes.map((stroke) => stroke.count));
    const said = wordsOf(strokes, plot.kinds[row], plot.wide);
    let taken = plot.left;
    strokes.forEach((stroke, i) => {
      const half = most === 1 ? 6 : 1.5 + 5 * Math.sqrt(stroke.count / most);
      if (few) {
        elements.push({type: 'line', silent: true, style: {stroke: palette.soft, lineWidth: 1, lineDash: [1, 3]},
          shape: {x1: stroke.at, x2: stroke.at, y1: y + 6, y2: plot.bottom}});
      }
      elements.push({type: 'line', silent: true, style: {stroke: palette.ink, lineWidth: stroke.count > 1 ? 2 : 1},
        shape: {x1: stroke.at, x2: stroke.at, y1: y - half, y2: y + half}});
      const next = i + 1 < strokes.length ? strokes[i + 1].at : plot.left + plot.width;
      const words = said[i];
      const wide = textWidth(words, 11) + 12;
      if (words && wide < next - stroke.at) {
        elements.push(text(stroke.at + 5, y, words, palette.soft, {font}));
        taken = stroke.at + wide;
      } else if (words && wide < stroke.at - taken) {
        elements.push(text(stroke.at - 5, y, words, palette.soft, {font, align: 'right'}));
        taken = stroke.at;
      } else {
        taken = stroke.at;
      }
    });
    if (plot.wide) {
      const {name, count} = plot.kinds[row];
      const number = ` (${count})`;
      elements.push(text(plot.left + plot.width + 10, y, fittedName(name, plot.right - 14 - textWidth(number, 11), 11) + number,
        palette.soft, {font}));
    }
  });
  return elements;
}

const narrowest = 14;  // pixels from one peak to the next, below which an oscillation is a band

/// Lines that swing faster than can be drawn, as the range from their lowest to their highest.
function bandsOfLines(chart, panels, plot) {
  const bands = new Map();
  const step = 2;
  const places = [];
  for (let pixel = plot.left; pixel <= plot.left + plot.width + 0.5; pixel += step) places.push(plot.value(pixel));
  for (const panel of panels) {
    const least = 0.03 * (panel.range.max - panel.range.min);
    for (const i of panel.lines) {
      const turns = turnsOf(chart.lines[i].values, plot.span, least);
      const period = 2 * plot.width / turns;
      if (period < narrowest) {
        const reach = Math.max(1, Math.ceil(0.6 * period / step));
        bands.set(i, envelopeOf(chart.x, chart.lines[i].values, places, reach));
      }
    }
  }
  return bands;
}

const heightIn = (panel) => (value) => panel.top + panel.height * (panel.range.max - value) / (panel.range.max - panel.range.min);

function bandFillings(panels, plot, bands, looks) {
  return panels.flatMap((panel) => panel.lines.filter((i) => bands.has(i)).map((i) => {
    const height = heightIn(panel);
    const {low, high} = bands.get(i);
    const points = [...high, ...[...low].reverse()].map(([x, value]) => [plot.pixel(x), height(value)]);
    return {type: 'polygon', silent: true, z: -1, shape: {points}, style: {fill: looks[i].colour, opacity: 0.2}};
  }));
}

/// Names at the right ends of lines and levels, apart from each other, and the names of units above the panels.
function labelElements(chart, panels, plot, palette, looks, bands) {
  const elements = [];
  const font = `12px ${palette.font}`;
  const edge = plot.left + plot.width;
  for (const panel of panels) {
    const height = heightIn(panel);
    const far = panel.far.map((level) => `${plainName(level.names[0])} ${withUnit(plainNumber(level.value, 4), level.unit)}`);
    const note = far.length ? `   (limits beyond: ${far.slice(0, 3).join(', ')}${far.length > 3 ? ', \u2026' : ''})` : '';
    elements.push(text(plot.left, panel.top - 10, fittedName(unitName(panel.unit) + note, plot.width + plot.right - 8, 12),
      palette.soft, {font}));
    const labels = panel.levels.map((level) => ({
      wanted: height(level.value), weight: 1, colour: palette.limit, ink: palette.limit,
      words: fittedName(levelWords(level), plot.right - 22, size)}));
    if (panel.lines.length <= mostLabels) {
      for (const i of panel.lines) {
        const ends = bands.has(i) ? [bands.get(i).low, bands.get(i).high].map((edge) => edge[edge.length - 1][1]) : [];
        const value = ends.length ? (ends[0] + ends[1]) / 2 : valueAt(chart.lines[i].values, plot.span.end - 1);
        if (Number.isFinite(value)) {
          labels.push({wanted: height(value), weight: 2, colour: looks[i].colour,
            words: fittedName(chart.lines[i].name, plot.right - 22, size)});
        }
      }
    }
    if (!plot.wide) continue;
    for (const label of spread(labels, 14, panel.top, panel.top + panel.height)) {
      elements.push({type: 'polyline', silent: true, style: {stroke: label.colour, fill: 'none', lineWidth: 1.6},
        shape: {points: [[edge + 2, label.wanted], [edge + 7, label.wanted], [edge + 13, label.y], [edge + 16, label.y]]}});
      elements.push(text(edge + 19, label.y, label.words, label.ink ?? palette.ink, {font}));
    }
  }
  return elements;
}

function axes(chart, state, panels, plot, palette) {
  const scale = scaleOf(chart, state);
  const on = axisOf(chart, scale);
  const most = Math.max(2, Math.min(9, Math.floor(plot.width / 80)));
  const span = (state.to - state.from) / scale.factor;
  const ticks = chart.x_logarithmic
    ? logarithmicTicks(state.from, state.to, most + 2).map(on)
    : ticksOf(state.from / scale.factor, state.to / scale.factor,
        scale.choices ? timeInterval(span, scale.choices, most) : niceRange(state.from, state.to, most).interval);
  const last = panels.length - 1;
  const small = {color: palette.soft, fontSize: 11, fontFamily: palette.font};
  const x = panels.map((panel, i) => ({
    type: 'value', gridIndex: i, min: on(state.from), max: on(state.to),
    name: i === last ? fittedName(plainName(chart.x_name), plot.width - 60, size) + (scale.unit ? `, ${scale.unit}` : '') : '',
    nameLocation: 'middle', nameGap: 24, nameTextStyle: {color: palette.soft, fontSize: size},
    axisLine: {onZero: false, lineStyle: {color: palette.hair}}, splitLine: {show: false},
    axisTick: {customValues: ticks, lineStyle: {color: palette.hair}},
    axisLabel: {...small, show: i === last, customValues: ticks, hideOverlap: true,
      formatter: (value) => plainNumber(chart.x_logarithmic ? 10 ** value : value)},
    axisPointer: {show: true, type: 'line', snap: false, label: {show: false}, lineStyle: {color: palette.soft, type: 'solid', width: 1}},
  }));
  const y = panels.map((panel, i) => {
    const customValues = ticksOf(panel.range.min, panel.range.max, panel.range.interval);
    return {
      type: 'value', gridIndex: i, ...panel.range, axisLine: {show: false}, axisTick: {show: false, customValues},
      axisLabel: {...small, hideOverlap: true, customValues, formatter: (value) => yText(value, panel.range)},
      splitLine: {lineStyle: {color: palette.grid}, customValues},
    };
  });
  return {xAxis: x, yAxis: y};
}

function yText(value, range) {
  const size_of = Math.max(Math.abs(range.min), Math.abs(range.max));
  if (size_of >= 1e5 || size_of < 1e-3) return value === 0 ? '0' : value.toExponential(1);
  return String(Number(value.toFixed(decimalsFor(range.interval, 2))));
}

function seriesOf(chart, state, panels, plot, palette, looks, bands) {
  const on = axisOf(chart, scaleOf(chart, state));
  const few = plot.span.end - plot.span.begin <= 40;
  const drawn = (i) => bands.has(i)
    ? [bands.get(i).low, bands.get(i).high].map((edge) => edge.map(([x, value]) => [on(x), value]))
    : [thinned(chart.x, chart.lines[i].values, plot.span, 2 * plot.width, on)];
  return panels.flatMap((panel, p) => [
    ...panel.lines.flatMap((i) => drawn(i).map((data) => ({
      type: 'line', xAxisIndex: p, yAxisIndex: p, name: String(i), symbol: few ? 'circle' : 'none', symbolSize: 4, silent: true,
      step: chart.lines[i].steps && !bands.has(i) ? 'end' : false, connectNulls: false, emphasis: {disabled: true},
      lineStyle: {color: looks[i].colour, width: panel.lines.length > mostLabels ? 1.1 : 1.6, type: looks[i].dash},
      itemStyle: {color: looks[i].colour}, data}))),
    ...panel.levels.map((level) => ({
      type: 'line', xAxisIndex: p, yAxisIndex: p, name: '', symbol: 'none', silent: true, emphasis: {disabled: true},
      lineStyle: {color: palette.limit, width: 1.2, type: [6, 4]},
      data: [[on(state.from), level.value], [on(state.to), level.value]]})),
  ]);
}

export function lines(chart, view, state = firstState(chart)) {
  const {palette} = view;
  const looks = looksOf(chart, palette);
  const {panels, plot, height} = placed(chart, state, view);
  const bands = bandsOfLines(chart, panels, plot);
  const grid = panels.map((panel) => ({left: plot.left, right: plot.right, top: panel.top, height: panel.height}));
  const elements = panels.length === 0
    ? [text(plot.left, plot.top, 'No line is chosen.', palette.soft)]
    : [...bandElements(chart, state, plot, palette), ...bandFillings(panels, plot, bands, looks),
       ...markElements(chart, state, plot, palette), ...labelElements(chart, panels, plot, palette, looks, bands)];
  return {
    height, plot, looks, banded: bands.size > 0,
    option: {
      grid, ...axes(chart, state, panels, plot, palette),
      axisPointer: {link: [{xAxisIndex: 'all'}], triggerOn: 'mousemove'},
      tooltip: {trigger: 'axis'},
      graphic: {elements},
      series: seriesOf(chart, state, panels, plot, palette, looks, bands),
    },
    tip: (params) => tipOf(chart, state, panels, params),
  };
}

function tipOf(chart, state, panels, params) {
  const {factor, unit} = scaleOf(chart, state);
  const {axisValue} = Array.isArray(params) ? params[0] : params;
  const x = chart.x_logarithmic ? 10 ** axisValue : axisValue * factor;
  const at = firstNotBelow(chart.x, x);
  const nearest = at > 0 && (at === chart.x.length || x - chart.x[at - 1] < chart.x[at] - x) ? at - 1 : at;
  const told = [[plainName(chart.x_name), withUnit(formatted(chart.x[nearest] / factor, 5), unit)]];
  for (const band of chart.bands) {
    if (band.begin <= chart.x[nearest] && chart.x[nearest] <= band.end) told.push(['', plainName(band.name)]);
  }
  for (const panel of panels) {
    const digits = decimalsFor(panel.range.max - panel.range.min, 4);
    for (const i of panel.lines.slice(0, 14)) {
      const value = chart.lines[i].values[nearest];
      if (Number.isFinite(value)) told.push([plainName(chart.lines[i].name), withUnit(value.toFixed(digits), panel.unit)]);
    }
    if (panel.lines.length > 14) told.push(['', `and ${panel.lines.length - 14} more`]);
  }
  return told;
}
