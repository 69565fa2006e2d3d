// What the marks of the picture mean, each with the mark itself.

import { byId, html, svg } from "./elements.js";
import { daysOf } from "./elevation.js";
import { causeOf, hatched, STEPS } from "./marks.js";
import { moves } from "./moved.js";
import { dateText, isoOf } from "./words.js";

const item = (mark, text) => html("li", {}, mark, html("span", {}, text));
const drawing = (width, ...parts) => svg("svg", { width, height: 14, "aria-hidden": "true", class: "letters" }, parts);

/** Name every mark that the picture shows at the moment. */
export function showLegend(tower, answer, colour) {
  byId("legend").replaceChildren(
    ...(colour === "cause" ? causes(tower, answer) : dates(answer)),
    item(drawing(30, svg("path", { d: "M2 7H28", class: "range file", "stroke-width": 4 })), `${tower.milestone ?? "closing-in"} P50 to P80, the file`),
    item(drawing(30, svg("path", { d: "M4 7H28", class: "range now", "stroke-width": 4 }), svg("circle", { cx: 5, cy: 7, r: 4, class: "now dot" })), "the same now"),
    item(drawing(30, svg("path", { d: "M2 12L28 3", class: "trade dash0" })), "a trade going up, P50"),
    ...(tower.contract?.some((one) => one.level !== null)
      ? [item(drawing(16, svg("path", { d: "M2 7L8 1L14 7L8 13Z", class: "due" })), "contract date of a level")] : []),
    ...(moves(answer) ? directions() : []),
  );
}

const directions = () => ["later", "earlier", "even"].map((way) => {
  const sign = { later: "▶ +", earlier: "◀ −", even: "±" }[way];
  return item(html("span", { class: `sign ${way}`, "aria-hidden": "true" }, sign), { later: "later than the file", earlier: "earlier", even: "not known to have moved" }[way]);
});

function dates(answer) {
  const days = daysOf(answer.fronts);
  if (!days) return [];
  const steps = Array.from({ length: STEPS }, (_, k) => svg("rect", { x: k * 12, y: 1, width: 12, height: 12, class: `day d${k}` }));
  return [item(drawing(STEPS * 12, steps), `panels set ${dateText(isoOf(days.first))} to ${dateText(isoOf(days.last))}`)];
}

function causes(tower, answer) {
  const present = new Map();
  for (const { cause } of answer.fronts) if (cause) present.set(cause, causeOf(tower, cause));
  return [...present.values()].map(({ letter, label }) => {
    const box = { x: 1, y: 1, width: 20, height: 12 };
    return item(drawing(22, svg("rect", { ...box, class: `cause ${letter || "none"}` }), hatched(letter, box)),
      letter ? `${letter} ${label}` : label);
  });
}
