// Long series, cut to what a picture can show.

/// The first index whose value is not below x.
export function firstNotBelow(values, x) {
  let low = 0;
  let high = values.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (values[middle] < x) low = middle + 1;
    else high = middle;
  }
  return low;
}

/// Indices of the points in [from, to]: begin, and end behind the last.
export function windowed(x, from, to) {
  const begin = firstNotBelow(x, from);
  let end = firstNotBelow(x, to);
  while (end < x.length && x[end] === to) ++end;
  return {begin, end: Math.max(end, begin)};
}

/// The value at an index, or the last number before it.
export function valueAt(values, index) {
  for (let i = Math.min(index, values.length - 1); i >= 0; --i) if (Number.isFinite(values[i])) return values[i];
  return NaN;
}

/// How often values turn round by more than `least`.
export function turnsOf(values, {begin, end}, least) {
  let turns = 0;
  let way = 0;
  let low = Infinity;
  let high = -Infinity;
  for (let i = begin; i < end; ++i) {
    const value = values[i];
    if (!Number.isFinite(value)) continue;
    low = Math.min(low, value);
    high = Math.max(high, value);
    if (way >= 0 && high - value > least) {
      turns += way;
      way = -1;
      low = value;
    } else if (way <= 0 && value - low > least) {
      turns -= way;
      way = 1;
      high = value;
    }
  }
  return turns;
}

/// The lowest and the highest value around each of rising places: within `reach` places before and behind it.
export function envelopeOf(x, values, places, reach) {
  const low = [];
  const high = [];
  const edge = (k) => places[Math.min(Math.max(k, 0), places.length - 1)];
  places.forEach((place, k) => {
    let least = Infinity;
    let most = -Infinity;
    const to = edge(k + reach);
    for (let i = firstNotBelow(x, edge(k - reach)); i < x.length && x[i] <= to; ++i) {
      if (values[i] < least) least = values[i];
      if (values[i] > most) most = values[i];
    }
    if (most < least) return;
    low.push([place, least]);
    high.push([place, most]);
  });
  return {low, high};
}

/// Points of a window and one beyond each end. Where there are more than the picture has room for, each piece keeps its first
/// and last, lowest and highest point: no peak is lost.
export function thinned(x, values, {begin, end}, room, onAxis) {
  const from = Math.max(0, begin - 1);
  const to = Math.min(x.length, end + 1);
  const point = (i) => [onAxis(x[i]), Number.isFinite(values[i]) ? values[i] : '-'];
  const points = [];
  if (to - from <= room) {
    for (let i = from; i < to; ++i) points.push(point(i));
    return points;
  }
  const piece = (to - from) / (room / 4);
  for (let left = from; left < to;) {
    const right = Math.min(to, Math.max(left + 1, Math.round(from + piece * (Math.floor((left - from) / piece + 1e-9) + 1))));
    let low = left;
    let high = left;
    let gap = -1;
    for (let i = left; i < right; ++i) {
      if (!Number.isFinite(values[i])) gap = i;
      if (values[i] < values[low] || !Number.isFinite(values[low])) low = i;
      if (values[i] > values[high] || !Number.isFinite(values[high])) high = i;
    }
    const kept = new Set([left, low, high, right - 1]);
    if (gap >= 0) kept.add(gap);
    for (const i of [...kept].sort((a, b) => a - b)) points.push(point(i));
    left = right;
  }
  return points;
}
