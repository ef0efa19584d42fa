// Numbers as the page carries them: abscissas as doubles, values as 24-bit steps of their range, both in base64.

const none = 0xffffff;

function bytesOf(text) {
  const binary = atob(text);
  const bytes = new Uint8Array(binary.length);
  for (let i = 0; i < binary.length; ++i) bytes[i] = binary.charCodeAt(i);
  return bytes;
}

export function doublesOf(text) {
  const bytes = bytesOf(text);
  const view = new DataView(bytes.buffer);
  const values = new Float64Array(bytes.length / 8);
  for (let i = 0; i < values.length; ++i) values[i] = view.getFloat64(8 * i, true);
  return values;
}

export function stepsOf({low, step, steps}) {
  const bytes = bytesOf(steps);
  const values = new Float64Array(bytes.length / 3);
  for (let i = 0; i < values.length; ++i) {
    const count = bytes[3 * i] | (bytes[3 * i + 1] << 8) | (bytes[3 * i + 2] << 16);
    values[i] = count === none ? NaN : low + step * count;
  }
  return values;
}

/// The chart with plain arrays of numbers in the place of packed ones.
export function unpacked(chart) {
  if (chart.kind === 'lines') {
    const at = doublesOf(chart.marks.at);
    return {
      ...chart,
      x: doublesOf(chart.x),
      lines: chart.lines.map((line) => ({...line, values: stepsOf(line.values)})),
      marks: chart.marks.which.map((which, i) => ({
        at: at[i], name: chart.marks.names[which[0]], kind: chart.marks.kinds[which[1]]})),
    };
  }
  if (chart.kind === 'heat') return {...chart, values: stepsOf(chart.values)};
  return chart;
}
