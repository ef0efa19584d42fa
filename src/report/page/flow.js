// Power from station to station.
import {fittedName, formatted, percent, plainName, textWidth} from './numbers.js';

const size = 12;
const lane = 34;      // height of a row of labels
const nodeWidth = 9;
const left = 4;

/// How many links away from the beginning each station is at most; where power ends is drawn in the last column.
function columnsOf(chart, out) {
  const depth = chart.stations.map(() => 0);
  for (let round = 0; round < chart.stations.length; ++round) {
    for (const [from, to] of chart.links) depth[to] = Math.max(depth[to], depth[from] + 1);
  }
  const last = Math.max(...depth, 1);
  return depth.map((column, i) => out[i] === 0 ? last : column);
}

/// Links cut at every column that they pass, with a waypoint there: the library then keeps room for them, and no ribbon runs
/// behind a station that it has nothing to do with. {points: one for each waypoint, pieces: [from, to, link]} by name.
function routed(chart, columns) {
  const points = [];
  const pieces = [];
  chart.links.forEach((link, number) => {
    const [from, to] = link;
    let before = String(from);
    for (let column = columns[from] + 1; column < columns[to]; ++column) {
      const name = `${from} to ${to} ${number} at ${column}`;
      points.push({name, link, column});
      pieces.push([before, name, link]);
      before = name;
    }
    pieces.push([before, String(to), link]);
  });
  return {points, pieces};
}

/// A name in one line, or in two where it does not fit; what does not fit then is left out.
function inLines(name, room) {
  const whole = plainName(name);
  if (textWidth(whole, size) <= room) return [whole];
  const words = whole.split(' ');
  let first = '';
  while (words.length > 1 && textWidth(`${first}${words[0]}`, size) <= room) first += `${words.shift()} `;
  return first ? [first.trim(), fittedName(words.join(' '), room, size)] : [fittedName(whole, room, size)];
}

/// A station that is alone in its column has its label above the flow; those that share a column have theirs beside them.
function markAlone(stations) {
  for (const station of stations) {
    station.alone = !station.ends && !stations.some((other) => other !== station && !other.ends && other.column === station.column);
  }
}

/// Labels of lone stations stand above the flow, in as many rows as they need to be apart. A label stands lower than all
/// that reach over it from the left, so that no line down from a label crosses another one.
function lanesOf(stations) {
  const placed = [];
  for (const station of [...stations].sort((a, b) => a.x - b.x)) {
    const over = placed.filter((other) => other.x + other.wide + 12 > station.x);
    station.row = 1 + Math.max(-1, ...over.map((other) => other.row));
    placed.push(station);
  }
  return 1 + Math.max(-1, ...placed.map((station) => station.row));
}

function stationsOf(chart, view) {
  const into = chart.stations.map(() => 0);
  const out = chart.stations.map(() => 0);
  for (const [from, to, power] of chart.links) {
    out[from] += power;
    into[to] += power;
  }
  const columns = columnsOf(chart, out);
  const stations = chart.stations.map((station, index) => {
    const power = Math.max(into[index], out[index]);
    const words = `${formatted(power, power >= 1000 ? 5 : 4)}\u202fW, ${percent(power, chart.whole_W)}`;
    return {...station, index, power, words, column: columns[index], ends: out[index] === 0};
  }).filter((station) => station.power > 0);
  markAlone(stations);
  const ending = stations.filter((station) => station.ends);
  const longest = Math.max(...ending.map((station) => textWidth(plainName(station.name), size)));
  const words = Math.max(...stations.map((station) => textWidth(station.words, size)));
  const right = 14 + Math.max(words, Math.min(longest, view.width < 560 ? 110 : 210));
  const last = Math.max(...columns, 1);
  // Labels beside their stations need room as wide as they are.
  const crowded = stations.some((station) => !station.ends && !station.alone);
  const width = Math.max(view.width, crowded ? left + right + last * (words + 20) : 0);
  const step = (width - left - right - nodeWidth) / last;
  for (const station of stations) {
    station.x = left + step * station.column;
    station.text = station.ends ? inLines(station.name, right - 14).join('\n') : fittedName(station.name, station.alone ? 150 : step - 16, size);
    station.wide = Math.max(textWidth(station.text, size), textWidth(station.words, size));
  }
  const route = routed(chart, columns);
  const all = [...stations, ...route.points];
  const gap = stations.some(({text}) => text.includes('\n')) ? 48 : 34;
  const most = Math.max(...columns.map((column) => all.filter((one) => one.column === column).length));
  return {stations, right, width, most, gap, route};
}

/// A line from the label down to its station, with a dot where it ends.
function leader(station, box, palette) {
  const x = box.x + 2;
  const y = box.y + Math.min(6, box.height / 2);
  return [
    {type: 'line', silent: true, z: 50, style: {stroke: palette.soft, lineWidth: 1}, shape: {x1: x, x2: x, y1: station.y + 17, y2: y}},
    {type: 'circle', silent: true, z: 50, style: {fill: palette.soft}, shape: {cx: x, cy: y, r: 2}},
  ];
}

export function flow(chart, view) {
  const {palette} = view;
  const {stations, right, width, most, gap, route} = stationsOf(chart, view);
  const above = stations.filter((station) => station.alone);
  const lanes = lanesOf(above);
  for (const station of above) station.y = 20 + lane * station.row;
  const of = new Map(stations.map((station) => [String(station.index), station]));
  const boxes = new Map();
  const colour = (index) => palette.ends[chart.stations[index].kind];
  const ribbon = ([from, to]) => chart.stations[to].kind === 'through' ? colour(from) : colour(to);
  // Light on top, then what goes on, then what leaves: the order in which the library begins.
  const rank = ({kind}) => ['light', 'electricity', 'through', 'sunlight', 'heat', 'space'].indexOf(kind);
  const ordered = [...stations].sort((a, b) => rank(a) - rank(b));
  const points = [...route.points].sort((a, b) => rank(chart.stations[a.link[1]]) - rank(chart.stations[b.link[1]]));
  const top = lane * lanes + 16;
  return {
    height: top + Math.max(most === 1 ? 110 : 200, (gap + 16) * most) + 16, width,
    option: {
      tooltip: {trigger: 'item'},
      series: [{
        type: 'sankey',
        left, right, top, bottom: 16, nodeWidth, nodeGap: gap, nodeAlign: 'justify', layoutIterations: 48, draggable: false,
        emphasis: {focus: 'none', disabled: true},
        label: {
          position: 'right', distance: 6, fontSize: size, lineHeight: 15, color: palette.ink,
          textBorderColor: palette.paper, textBorderWidth: 2,
          formatter: ({name}) => `${of.get(name).text}\n${of.get(name).words}`,
        },
        labelLayout: ({rect, dataIndex}) => {
          const station = ordered[dataIndex];
          if (!station) return {};
          boxes.set(station, rect);
          return !station.alone ? {} : {x: station.x, y: station.y, align: 'left', verticalAlign: 'middle'};
        },
        data: [
          ...ordered.map(({index}) => ({name: String(index), itemStyle: {color: colour(index), borderWidth: 0}})),
          ...points.map(({name, link}) => ({
            name, label: {show: false}, itemStyle: {color: ribbon(link), opacity: palette.flow, borderWidth: 0}})),
        ],
        links: route.pieces.map(([source, target, link]) => ({
          source, target, value: link[2], link, lineStyle: {color: ribbon(link), opacity: palette.flow, curveness: 0.5}})),
      }],
    },
    /// What can be drawn only when the library has put the stations in their places.
    after: () => ({graphic: {elements: above.filter((station) => boxes.has(station))
      .flatMap((station) => leader(station, boxes.get(station), palette))}}),
    tip: (params) => {
      const link = params.dataType === 'edge' ? params.data.link : route.points.find(({name}) => name === params.name)?.link;
      if (!link) return [[plainName(of.get(params.name).name), of.get(params.name).words]];
      const [from, to, power] = link;
      return [[`${plainName(chart.stations[from].name)} \u2192 ${plainName(chart.stations[to].name)}`,
        `${formatted(power, 5)} W, ${percent(power, chart.whole_W)}`]];
    },
  };
}
