// What a chart of a story says, as an option of the drawing library. Pure functions: the same in a browser and outside.
import {flow} from './flow.js';
import {lines} from './lines.js';
import {margins, rank} from './bars.js';
import {heat} from './heat.js';

const makers = {flow, lines, margins, rank, heat};

/// `chart`: unpacked. `view`: {width, palette}, and `tallest` where a page ends. `state`: what a reader chose, for lines.
/// Gives {option, height, tip}, and `width` where a chart needs more than was asked for; for lines also `plot`, where the panels are; for flows `after`, an option to be set when the first
/// has been drawn. `tip` turns what a pointer rests on into rows of name and value.
export function drawn(chart, view, state) {
  const made = makers[chart.kind](chart, view, state);
  made.option.animation = false;
  made.option.textStyle = {fontFamily: view.palette.font, color: view.palette.ink};
  return made;
}
