// Whether the colours of the page stay apart for people who see fewer of them, and stand out from the paper.
//   node palette.mjs <palette.js>
// Colour blindness: matrices of Machado, Oliveira & Fernandes, "A physiologically-based model for simulation of color vision
// deficiency", IEEE Transactions on Visualization and Computer Graphics 15(6), 2009, full severity, on linear RGB (numbers from
// memory; their rows add up to 1, which is checked). Difference: CIE 1976 in L*a*b* under D65. Contrast: WCAG 2.
import {pathToFileURL} from 'node:url';
import {resolve} from 'node:path';

const {light, dark} = await import(pathToFileURL(resolve(process.argv[2])).href);

const visions = {
  full: [[1, 0, 0], [0, 1, 0], [0, 0, 1]],
  protan: [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]],
  deutan: [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.01182, 0.04294, 0.968881]],
  tritan: [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.3039]],
};
const apart = 11;      // five times what is just seen side by side
const outstanding = 3; // WCAG 2, 1.4.11: graphics against what is beside them
const readable = 4.5;  // WCAG 2, 1.4.3: text
let faults = 0;

function fault(what) {
  faults += 1;
  console.log(what);
}

const linear = (hex) => [1, 3, 5].map((i) => Number.parseInt(hex.slice(i, i + 2), 16) / 255)
  .map((value) => value <= 0.04045 ? value / 12.92 : ((value + 0.055) / 1.055) ** 2.4);
const seen = (rgb, rows) => rows.map((row) => Math.min(1, Math.max(0, row.reduce((sum, weight, i) => sum + weight * rgb[i], 0))));
const luminance = ([r, g, b]) => 0.2126 * r + 0.7152 * g + 0.0722 * b;

function lab([r, g, b]) {
  const x = (0.4124564 * r + 0.3575761 * g + 0.1804375 * b) / 0.95047;
  const y = 0.2126729 * r + 0.7151522 * g + 0.072175 * b;
  const z = (0.0193339 * r + 0.119192 * g + 0.9503041 * b) / 1.08883;
  const [fx, fy, fz] = [x, y, z].map((value) => value > 216 / 24389 ? Math.cbrt(value) : (24389 / 27 * value + 16) / 116);
  return [116 * fy - 16, 500 * (fx - fy), 200 * (fy - fz)];
}

const difference = (a, b, vision) => {
  const [p, q] = [a, b].map((hex) => lab(seen(linear(hex), visions[vision])));
  return Math.hypot(p[0] - q[0], p[1] - q[1], p[2] - q[2]);
};
const contrast = (a, b) => {
  const [low, high] = [luminance(linear(a)), luminance(linear(b))].sort((p, q) => p - q);
  return (high + 0.05) / (low + 0.05);
};

function checkApart(name, colours) {
  let least = Infinity;
  for (const vision of Object.keys(visions)) {
    colours.forEach((a, i) => colours.slice(i + 1).forEach((b, k) => {
      const far = difference(a, b, vision);
      least = Math.min(least, far);
      if (far < apart) fault(`${name}: ${a} and ${b} (${i + 1}, ${i + k + 2}) are ${far.toFixed(1)} apart for ${vision}`);
    }));
  }
  console.log(`  ${name}: least difference ${least.toFixed(1)}`);
}

for (const rows of Object.values(visions)) {
  for (const row of rows) if (Math.abs(row[0] + row[1] + row[2] - 1) > 2e-6) fault('a matrix changes grey');
}
for (const palette of [light, dark]) {
  const {name, paper} = palette;
  checkApart(`${name} lines`, palette.series);
  checkApart(`${name} flows`, Object.values(palette.ends));
  checkApart(`${name} scale`, palette.scale);
  for (const [what, colour] of [...palette.series.entries(), ...Object.entries(palette.ends), ['limit', palette.limit], ['met', palette.met]]) {
    if (contrast(colour, paper) < outstanding) fault(`${name}: ${what} ${colour} has contrast ${contrast(colour, paper).toFixed(2)} with the paper`);
  }
  for (const what of ['ink', 'soft', 'limit', 'broken']) {
    if (contrast(palette[what], paper) < readable) fault(`${name}: ${what} has contrast ${contrast(palette[what], paper).toFixed(2)}`);
  }
  palette.scale.forEach((colour, i) => {
    if (contrast(colour, palette.onScale[i]) < readable) fault(`${name}: numbers on ${colour}: ${contrast(colour, palette.onScale[i]).toFixed(2)}`);
  });
  for (const band of palette.bands) {
    if (contrast(palette.ink, band) < readable) fault(`${name}: names on ${band}`);
  }
}
// A pair that must be found: leaf green and brick red for who has no green cones.
if (difference('#6d7d2a', '#a05a2c', 'deutan') > 25 || difference('#6d7d2a', '#a05a2c', 'full') < 25) fault('the measure does not see red and green');
console.log(`${faults} faults`);
process.exit(faults === 0 ? 0 : 1);
