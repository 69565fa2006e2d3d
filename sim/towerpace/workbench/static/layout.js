// Where everything stands in the tower's picture: rows are levels, columns are where, when and how much moved.

import { letterScale, textWidth } from "./elements.js";
import { dayNumber, months } from "./words.js";

const NARROW_PX = 620;
const MONTH_STEPS = [1, 2, 3, 4, 6, 12];

/** Places of rows and columns for a width in pixels; all lengths grow with the reader's letters. */
export function layoutOf(tower, answer, width, height) {
  const scale = letterScale();
  const narrow = width < NARROW_PX * scale;
  const size = 11.5 * scale;
  const gap = narrow ? 8 : 18 * scale;
  const levelNames = textWidth(`L${tower.levels.at(-1)}`, size) + 8;
  const zones = Math.min(Math.max(tower.zones.length * (narrow ? 18 : 44) * scale, narrow ? 60 : 120), narrow ? width * 0.24 : width * 0.24);
  const moved = (narrow ? 46 : 128) * scale;
  const elevation = { x: levelNames, width: zones };
  const dates = { x: elevation.x + zones + gap, width: width - levelNames - zones - 2 * gap - moved };
  const row = Math.min(Math.max(height / tower.levels.length, 8 * scale), 30 * scale);
  return {
    width, narrow, size, scale, row, elevation, dates,
    moved: { x: width - moved, width: moved },
    x: dateScale(tower, answer, dates),
    numbered: Math.ceil((size * 1.05) / row),
  };
}

/** Places of days along the axis; days beyond it stand at its end. */
function dateScale(tower, answer, { x, width }) {
  const latest = [...(answer.ticks?.now ?? []), ...(answer.ticks?.file ?? [])].filter(Boolean).map(dayNumber);
  const span = answer.span ?? tower.span;
  const from = dayNumber(span.from);
  const to = Math.max(dayNumber(span.to), ...latest) + 5;
  const at = (day) => x + (Math.min(Math.max((day - from) / (to - from), 0), 1)) * width;
  return { from, to, at, iso: (iso) => (iso ? at(dayNumber(iso)) : x + width) };
}

/** Months to mark, as many as have room beside each other. */
export function monthMarks({ x, dates, size }) {
  const room = textWidth("Mmm 2028", size) * 0.75;
  const perMonth = (dates.width * 30.4) / (x.to - x.from);
  const every = MONTH_STEPS.find((step) => step * perMonth >= room) ?? 12;
  return months(x.from, x.to, every);
}
