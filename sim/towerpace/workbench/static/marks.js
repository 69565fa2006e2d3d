// Marks that mean the same everywhere: colours of dates, causes with their letter and hatch.

import { svg } from "./elements.js";
import { plain } from "./words.js";

export const STEPS = 10;
const HATCHES = { W: "up", H: "down", C: "flat", G: "cross", P: "dots", S: "tall", R: "grid", E: "cross" };

/** Which of the ten colours a day has between the first and the last. */
export function stepOf(day, first, last) {
  if (last <= first) return 0;
  return Math.min(STEPS - 1, Math.max(0, Math.floor((STEPS * (day - first)) / (last - first))));
}

/** What is known of a cause: {letter, label}; an unknown one has no letter. */
export function causeOf(tower, name) {
  const known = tower.causes?.find((cause) => cause.name === name);
  return { letter: known?.letter ?? "", label: known?.label ?? plain(name) };
}

/** Lines over a box that tell its cause without colour. */
export function hatched(letter, box) {
  const kind = HATCHES[letter];
  if (!kind || box.width < 3) return [];
  if (kind === "dots") return [dots(box)];
  const path = kind === "cross" ? `${slanted(box, 1)}${slanted(box, -1)}` : { up: () => slanted(box, 1),
    down: () => slanted(box, -1), grid: () => flat(box) + tall(box), flat: () => flat(box), tall: () => tall(box) }[kind]();
  return [svg("path", { d: path, class: "hatch" })];
}

const SPACE = 6;
const cut = (number) => Math.round(number * 10) / 10;

/** Slanted lines, cut off at the box. */
function slanted({ x, y, width, height }, way) {
  let path = "";
  for (let start = -height; start < width; start += SPACE) {
    const from = Math.max(start, 0);
    const to = Math.min(start + height, width);
    if (to <= from) continue;
    const at = (along) => (way > 0 ? y + height - (along - start) : y + (along - start));
    path += `M${cut(x + from)} ${cut(at(from))}L${cut(x + to)} ${cut(at(to))}`;
  }
  return path;
}

function flat({ x, y, width, height }) {
  let path = "";
  for (let down = 4; down < height; down += 4) path += `M${cut(x)} ${cut(y + down)}h${cut(width)}`;
  return path;
}

function tall({ x, y, width, height }) {
  let path = "";
  for (let right = SPACE / 2; right < width; right += SPACE) path += `M${cut(x + right)} ${cut(y)}v${cut(height)}`;
  return path;
}

function dots({ x, y, width, height }) {
  let path = "";
  for (let right = SPACE / 2; right < width; right += SPACE)
    for (let down = 3; down < height; down += 5) path += `M${cut(x + right)} ${cut(y + down)}h0.1`;
  return svg("path", { d: path, class: "hatch dotted" });
}
