// What a frame of a played trial says in words.

import { causeOf } from "./marks.js";
import { counted, dayNumber, grouped, isoOf, plain, weekdayText } from "./words.js";

const clock = (minute) => `${String(Math.floor((minute % 1440) / 60)).padStart(2, "0")}:${String(minute % 60).padStart(2, "0")}`;

/** "Tue 4 May 2027, 10:00". */
export const momentText = (trial, minute) =>
  `${weekdayText(isoOf(dayNumber(trial.told.day0) + Math.floor(minute / 1440)))}, ${clock(minute)}`;

/** The frame in one sentence after another. */
export function frameText(trial, frame) {
  const gust = trial.gust(frame.minute);
  const { waiting, unloading } = frame.trucks;
  const trucks = waiting + unloading ? `${counted(waiting + unloading, "truck")} on site, ${unloading} unloading.` : "No truck on site.";
  const wind = gust === null ? "" : `Gusts ${gust.toFixed(1)} m/s${stoppedText(trial, gust)}.`;
  return [`${momentText(trial, frame.minute)}.`, `${grouped(frame.set)} of ${grouped(frame.panels)} panels set.`,
    `${counted(frame.closedIn.size, "level")} closed in.`, trucks, wind].filter(Boolean).join(" ");
}

function stoppedText(trial, gust) {
  const over = (trial.told.limits ?? []).filter((limit) => gust > limit.ms).map((limit) => plain(limit.name));
  return over.length ? `, above the limit of ${over.join(", ")}` : ", below every limit";
}

const placeText = ({ level, zone }) => (level === null || level === undefined ? "" : ` L${level}${zone ? ` ${zone}` : ""}`);

/** One line a unit: what it does, or why it stands still. */
export function unitText(trial, { name, step, next, last }, minute) {
  if (step) return `${plain(name)}: ${plain(step.kind)}${placeText(step)}, until ${untilText(step.end, minute)}`;
  if (!next) return `${plain(name)}: ${last ? "has nothing more to do" : "is not used in this trial"}`;
  return `${plain(name)}: stands still; ${nextText(trial, next, minute)}`;
}

/** What comes next and when, and what holds it until then. */
function nextText({ tower, told }, next, minute) {
  const wanted = `${plain(next.kind)}${placeText(next)}`;
  const day = Math.floor(next.start / 1440);
  const begins = day === Math.floor(minute / 1440) ? clock(next.start) : `${clock(next.start)} on ${weekdayText(isoOf(dayNumber(told.day0) + day))}`;
  if (next.ready !== null && next.ready > minute) return `nothing is ready for it, next ${wanted} at ${begins}`;
  return next.cause ? `${wanted} at ${begins}, held by ${causeOf(tower, next.cause).label}` : `${wanted} at ${begins}`;
}

const untilText = (end, now) => (end - now < 1440 ? clock(end) : `${Math.round((end - now) / 1440)} days on`);

/** One line a trade: which work areas it has in hand. */
export function tradeTexts({ tower }, { working }) {
  return tower.trades.flatMap(({ name, label }) => {
    const places = new Set(working.filter((step) => step.trade === name && step.kind !== "curing").map(placeText));
    return places.size ? [`${label ?? plain(name)}: in hand on${[...places].slice(0, 4).join(",")}${places.size > 4 ? " and more" : ""}`] : [];
  });
}
