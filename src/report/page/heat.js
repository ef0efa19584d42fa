// One output over two inputs.
import {decimalsFor, fittedName, formatted, niceRange, plainName, plainNumber, textWidth, unitName, withUnit} from './numbers.js';

function named(name, unit) {
  const text = unitName(unit);
  return plainName(name) + (text ? `, ${text}` : '');
}

/// At most seven classes between round numbers.
function classesOf(values) {
  const finite = values.filter((value) => Number.isFinite(value));
  if (finite.length === 0) return [0, 1];
  const low = Math.min(...finite);
  const high = Math.max(...finite);
  for (let ticks = 8; ticks > 0; --ticks) {
    const range = niceRange(low, high, ticks);
    const count = Math.round((range.max - range.min) / range.interval);
    if (count <= 7) return Array.from({length: count + 1}, (nothing, i) => range.min + i * range.interval);
  }
  return [low, high];
}

export function heat(chart, view) {
  const {palette, width} = view;
  const narrow = width < 560;
  const values = Array.from(chart.values);
  const edges = classesOf(values);
  const count = edges.length - 1;
  const shade = (i) => Math.min(6, count === 1 ? 3 : Math.round(i * 6 / (count - 1)));
  const left = 20 + Math.max(...Array.from(chart.y, (y) => textWidth(plainNumber(y, 4), 11))) + 18;
  const right = 12;
  const cell = {width: (width - left - right) / chart.x.length, height: Math.max(24, Math.min(40, 360 / chart.y.length))};
  // All cells with the same decimals: as many as the largest value needs.
  const size = Math.max(...values.filter((value) => Number.isFinite(value)).map(Math.abs), 0);
  const decimals = decimalsFor(size, cell.width > 46 ? 3 : 2);
  const worded = (value) => size < 1e-4 || size >= 1e7 ? formatted(value, 2) : value.toFixed(decimals).replace(/^-(0(\.0*)?)$/, '$1');
  const signs = values.some((value) => value < 0) && values.some((value) => value > 0);
  /// A line between two cells of which one is below zero.
  const border = (i, other, shape) => signs && (values[i] < 0) !== (values[other] < 0) && Number.isFinite(values[i] + values[other])
    ? [{type: 'line', silent: true, z2: 5, shape, style: {stroke: palette.ink, lineWidth: 2.5}}] : [];
  const written = values.length <= 400 && cell.width >= 32;
  const classOf = (value) => Math.max(0, Math.min(count - 1, edges.findLastIndex((edge) => value >= edge)));
  const legendTop = 26;
  const top = 62;
  const height = top + cell.height * chart.y.length + 56;
  const shape = (params, api) => {
    const value = values[params.dataIndex];
    const known = Number.isFinite(value);
    const [x, y] = api.coord([api.value(0), api.value(1)]);
    const box = {x: x - cell.width / 2, y: y - cell.height / 2, width: cell.width - 1, height: cell.height - 1};
    const children = [{type: 'rect', shape: box, style: known ? {fill: palette.scale[shade(classOf(value))]}
      : {fill: 'none', stroke: palette.hair, lineDash: [3, 3]}}];
    if (written) {
      children.push({type: 'text', silent: true, x, y, style: {
        text: known ? worded(value) : '\u2013', align: 'center', verticalAlign: 'middle', fontSize: narrow ? 10 : 11,
        fontFamily: palette.font, fill: known ? palette.onScale[shade(classOf(value))] : palette.soft}});
    }
    const i = params.dataIndex;
    const right_of = x + cell.width / 2 - 0.5;
    const above = y - cell.height / 2 - 0.5;
    if (i % chart.x.length < chart.x.length - 1)
      children.push(...border(i, i + 1, {x1: right_of, x2: right_of, y1: above, y2: above + cell.height}));
    if (i + chart.x.length < values.length)
      children.push(...border(i, i + chart.x.length, {x1: right_of - cell.width, x2: right_of, y1: above, y2: above}));
    return {type: 'group', children};
  };
  const step = Math.min(86, (width - left - right) / count);
  const key = edges.flatMap((edge, i) => [
    ...(i < count ? [{type: 'rect', silent: true, shape: {x: left + i * step, y: legendTop - 4, width: step - 1, height: 10},
      style: {fill: palette.scale[shade(i)]}}] : []),
    {type: 'text', silent: true, x: left + i * step, y: legendTop + 9,
      style: {text: plainNumber(edge), fill: palette.soft, font: `11px ${palette.font}`,
        align: i === 0 ? 'left' : i === count ? 'right' : 'center', verticalAlign: 'top'}},
  ]);
  key.push({type: 'text', silent: true, x: left, y: 4,
    style: {text: fittedName(named(chart.name, chart.unit) + (signs ? '; thick line: zero' : ''), width - left - 4, 12), fill: palette.ink, font: `12px ${palette.font}`, verticalAlign: 'top'}});
  const axis = (numbers, name, unit, gap) => ({
    type: 'category', data: Array.from(numbers, (value) => plainNumber(value, 4)), name: fittedName(named(name, unit), 300, 12), nameLocation: 'middle',
    nameGap: gap, nameTextStyle: {color: palette.soft, fontSize: 12}, axisLine: {show: false}, axisTick: {show: false},
    axisLabel: {color: palette.soft, fontSize: 11, hideOverlap: true}, splitArea: {show: false}});
  return {
    height,
    option: {
      tooltip: {trigger: 'item'},
      grid: {left, right, top, height: cell.height * chart.y.length},
      xAxis: axis(chart.x, chart.x_name, chart.x_unit, 28),
      yAxis: axis(chart.y, chart.y_name, chart.y_unit, left - 16),
      graphic: {elements: key},
      series: [{
        type: 'custom', renderItem: shape, encode: {x: 0, y: 1},
        data: values.map((value, i) => [i % chart.x.length, Math.floor(i / chart.x.length)])}],
    },
    tip: ({dataIndex}) => {
      const value = values[dataIndex];
      return [
        [plainName(chart.name), Number.isFinite(value) ? withUnit(formatted(value, 5), chart.unit) : 'no answer'],
        [plainName(chart.x_name), withUnit(formatted(chart.x[dataIndex % chart.x.length], 5), chart.x_unit)],
        [plainName(chart.y_name), withUnit(formatted(chart.y[Math.floor(dataIndex / chart.x.length)], 5), chart.y_unit)]];
    },
  };
}
