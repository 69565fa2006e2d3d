// Days that each level's closing-in and the finish have moved against the file, with their intervals.

import { svg } from "./elements.js";
import { direction, signed } from "./words.js";

const SIGNS = { later: "▶", earlier: "◀", even: "" };

/** Whether anything has moved at all. */
export const moves = ({ mean_days: mean, levels }) =>
  [mean, ...levels.map((one) => one.days)].some((days) => days && (days.value || days.low || days.high));

/** One mark a level on an axis of days around zero, and the number where there is room for it. */
export function daysMoved(tower, answer, layout, rows, above) {
  const { moved, row, size, narrow, numbered } = layout;
  if (!moves(answer)) return [];
  const known = answer.levels.filter((one) => one.days);
  const finish = finishMoved(answer.mean_days, layout, above.now);
  if (!known.length) return finish;
  const text = size * 4.4;
  const scale = zeroScale(known, { x: moved.x, width: narrow ? 0 : moved.width - text });
  const parts = narrow ? [] : [svg("path", { d: `M${scale.at(0)} ${rows.top}V${rows.bottom}`, class: "zero" })];
  for (const { level, days } of known) {
    const floor = tower.levels.indexOf(level);
    const y = rows.y(floor) + row / 2;
    if (!narrow) parts.push(...mark(scale, days, y, row));
    const last = floor === tower.levels.length - 1;
    if (last || (floor % numbered === 0 && tower.levels.length - 1 - floor >= numbered))
      parts.push(number(days, moved.x + moved.width, y, size));
  }
  return [...parts, ...finish];
}

function number(days, x, y, size) {
  const way = direction(days);
  return svg("text", { x, y: y + size * 0.36, class: `end ${way}` }, `${SIGNS[way]} ${signed(days.value)}`.trim());
}

function finishMoved(days, { moved, size, narrow }, y) {
  if (!days) return [];
  const x = moved.x + moved.width;
  const below = narrow ? [] : [svg("text", { x, y: y + size * 1.5, class: "end quiet" }, "finish, days moved")];
  return [number(days, x, y, size), ...below];
}

function zeroScale(known, { x, width }) {
  const low = Math.min(0, ...known.map(({ days }) => days.low ?? days.value));
  const high = Math.max(0, ...known.map(({ days }) => days.high ?? days.value));
  const span = Math.max(high - low, 1);
  return { at: (days) => x + 4 + ((days - low) / span) * Math.max(width - 8, 0) };
}

function mark({ at }, { value, low, high }, y, row) {
  const way = direction({ value, low, high });
  const parts = [svg("circle", { cx: at(value), cy: y, r: Math.min(row * 0.2, 3.2), class: `moved ${way}` })];
  if (low !== null && low !== undefined) parts.push(svg("path", { d: `M${at(low)} ${y}H${at(high)}`, class: `moved ${way}` }));
  return parts;
}
