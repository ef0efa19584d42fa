// Digits, names and scales as people read them.

// Marks that turn the direction of what follows have no place inside a label.
const turning = /[\u200e\u200f\u202a-\u202e\u2066-\u2069]/g;

// The drawing library keeps what it measured by text in plain objects: a text that is `__proto__` would change all objects of the
// page. A break without width inside of it makes it another text.
export function plainName(name) {
  return String(name).replace(turning, '').replace(/\s+/g, ' ').replace(/__proto__/g, '__\u200bproto__').replace(/(\d) degC\b/g, '$1 \u00b0C');
}

/// As much of a name as fits into `room` pixels.
export function fittedName(name, room, size) {
  const whole = plainName(name);
  if (textWidth(whole, size) <= room) return whole;
  const letters = Array.from(whole);
  let width = size;
  let count = 0;
  while (count < letters.length && (width += textWidth(letters[count], size)) <= room) ++count;
  return letters.slice(0, Math.max(1, count)).join('') + '\u2026';
}

/// At most `most` characters as people count them.
export function shortName(name, most) {
  const letters = Array.from(plainName(name));
  return letters.length <= most ? letters.join('') : letters.slice(0, Math.max(1, most - 1)).join('') + '\u2026';
}

/// Width of a text in pixels, near enough to leave room for it; there is nothing to measure with outside a browser.
export function textWidth(text, size) {
  let units = 0;
  for (const letter of text) {
    const code = letter.codePointAt(0);
    units += code > 0x2e7f ? 1.4 : /[WM@%]/.test(letter) ? 0.98 : /[mw]/.test(letter) ? 0.9 : /[A-Z]/.test(letter) ? 0.68
      : /[ijlt.,:;|' ]/.test(letter) ? 0.32 : /[=<>+~]/.test(letter) ? 0.7 : 0.57;
  }
  return units * size;
}

export function unitName(unit) {
  const known = {degC: '\u00b0C', deg: '\u00b0', '1': ''};
  if (Object.hasOwn(known, unit)) return known[unit];
  return plainName(unit).replace(/(?<=[mK])[234](?=$|[ /)])/g, (power) => ({2: '\u00b2', 3: '\u00b3', 4: '\u2074'})[power]);
}

/// The unit of a difference of two values.
export function differenceUnit(unit) {
  return unit === 'degC' ? 'K' : unitName(unit);
}

export function withUnit(text, unit) {
  const name = unitName(unit);
  return name ? text + '\u202f' + name : text;
}

/// Decimals that leave about `digits` significant ones.
export function decimalsFor(size, digits = 4) {
  if (!(Math.abs(size) > 0)) return 0;
  return Math.min(12, Math.max(0, digits - 1 - Math.floor(Math.log10(Math.abs(size)))));
}

export function formatted(value, digits = 4) {
  if (!Number.isFinite(value)) return 'none';
  const size = Math.abs(value);
  if (size !== 0 && (size < 1e-4 || size >= 1e7)) return value.toExponential(Math.max(0, digits - 1));
  const text = value.toFixed(decimalsFor(value, digits));
  return /^-0(\.0*)?$/.test(text) ? text.slice(1) : text;
}

export function signed(value, digits = 3) {
  const text = formatted(value, digits);
  return value > 0 && !text.startsWith('-') ? '+' + text : text;
}

/// Digits without zeros that say nothing: for ticks and fields.
export function plainNumber(value, digits = 6) {
  if (value === 0 || !Number.isFinite(value)) return '0';
  const size = Math.abs(value);
  return size < 1e-4 || size >= 1e7 ? value.toExponential(Math.min(2, digits - 1)) : String(Number(value.toPrecision(digits)));
}

/// Share of a whole in per cent; small shares keep a digit.
export function percent(part, whole) {
  const share = 100 * part / whole;
  return (share >= 0.05 || share === 0 ? share.toFixed(1) : '< 0.1') + '\u202f%';
}

const steps = [1, 2, 2.5, 5, 10];

function niceStep(rough, choices = steps) {
  const power = Math.pow(10, Math.floor(Math.log10(rough)));
  for (const step of choices) if (step * power >= rough * (1 - 1e-9)) return step * power;
  return 10 * power;
}

/// A range of round numbers around [low, high] with about `ticks` steps.
export function niceRange(low, high, ticks = 4) {
  const nothing = 1e-6 * Math.max(Math.abs(low), Math.abs(high));  // less than that is what a solver leaves
  if (!(high - low > nothing)) {
    const around = Math.abs(low) > 0 ? Math.abs(low) * 0.02 : 1;
    low -= around;
    high += around;
  }
  const step = niceStep((high - low) / ticks);
  return {min: Math.floor(low / step + 1e-9) * step, max: Math.ceil(high / step - 1e-9) * step, interval: step};
}

/// No more than the values and a little air, with ticks at round numbers; a range that begins at nothing keeps it.
export function tightRange(low, high, ticks = 4) {
  const {min, max, interval} = niceRange(low, high, ticks);
  const air = 0.06 * (high - low);
  const range = {min: Math.max(min, low - air), max: Math.min(max, high + air), interval};
  return high - low > 0.2 * interval ? range : {min, max, interval};
}

/// Seconds as s, min, h or days, and steps that divide days and hours well.
export function timeScale(span_s) {
  if (span_s <= 240) return {factor: 1, unit: 's', choices: [1, 2, 5, 10]};
  if (span_s <= 3 * 3600) return {factor: 60, unit: 'min', choices: [1, 1.5, 2, 3, 6, 10]};
  if (span_s <= 4 * 86400) return {factor: 3600, unit: 'h', choices: [1, 2, 3, 4, 6, 10]};
  return {factor: 86400, unit: 'days', choices: [1, 2, 3, 5, 10]};
}

export function timeInterval(span, choices, ticks) {
  const rough = span / ticks;
  if (choices.includes(4) && rough > 6) return rough <= 12 ? 12 : 24 * Math.ceil(rough / 24);
  return niceStep(rough, choices);
}

/// Places of ticks inside [from, to]: multiples of a step, or round numbers of a logarithmic axis.
export function ticksOf(from, to, step) {
  const ticks = [];
  for (let i = Math.ceil(from / step - 1e-9); i * step <= to + 1e-9 * step; ++i) ticks.push(i * step);
  return ticks;
}

export function logarithmicTicks(from, to, most) {
  for (const steps of [[1, 1.5, 2, 3, 4, 5, 6, 7, 8, 9], [1, 2, 3, 5], [1, 2, 5], [1, 3], [1]]) {
    const ticks = [];
    for (let power = Math.floor(Math.log10(from)); power <= Math.ceil(Math.log10(to)); ++power) {
      for (const step of steps) {
        const tick = step * 10 ** power;
        if (tick >= from * (1 - 1e-9) && tick <= to * (1 + 1e-9)) ticks.push(tick);
      }
    }
    if (ticks.length <= most) return ticks;
  }
  return [from, to];
}

/// Puts labels at their wanted heights, `gap` apart, between `top` and `bottom`; those that do not fit are left out.
export function spread(labels, gap, top, bottom) {
  const kept = [...labels].sort((a, b) => b.weight - a.weight).slice(0, Math.max(1, Math.floor((bottom - top) / gap)));
  kept.sort((a, b) => a.wanted - b.wanted);
  let floor = top;
  for (const label of kept) {
    label.y = Math.max(label.wanted, floor);
    floor = label.y + gap;
  }
  let ceiling = bottom;
  for (const label of [...kept].reverse()) {
    label.y = Math.min(label.y, ceiling);
    ceiling = label.y - gap;
  }
  return kept;
}
