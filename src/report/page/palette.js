// Colours of our own. Neighbours stay apart for people with red-, green- and blue-blindness and in grey;
// tests/report/browser/palette.mjs measures that. What a colour says is always also said by a word, a dash or a place.

// Single quotes inside: the library puts the names into an attribute as they are.
const sans = "system-ui, 'Segoe UI', Roboto, 'Noto Sans', 'DejaVu Sans', sans-serif";

export const light = {
  name: 'light',
  font: sans,
  paper: '#fbfaf6',
  ink: '#20262b',
  soft: '#59636b',
  hair: '#cfcabc',
  grid: '#e9e5da',
  series: ['#1e5b87', '#b44b16', '#26a373', '#791e6a', '#b18204', '#3180b1', '#5b4a3c', '#d06997'],
  ends: {sunlight: '#b98300', through: '#858d93', electricity: '#2d6fab', light: '#992c86', heat: '#bc501a', space: '#4a5762'},
  met: '#2d6fab',
  broken: '#a8201a',
  limit: '#a8201a',
  reserved: '#858d93',
  bands: ['#d6dbe0', '#efe0b8', '#d5e6e0', '#e8d7e6', '#f0d8cb', '#dfe8c9'],
  flow: 0.38,
  scale: ['#f7efd2', '#f0d58f', '#e3b04f', '#d08436', '#b25a2c', '#893728', '#561d24'],
  onScale: ['#20262b', '#20262b', '#20262b', '#20262b', '#ffffff', '#ffffff', '#ffffff'],
};

export const dark = {
  name: 'dark',
  font: sans,
  paper: '#15191c',
  ink: '#e9e6dd',
  soft: '#a9b0b4',
  hair: '#454c51',
  grid: '#272d31',
  series: ['#74baf0', '#e7854e', '#66ded0', '#c782c9', '#d8ae3c', '#9fd3f2', '#bca387', '#f79fb3'],
  ends: {sunlight: '#e0b040', through: '#757e84', electricity: '#5eaef0', light: '#d57dc2', heat: '#e8864d', space: '#aebac4'},
  met: '#5eaef0',
  broken: '#ff7d70',
  limit: '#ff7d70',
  reserved: '#757e84',
  bands: ['#2b333b', '#3b3420', '#20352f', '#3a2a39', '#402c22', '#2f3820'],
  flow: 0.42,
  scale: ['#3a2228', '#6b2f2b', '#9a4a2e', '#c06f38', '#dc9b4f', '#edc77f', '#f8ecc4'],
  onScale: ['#e9e6dd', '#ffffff', '#ffffff', '#15191c', '#15191c', '#15191c', '#15191c'],
};
