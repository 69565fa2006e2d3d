// The elevation: a cell for each level and zone, coloured by the day its panels are set or by what it waits for.

import { svg } from "./elements.js";
import { causeOf, hatched, stepOf } from "./marks.js";
import { dayNumber } from "./words.js";

/** First and last day on which panels of some cell are set; null where none are known. */
export function daysOf(fronts) {
  const days = fronts.map((front) => front.done).filter(Boolean).map(dayNumber);
  return days.length ? { first: Math.min(...days), last: Math.max(...days) } : null;
}

export function elevation(tower, answer, layout, rows, colour) {
  const { elevation: where, row, size } = layout;
  const wide = where.width / tower.zones.length;
  const days = daysOf(answer.fronts);
  const floorOf = new Map(tower.levels.map((level, floor) => [level, floor]));
  return answer.fronts.flatMap((front) => {
    const floor = floorOf.get(front.level);
    const zone = tower.zones.indexOf(front.zone);
    if (floor === undefined || zone < 0) return [];
    const box = { x: where.x + zone * wide + 1, y: rows.y(floor) + 0.75, width: wide - 2, height: row - 1.5 };
    return colour === "cause" ? byCause(tower, front, box, size) : [byDate(front, box, days)];
  });
}

function byDate(front, box, days) {
  const step = front.done && days ? `day d${stepOf(dayNumber(front.done), days.first, days.last)}` : "never";
  return svg("rect", { ...box, class: `cell ${step}` });
}

function byCause(tower, front, box, size) {
  const { letter } = front.cause ? causeOf(tower, front.cause) : { letter: "" };
  const parts = [svg("rect", { ...box, class: `cell cause ${letter || "none"}` }), ...hatched(letter, box)];
  if (letter && box.height > size * 0.95 && box.width > size)
    parts.push(svg("text", { x: box.x + box.width / 2, y: box.y + box.height / 2 + size * 0.36, class: "middle letter" }, letter));
  return parts;
}
