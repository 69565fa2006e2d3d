// The tower's picture: elevation, closing-in, lines of trades and days moved in the same rows, one a level;
// above them, on the same dates, the finish of every trial and what happens once.

import { svg } from "./elements.js";
import { closingIn, tradeLines } from "./by_level.js";
import { elevation } from "./elevation.js";
import { finishes } from "./finishes.js";
import { layoutOf, monthMarks } from "./layout.js";
import { daysMoved, moves } from "./moved.js";
import { onceOnly } from "./once.js";

/** Draw the picture into a place as wide as it is; `onLevel` is told which level is chosen with the pointer. */
export function drawTower(place, { tower, answer, level, colour, high, onLevel }) {
  const layout = layoutOf(tower, answer, Math.max(place.clientWidth, 300), high);
  const above = finishes(tower, answer, layout, layout.size * 1.6);
  const once = onceOnly(tower, answer, layout, above.bottom + layout.size * 0.9);
  const axis = once.bottom + layout.size * (layout.narrow ? 2.2 : 1.2);
  const top = axis + layout.size * 2.5;
  const rows = { top, bottom: top + layout.row * tower.levels.length,
    y: (floor) => top + (tower.levels.length - 1 - floor) * layout.row };
  const picture = svg("svg", {
    width: layout.width, height: rows.bottom + layout.size * 2.6, viewBox: `0 0 ${layout.width} ${rows.bottom + layout.size * 2.6}`,
    role: "img", "aria-label": saidOf(answer), class: "letters tower",
  },
  bands(tower, layout, rows, level), grid(layout, above.top, axis, rows), headings(tower, answer, layout, rows),
  elevation(tower, answer, layout, rows, colour), closingIn(tower, answer, layout, rows), tradeLines(tower, answer, layout, rows),
  above.parts, once.parts, daysMoved(tower, answer, layout, rows, above), hits(tower, layout, rows, onLevel));
  place.replaceChildren(picture);
}

const saidOf = (answer) =>
  `${answer.headline} The tower level by level: when panels are set, when levels are closed in, `
  + "how trades go up it, and how many days each level has moved. The tables below say the same.";

/** A pale band behind every second run of levels, a stronger one behind the level chosen. */
function bands(tower, { width, row }, rows, level) {
  const floor = tower.levels.indexOf(level);
  const parts = [];
  for (let k = 0; k < tower.levels.length; k += 10)
    parts.push(svg("path", { d: `M0 ${rows.y(k) + row}H${width}`, class: "rule" }));
  if (floor >= 0) parts.push(svg("rect", { x: 0, y: rows.y(floor), width, height: row, class: "chosen" }));
  return parts;
}

/** Lines of months through everything on the date axis, named twice: above the rows and below them. */
function grid(layout, top, axis, rows) {
  const { x, size } = layout;
  const parts = [];
  let year = null;
  for (const mark of monthMarks(layout)) {
    const at = x.at(mark.day);
    parts.push(svg("path", { d: `M${at} ${top}V${rows.bottom}`, class: "month" }));
    for (const y of [axis, rows.bottom + size * 1.1]) {
      parts.push(svg("text", { x: at, y, class: "middle quiet" }, mark.month));
      if (mark.year !== year) parts.push(svg("text", { x: at, y: y + size * 1.1, class: "middle quiet year" }, String(mark.year)));
    }
    year = mark.year;
  }
  return parts;
}

function headings(tower, answer, layout, rows) {
  const { size, elevation: where, numbered, row, narrow } = layout;
  const parts = [];
  const wide = where.width / tower.zones.length;
  tower.zones.forEach((zone, k) => {
    const middle = where.x + (k + 0.5) * wide;
    const most = Math.max(1, Math.floor(wide / (size * 0.58)));
    parts.push(svg("text", { x: middle, y: rows.top - 5, class: "middle quiet" }, zone.length > most ? zone.slice(0, most) : zone));
  });
  tower.levels.forEach((level, floor) => {
    if (floor % numbered && floor !== tower.levels.length - 1) return;
    if (floor !== tower.levels.length - 1 && tower.levels.length - 1 - floor < numbered) return;
    parts.push(svg("text", { x: where.x - 5, y: rows.y(floor) + row / 2 + size * 0.36, class: "end quiet" }, `L${level}`));
  });
  if (!narrow && answer.mean_days !== null && moves(answer)) parts.push(svg("text", { x: layout.moved.x + layout.moved.width, y: rows.top - 5, class: "end quiet" }, `${tower.milestone ?? "closing-in"}, days moved`));
  return parts;
}

/** Clear boxes over the rows that a pointer can choose; the keyboard has the list of levels. */
function hits(tower, { width, row }, rows, onLevel) {
  return tower.levels.map((level, floor) => svg("rect", {
    x: 0, y: rows.y(floor), width, height: row, class: "hit", onclick: () => onLevel(level),
  }, svg("title", {}, `level ${level}`)));
}
