// Colours of our own. Neighbours stay apart for people with red-, green- and blue-blindness and in grey;
// tests/report/palette.test.mjs measures that. What a colour says is always also said by a word, a dash or a place.

const sans = 'system-ui, "Segoe UI", Roboto, "Noto Sans", "DejaVu Sans", sans-serif';

export const light = {
  name: 'light',
  font: sans,
  paper: '#fbfaf6',
  ink: '#20262b',
  soft: '#59636b',
  hair: '#cfcabc',
  grid: '#e9e5da',
  series: ['#1c5a86', '#c2541a', '#2f8f7d', '#84398a', '#a87b00', '#3b93c4', '#5b4a3c', '#cf6690'],
  ends: {sunlight: '#c98f00', through: '#8b9399', electricity: '#2a6ca8', light: '#9c2f86', heat: '#c2541a', space: '#55636f'},
  met: '#2a6ca8',
  near: '#c98f00',
  broken: '#a8201a',
  limit: '#a8201a',
  reserved: '#8b9399',
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
  series: ['#6aaede', '#ee8a4d', '#5cc4ae', '#cf8bd4', '#d8ae3c', '#9fd3f2', '#bfa78f', '#f2a3c0'],
  ends: {sunlight: '#e0b040', through: '#848d93', electricity: '#6aaede', light: '#d77fc4', heat: '#ee8a4d', space: '#9aa8b4'},
  met: '#6aaede',
  near: '#e0b040',
  broken: '#ff7d70',
  limit: '#ff7d70',
  reserved: '#848d93',
  bands: ['#2b333b', '#3b3420', '#20352f', '#3a2a39', '#402c22', '#2f3820'],
  flow: 0.42,
  scale: ['#3a2228', '#6b2f2b', '#9a4a2e', '#c06f38', '#dc9b4f', '#edc77f', '#f8ecc4'],
  onScale: ['#e9e6dd', '#ffffff', '#ffffff', '#15191c', '#15191c', '#15191c', '#15191c'],
};
