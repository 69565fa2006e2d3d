// The drawing of a frame: the tower as it stands, cranes and hoists where they are, trucks, and the day's wind.

import { letterScale, svg, textWidth } from "./elements.js";
import { plain } from "./words.js";

const HOURS = 24;

/** Places of the tower in the drawing. */
function placesOf({ tower, units }, width) {
  const scale = letterScale();
  const size = 11.5 * scale;
  const row = Math.min(Math.max((500 * scale) / tower.levels.length, 8 * scale), 26 * scale);
  const left = textWidth(`L${tower.levels.at(-1)}`, size) + 10;
  const hoists = [...units.keys()].filter((name) => /hoist/.test(name));
  const cells = Math.min(width - left - (hoists.length + 1) * 26 * scale - 8, 420 * scale);
  const top = size * 2.6;
  const y = (floor) => top + (tower.levels.length - 1 - floor) * row;
  const floorOf = new Map(tower.levels.map((level, floor) => [level, floor]));
  return { scale, size, row, left, cells, hoists, top, y, floorOf, ground: top + tower.levels.length * row,
    wide: cells / tower.zones.length, width };
}

/** The tower at a minute. */
export function drawStage(trial, frame, width) {
  const places = placesOf(trial, width);
  const high = places.ground + places.size * 3.2;
  return svg("svg", { width, height: high, viewBox: `0 0 ${width} ${high}`, role: "img", "aria-label": "The tower at this moment; the words beside it say the same.", class: "letters stage" },
    names(trial, places), frame.fronts.flatMap((front) => cell(front, frame, places)),
    svg("path", { d: `M0 ${places.ground}H${width}`, class: "ground" }),
    cranes(trial, frame, places), cars(frame, places), trucks(frame, places));
}

function names({ tower }, { y, row, left, size, wide, top }) {
  const every = Math.ceil((size * 1.05) / row);
  const levels = tower.levels.filter((_, floor) => floor % every === 0).map((level) =>
    svg("text", { x: left - 5, y: y(tower.levels.indexOf(level)) + row / 2 + size * 0.36, class: "end quiet" }, `L${level}`));
  const zones = tower.zones.map((zone, k) => svg("text", { x: left + (k + 0.5) * wide, y: top - size * 1.5, class: "middle quiet" }, zone));
  return [...levels, ...zones];
}

/** A work area: open, handed over, ready for panels, panels so far, closed in, and a strip for what follows inside. */
function cell(front, frame, { left, wide, y, row, floorOf }) {
  const floor = floorOf.get(front.level);
  const box = { x: left + frame.zones.indexOf(front.zone) * wide + 1, y: y(floor) + 1, width: wide - 2, height: row - 2 };
  const handed = frame.handedOver.has(front.level);
  const state = !handed ? "future" : front.before ? "bracketed" : "bare";
  const parts = [svg("rect", { ...box, class: `area ${state}` })];
  if (front.set) {
    const filled = (box.width * front.set) / front.panels;
    parts.push(svg("rect", { ...box, width: filled, class: `glass ${frame.closedIn.has(front.level) ? "closed" : ""}` }));
    parts.push(svg("path", { d: joints(box, front), class: "joint" }));
  }
  if (front.behind) parts.push(svg("rect", { x: box.x, y: box.y + box.height - Math.max(box.height * 0.2, 2), width: box.width * front.behind, height: Math.max(box.height * 0.2, 2), class: "inside" }));
  return parts;
}

/** Joints between the panels that are set. */
function joints({ x, y, width, height }, { set, panels }) {
  if (width / panels < 3) return "M0 0";
  let path = "M0 0";
  for (let k = 1; k <= set && k < panels; k += 1) path += `M${(x + (width * k) / panels).toFixed(1)} ${y.toFixed(1)}v${height.toFixed(1)}`;
  return path;
}

/** Floor cranes stand on the level above the work area they serve; hoists and others are drawn elsewhere. */
function cranes({ tower }, frame, { left, wide, y, row, floorOf, hoists, size }) {
  const there = new Map();
  return frame.units.filter(({ name }) => !hoists.includes(name)).flatMap((unit) => {
    const step = unit.step ?? unit.last;
    if (!step || !floorOf.has(step.level) || !tower.zones.includes(step.zone)) return [];
    const key = `${step.level} ${step.zone}`;
    const beside = there.get(key) ?? 0;
    there.set(key, beside + 1);
    const x = left + (tower.zones.indexOf(step.zone) + 0.5) * wide + beside * size * 1.6;
    const foot = y(floorOf.get(step.level)) + 1;
    const state = unit.step ? "busy" : "idle";
    return [
      svg("path", { d: `M${x - 6} ${foot}L${x} ${foot - Math.max(row * 0.8, 11)}L${x + 6} ${foot}Z`, class: `unit ${state}` }),
      svg("text", { x: x + 8, y: foot - 2, class: "start strong halo" }, numberOf(unit.name)),
    ];
  });
}

const numberOf = (name) => name.match(/\d+$/)?.[0] ?? "";

/** Hoists: a mast each beside the tower, its car on the level of its trip. */
function cars(frame, { left, cells, scale, hoists, top, ground, y, row, floorOf, size }) {
  return hoists.flatMap((name, k) => {
    const unit = frame.units.find((one) => one.name === name);
    const x = left + cells + (k + 0.7) * 26 * scale;
    const step = unit.step ?? unit.last;
    const floor = floorOf.get(step?.level);
    const at = unit.step && floor !== undefined ? y(floor) + row / 2 : ground - size * 0.7;
    return [
      svg("path", { d: `M${x} ${top}V${ground}`, class: "mast" }),
      svg("rect", { x: x - 7, y: at - size * 0.6, width: 14, height: size * 1.2, class: `unit ${unit.step ? "busy" : "idle"}` }),
      svg("text", { x, y: ground + size * 1.3, class: "middle" }, `H${numberOf(name)}`),
    ];
  });
}

function trucks(frame, { left, ground, size }) {
  const { waiting, unloading } = frame.trucks;
  const parts = Array.from({ length: Math.min(waiting + unloading, 12) }, (_, k) =>
    svg("rect", { x: left + k * size * 2, y: ground + 4, width: size * 1.7, height: size * 0.9, class: `truck ${k < unloading ? "busy" : "idle"}` }));
  const text = waiting + unloading ? `${waiting + unloading} in the yard` : "yard empty";
  return [...parts, svg("text", { x: left, y: ground + size * 2.4, class: "quiet" }, text)];
}

/** Gusts of the day hour by hour, with every limit as a line. */
export function drawWind(trial, frame, width) {
  const scale = letterScale();
  const size = 11.5 * scale;
  const limits = [...(trial.told.limits ?? [])].sort((a, b) => a.ms - b.ms);
  const right = Math.max(0, ...limits.map((limit) => textWidth(limitText(limit), size))) + 12;
  const high = 128 * scale;
  const most = Math.max(16, ...limits.map((limit) => limit.ms)) * 1.1;
  const hour = (width - right - 4) / HOURS;
  const y = (speed) => high - size * 1.6 - (Math.min(speed, most) / most) * (high - size * 2.4);
  const bars = Array.from({ length: HOURS }, (_, k) => {
    const gust = trial.gust(frame.day * 1440 + k * 60);
    const state = k === frame.hour ? "now" : "";
    return gust === null ? null : svg("rect", { x: k * hour + 1, y: y(gust), width: Math.max(hour - 2, 1), height: Math.max(y(0) - y(gust), 0), class: `gust ${state}` });
  });
  const marks = [0, 6, 12, 18].map((k) => svg("text", { x: k * hour, y: high - 3, class: "quiet" }, `${String(k).padStart(2, "0")}:00`));
  return svg("svg", { width, height: high, viewBox: `0 0 ${width} ${high}`, role: "img", class: "letters wind", "aria-label": "Gusts of this day hour by hour against each limit." },
    bars, marks, limitLines(limits, y, width - right, size));
}

const limitText = ({ name, ms }) => `${plain(name)} ${ms}`;

/** Lines of the limits; their names are pushed apart where they would run into each other, and stay inside. */
function limitLines(limits, y, width, size) {
  const names = [];
  for (const { ms } of limits) names.push(Math.min(y(ms) + size * 0.36, (names.at(-1) ?? Infinity) - size * 1.15));
  const down = Math.max(0, size - Math.min(...names));
  return limits.flatMap((limit, k) => {
    const at = y(limit.ms);
    const beside = names[k] + down;
    return [svg("path", { d: `M0 ${at}H${width}l6 ${beside - size * 0.36 - at}`, class: "limit" }),
      svg("text", { x: width + 9, y: beside }, limitText(limit))];
  });
}
