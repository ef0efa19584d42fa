// Signed bars: margins to limits, and what a little more of each input does.
import {decimalsFor, differenceUnit, fittedName, formatted, niceRange, plainName, plainNumber, signed,
  textWidth, unitName, withUnit} from './numbers.js';

const size = 12;
const row = 24;

function unitsOf(bars) {
  return [...new Set(bars.map((bar) => bar.unit))];
}

/// Panels below each other, one for each unit, with the names of their bars on the left; on narrow screens, where names are too
/// long for that, above each bar.
function panelsOf(bars, view, share = 0.3) {
  const narrow = view.width < 560;
  const longest = Math.max(...bars.map((bar) => textWidth(plainName(bar.name), size)));
  const room = (narrow ? 0.36 : share) * view.width;
  const above = narrow && longest > room;
  const rowHeight = above ? 40 : row;
  const left = above ? 14 : 14 + Math.min(room, longest);
  let top = 8;
  const panels = unitsOf(bars).map((unit) => {
    const own = bars.filter((bar) => bar.unit === unit);
    const panel = {unit, bars: own, top, height: own.length * rowHeight, left, above};
    top += panel.height + 58;
    return panel;
  });
  return {panels, height: top};
}

function axesOf(panels, {palette, width}, right, titleOf, lowest, highest) {
  return {
    grid: panels.map((panel) => ({left: panel.left, right, top: panel.top, height: panel.height})),
    xAxis: panels.map((panel, i) => {
      const range = niceRange(lowest(panel), highest(panel), 4);
      return {
        type: 'value', gridIndex: i, ...range, name: fittedName(titleOf(panel), width - panel.left - 10, size), nameLocation: 'middle', nameGap: 24,
        nameTextStyle: {color: palette.soft, fontSize: size}, axisLine: {show: false}, axisTick: {show: false},
        axisLabel: {color: palette.soft, fontSize: 11, hideOverlap: true, formatter: (value) => plainNumber(value)},
        splitLine: {lineStyle: {color: palette.grid}},
      };
    }),
    yAxis: panels.map((panel, i) => ({
      type: 'category', gridIndex: i, inverse: true, data: panel.bars.map((bar, k) => String(k)),
      axisLine: {show: false}, axisTick: {show: false},
      axisLabel: {
        show: !panel.above, color: palette.ink, fontSize: size, interval: 0,
        formatter: (k) => fittedName(panel.bars[+k].name, panel.left - 12, size)},
    })),
  };
}

function rectangle(x1, x2, y, height, style) {
  return {type: 'rect', shape: {x: Math.min(x1, x2), y: y - height / 2, width: Math.abs(x2 - x1), height}, style};
}

/// Where a bar lies in its row, and its name when that stands above it.
function placedIn(panel, bar, y, view) {
  if (!panel.above) return {y, names: []};
  return {y: y + 8, names: [{type: 'text', x: 6, y: y - 9,
    style: {text: fittedName(bar.name, view.width - 12, size), fill: view.palette.ink, fontSize: size, verticalAlign: 'middle',
      fontFamily: view.palette.font}}]};
}

/// Slanted strokes across a box: a filling that needs no colour.
function hatching(x1, x2, y, height, colour) {
  const children = [];
  const begin = Math.min(x1, x2);
  const end = Math.max(x1, x2);
  for (let x = begin - height; x < end; x += 5) {
    const from = Math.max(x, begin);
    const to = Math.min(x + height, end);
    if (to - from < 1) continue;
    children.push({
      type: 'line', style: {stroke: colour, lineWidth: 1},
      shape: {x1: from, y1: y + height / 2 - (from - x), x2: to, y2: y + height / 2 - (to - x)}});
  }
  return {type: 'group', children};
}

/// The distance to the limit: hatched what a policy reserves, then what is left; what is missing goes back over it.
function marginShape(panel, view) {
  const {palette} = view;
  return (params, api) => {
    const bar = panel.bars[api.value(1)];
    const [zero, middle] = api.coord([0, api.value(1)]);
    const {y, names} = placedIn(panel, bar, middle, view);
    const [reserved] = api.coord([bar.reserved, 0]);
    const [end] = api.coord([bar.margin + bar.reserved, 0]);
    const broken = bar.margin < 0;
    const colour = broken ? palette.broken : palette.met;
    const children = [...names];
    if (bar.reserved > 0) children.push(hatching(zero, reserved, y, 12, palette.reserved));
    children.push(rectangle(reserved, end, y, broken ? 8 : 12, {fill: colour}));
    const half = panel.above ? 9 : row / 2;
    children.push({type: 'line', shape: {x1: zero, y1: y - half, x2: zero, y2: y + half},
      style: {stroke: palette.limit, lineWidth: 2}});
    children.push({
      type: 'text', x: Math.max(zero, end, reserved) + 7, y,
      style: {text: bar.words, fill: broken ? palette.broken : palette.ink, fontSize: size, verticalAlign: 'middle',
        fontWeight: broken ? 'bold' : 'normal', fontFamily: palette.font}});
    return {type: 'group', children};
  };
}

/// Decimals that all bars of a unit share: the least margin with two digits, but not more than the largest needs.
function decimalsOf(bars, unit) {
  const sizes = bars.filter((bar) => bar.unit === unit && bar.margin !== 0).map((bar) => Math.abs(bar.margin));
  if (sizes.length === 0) return 1;
  const two = (size) => 1 - Math.floor(Math.log10(size));
  return Math.min(4, Math.max(1, Math.min(two(Math.min(...sizes)), Math.max(2, two(Math.max(...sizes))))));
}

function fixed(value, decimals) {
  const text = value.toFixed(decimals);
  return /^-0(\.0*)?$/.test(text) ? text.slice(1) : text;
}

/// A limit can be kept, and yet by less than a policy reserves.
function verdictOf(bar) {
  if (bar.margin >= 0) return '+';
  return bar.margin + bar.reserved >= 0 ? 'TOO SMALL ' : 'BROKEN ';
}

export function margins(chart, view) {
  const {palette} = view;
  const narrow = view.width < 560;
  const bars = chart.bars.map((bar) => {
    const digits = decimalsOf(chart.bars, bar.unit);
    const margin = `${verdictOf(bar)}${fixed(bar.margin, digits)}\u202f${differenceUnit(bar.unit)}`;
    // A value that stands on its limit must not look beyond it for want of a decimal.
    const limit = plainNumber(bar.limit, 5);
    const decimals = Math.max(digits, (limit.split('.')[1] ?? '').length);
    const where = `${fixed(bar.value, decimals)} of ${bar.upper ? 'at most' : 'at least'} ${withUnit(limit, bar.unit)}`;
    return {...bar, words: narrow ? margin : `${margin}   ${where}`, margin_words: margin, where};
  });
  const {panels, height} = panelsOf(bars, view);
  const right = 18 + Math.max(...bars.map((bar) => textWidth(bar.words, size)));
  const least = (panel) => Math.min(0, ...panel.bars.map((bar) => bar.margin + bar.reserved));
  const most = (panel) => Math.max(0, ...panel.bars.map((bar) => Math.max(bar.reserved, bar.margin + bar.reserved)));
  return {
    height,
    option: {
      ...axesOf(panels, view, right, (panel) => `to the limit, ${differenceUnit(panel.unit)}`, least, most),
      tooltip: {trigger: 'item'},
      series: panels.map((panel, i) => ({
        type: 'custom', xAxisIndex: i, yAxisIndex: i, clip: false, renderItem: marginShape(panel, view), encode: {x: 0, y: 1},
        data: panel.bars.map((bar, k) => [bar.margin + bar.reserved, k])})),
    },
    tip: (params) => {
      const bar = panels[params.seriesIndex].bars[params.value[1]];
      const told = [[plainName(bar.name), ''], ['margin', bar.margin_words], ['', bar.where]];
      if (bar.reserved > 0) told.push(['reserved by the policy', `${formatted(bar.reserved, 3)} ${differenceUnit(bar.unit)}`]);
      return told;
    },
  };
}

export function rank(chart, view) {
  const {palette} = view;
  const groups = [...new Set(chart.bars.map((bar) => bar.group))];
  // Two colours, for more and for less, wherever a rank is drawn; a group is said in words, unless every name begins with it.
  const colour = (bar) => bar.value < 0 ? palette.ends.heat : palette.met;
  const grouped = view.width >= 560 && chart.bars.some((bar) => bar.group && !bar.name.startsWith(bar.group));
  const digits = decimalsFor(Math.max(...chart.bars.map((bar) => Math.abs(bar.value))), 3);
  const words = (value) => Math.abs(value) < 0.5 * 10 ** -digits ? signed(value, 1) : (value > 0 ? '+' : '') + fixed(value, digits);
  const bars = chart.bars.map((bar) => ({...bar, unit: chart.unit, words: words(bar.value)}));
  const {panels, height} = panelsOf(bars, view, grouped ? 0.3 : 0.42);
  const [panel] = panels;
  const widest = Math.max(...bars.map((bar) => textWidth(bar.words, size)));
  const right = 20 + widest + (!grouped ? 0 : Math.max(...groups.map((group) => Math.min(110, textWidth(plainName(group), 11)))) + 16);
  const shape = (params, api) => {
    const bar = panel.bars[api.value(1)];
    const [zero, middle] = api.coord([0, api.value(1)]);
    const [end] = api.coord([bar.value, 0]);
    const {y, names} = placedIn(panel, bar, middle, view);
    const children = [...names, rectangle(zero, end, y, 12, {fill: colour(bar)})];
    children.push({type: 'text', x: Math.max(zero, end) + 7, y,
      style: {text: bar.words, fill: palette.ink, fontSize: size, verticalAlign: 'middle', fontFamily: palette.font}});
    if (grouped && bar.group) {
      children.push({type: 'text', x: view.width - 4, y,
        style: {text: fittedName(bar.group, 110, 11), fill: palette.soft, fontSize: 11, align: 'right', verticalAlign: 'middle',
          fontFamily: palette.font}});
    }
    return {type: 'group', children};
  };
  const unit = unitName(chart.unit);
  return {
    height,
    option: {
      ...axesOf(panels, view, right, () => plainName(chart.quantity) + (unit ? `, ${unit}` : ''),
        () => Math.min(0, ...bars.map((bar) => bar.value)), () => Math.max(0, ...bars.map((bar) => bar.value))),
      tooltip: {trigger: 'item'},
      series: [{type: 'custom', clip: false, renderItem: shape, encode: {x: 0, y: 1}, data: bars.map((bar, k) => [bar.value, k])}],
    },
    tip: (params) => {
      const bar = bars[params.value[1]];
      return [[plainName(bar.name), withUnit(bar.words, chart.unit)], ['', plainName(bar.group)]];
    },
  };
}
