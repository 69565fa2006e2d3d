// On the date axis, a row a level: closing-in of the file and of now, and the lines of trades up the tower.

import { labelOf } from "./answer.js";
import { svg, textWidth } from "./elements.js";

/** Half to four in five of the trials have closed a level in: grey for the file, blue with a dot for now. */
export function closingIn(tower, answer, layout, rows) {
  const { x, row } = layout;
  const thick = Math.min(Math.max(row * 0.26, 2.5), 6);
  const due = new Map((tower.contract ?? []).filter((c) => c.level !== null).map((c) => [c.level, c.date]));
  return answer.levels.flatMap((one) => {
    const y = rows.y(tower.levels.indexOf(one.level)) + row / 2;
    const parts = [];
    if (one.file?.p50) parts.push(range(x, one.file, y - thick * 0.75, thick, "file"));
    if (one.now?.p50) {
      parts.push(range(x, one.now, y + thick * 0.55, thick, "now"));
      parts.push(svg("circle", { cx: x.iso(one.now.p50), cy: y + thick * 0.55, r: thick * 0.85, class: "now dot" }));
    }
    if (due.has(one.level)) parts.push(diamond(x.iso(due.get(one.level)), y, Math.min(row * 0.45, 7)));
    return parts;
  });
}

const range = (x, { p50, p80 }, y, thick, kind) =>
  svg("path", { d: `M${x.iso(p50)} ${y}H${Math.max(x.iso(p80), x.iso(p50) + 1.5)}`, class: `range ${kind}`, "stroke-width": thick });

const diamond = (x, y, half) =>
  svg("path", { d: `M${x - half} ${y}L${x} ${y - half}L${x + half} ${y}L${x} ${y + half}Z`, class: "due" });

/** A thin line a trade through the days on which half of the trials have done it, and its name beside it. */
export function tradeLines(tower, answer, layout, rows) {
  if (layout.narrow) return [];
  const lines = answer.trades.map((trade, k) => ({
    name: labelOf(tower.trades, trade.name), dash: k % 4,
    points: trade.p50.map((iso, floor) => (iso ? { x: layout.x.iso(iso), y: rows.y(floor) + layout.row / 2 } : null)).filter(Boolean),
  })).filter((line) => line.points.length > 1);
  const drawn = lines.map(({ points, dash }) => svg("path", {
    d: `M${points.map((point) => `${point.x.toFixed(1)} ${point.y.toFixed(1)}`).join("L")}`, class: `trade dash${dash}`,
  }));
  const edges = answer.levels.flatMap(({ level, file, now }) => {
    const y = rows.y(tower.levels.indexOf(level)) + layout.row / 2;
    return [file?.p50, file?.p80, now?.p50, now?.p80].filter(Boolean).map((iso) => ({ x: layout.x.iso(iso), y }));
  });
  return [...drawn, ...namesBeside(lines, { ...layout, edges })];
}

/** Names left of all lines for the trades that come first, right of everything for the others, at staggered heights. */
function namesBeside(lines, layout) {
  const early = Math.ceil(lines.length / 2);
  const order = lines.map((line) => ({ ...line, mean: line.points.reduce((sum, p) => sum + p.x, 0) / line.points.length }))
    .sort((a, b) => a.mean - b.mean);
  const left = order.slice(0, early).map((line, k) => beside(line, -1, (k + 0.6) / early, order, layout));
  const late = order.length - early;
  const right = order.slice(early).map((line, k) => beside(line, 1, (k + 0.5) / late, order, layout));
  return [...left, ...right].flatMap((name) => drawnName(name, layout));
}

/** A name on a row so far up its line, where it is clear of every line and of closing-in. */
function beside(line, side, share, lines, { size, row, edges }) {
  const point = line.points[Math.min(line.points.length - 1, Math.floor(share * line.points.length))];
  const near = (y) => Math.abs(y - point.y) < Math.max(row, size) * 1.1;
  const xs = [...lines.flatMap((one) => one.points), ...edges].filter((p) => near(p.y)).map((p) => p.x);
  return { line, side, point, x: side < 0 ? Math.min(...xs) - 16 : Math.max(...xs) + 16 };
}

/** The name, and a thin lead from it to its line; left out where the picture ends. */
function drawnName({ line, side, point, x }, { size, dates }) {
  const end = x + side * textWidth(line.name, size);
  if (end < dates.x || end > dates.x + dates.width) return [];
  return [
    svg("path", { d: `M${x - side * 3} ${point.y}H${point.x}`, class: "lead" }),
    svg("circle", { cx: point.x, cy: point.y, r: 2.2, class: "lead-end" }),
    svg("text", { x, y: point.y + size * 0.36, class: `trade-name halo ${side < 0 ? "end" : "start"}` }, line.name),
  ];
}
