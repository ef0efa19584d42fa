// Power from station to station.
import {formatted, percent, plainName, shortName, textWidth} from './numbers.js';

const size = 12;

/// How many links away from the beginning each station is at most.
function depthsOf(chart) {
  const depth = chart.stations.map(() => 0);
  for (let round = 0; round < chart.stations.length; ++round) {
    for (const [from, to] of chart.links) depth[to] = Math.max(depth[to], depth[from] + 1);
  }
  return depth;
}

export function flow(chart, view) {
  const {palette, width} = view;
  const into = chart.stations.map(() => 0);
  const out = chart.stations.map(() => 0);
  for (const [from, to, power] of chart.links) {
    out[from] += power;
    into[to] += power;
  }
  const depth = depthsOf(chart);
  const columns = Math.max(...depth, 1);
  const used = chart.stations.map((station, i) => i).filter((i) => into[i] > 0 || out[i] > 0);
  const last = used.filter((i) => out[i] === 0);
  const words = (i) => {
    const power = Math.max(into[i], out[i]);
    return `${formatted(power, power >= 1000 ? 5 : 4)}\u202fW  ${percent(power, chart.whole_W)}`;
  };
  const right = 12 + Math.max(...last.map((i) =>
    Math.max(textWidth(shortName(chart.stations[i].name, 26), size), textWidth(words(i), size))));
  const room = (width - right) / columns - 24;
  const letters = (i) => out[i] === 0 ? 26 : Math.max(8, Math.floor(room / (0.54 * size)));
  const colour = (i) => palette.ends[chart.stations[i].kind];
  const height = Math.max(300, 46 * last.length + 40);
  return {
    height,
    option: {
      tooltip: {trigger: 'item'},
      series: [{
        type: 'sankey',
        left: 4, right, top: 20, bottom: 20,
        nodeWidth: 9, nodeGap: 30, nodeAlign: 'justify', layoutIterations: 48, draggable: false,
        emphasis: {focus: 'none', disabled: true},
        label: {
          position: 'right', distance: 6, fontSize: size, lineHeight: 15, color: palette.ink,
          textBorderColor: palette.paper, textBorderWidth: 3,
          formatter: ({name}) => `${shortName(chart.stations[+name].name, letters(+name))}\n${words(+name)}`,
        },
        data: used.map((i) => ({name: String(i), itemStyle: {color: colour(i), borderWidth: 0}})),
        links: chart.links.map(([from, to, power]) => ({
          source: String(from), target: String(to), value: power,
          lineStyle: {
            color: chart.stations[to].kind === 'through' ? colour(from) : colour(to), opacity: palette.flow, curveness: 0.5},
        })),
      }],
    },
    tip: (params) => params.dataType === 'edge'
      ? [[`${plainName(chart.stations[+params.data.source].name)} \u2192 ${plainName(chart.stations[+params.data.target].name)}`,
          `${formatted(params.data.value, 5)} W, ${percent(params.data.value, chart.whole_W)}`]]
      : [[plainName(chart.stations[+params.name].name), words(+params.name)]],
  };
}
