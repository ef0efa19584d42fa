// Pictures of charts without a browser: reads {"charts": [{"name", "label", "chart"}]} from standard input and writes
// {"pictures": [{"name", "svg"}]} to standard output.
import {readFileSync} from 'node:fs';
import {drawn} from './charts.js';
import {unpacked} from './codec.js';
import {echarts} from './engine.js';
import {light} from './palette.js';

const width = 820;

function markup(text) {
  return text.replace(/&/g, '&amp;').replace(/</g, '&lt;').replace(/>/g, '&gt;');
}

function picture(packed, label) {
  const {option, height, after, width: needed = width} = drawn(unpacked(packed), {width, palette: light});
  delete option.tooltip;
  const chart = echarts.init(null, null, {renderer: 'svg', ssr: true, width: needed, height});
  chart.setOption({...option, backgroundColor: light.paper});
  if (after) chart.setOption(after());
  const svg = chart.renderToSVGString();
  chart.dispose();
  return svg.replace(/^<svg [^>]*>/, (start) => `${start}\n<title>${markup(label)}</title>`);
}

const {charts} = JSON.parse(readFileSync(0, 'utf8'));
const pictures = charts.map(({name, label, chart}) => ({name, svg: picture(chart, label)}));
process.stdout.write(JSON.stringify({pictures}));
