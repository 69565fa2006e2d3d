// The finish of every trial, the file's and now, with contract dates; above everything else on the date axis.

import { svg, textWidth } from "./elements.js";
import { dateText, dayNumber, plain } from "./words.js";

/** Marks from `top` down: {parts, top, bottom, rows: y of now, for what is said beside it}. */
export function finishes(tower, answer, layout, top) {
  const contracts = contractLines(tower, layout, top);
  const file = contracts.bottom + layout.size * 0.6;
  const tall = layout.size * 1.15;
  const now = file + tall + layout.size * 0.55;
  const bottom = now + tall + layout.size * 1.3;
  const parts = [
    ...contracts.parts(bottom),
    ...strip(layout, answer.ticks?.file, { y: file, tall, kind: "file" }), name(layout, file, tall, "finish, the file"),
    ...strip(layout, answer.ticks?.now, { y: now, tall, kind: "now" }), name(layout, now, tall, "finish, now"),
    ...confidence(layout, answer.finish, now, tall),
  ];
  return { parts, top, bottom, now: now + tall / 2 };
}

const name = ({ dates, size, narrow }, y, tall, text) =>
  svg("text", { x: dates.x - (narrow ? 0 : 8), y: y + tall / 2 + size * 0.36, class: `${narrow ? "start" : "end"} quiet halo` }, text);

/** A thin line a trial; trials beyond the horizon stand at the end of the axis. */
function strip({ x }, ticks, { y, tall, kind }) {
  const path = (ticks ?? []).map((iso) => `M${x.iso(iso).toFixed(1)} ${y.toFixed(1)}v${tall.toFixed(1)}`).join("");
  return path ? [svg("path", { d: path, class: `tick ${kind}` })] : [];
}

/** P50 and P80 below the trials of now. */
function confidence({ x, size }, finish, y, tall) {
  return [["p50", "end", -3], ["p80", "start", 3]].flatMap(([which, anchor, beside]) => {
    if (!finish[which].date) return [];
    const at = x.iso(finish[which].date);
    return [
      svg("path", { d: `M${at} ${y - 3}v${tall + size * 1.25}`, class: "percentile" }),
      svg("text", { x: at + beside, y: y + tall + size * 1.05, class: `${anchor} strong halo` }, which.toUpperCase()),
    ];
  });
}

/** Contract dates of the finish: a dashed line each, named above the trials, a line of letters each. */
function contractLines(tower, { x, size, dates }, top) {
  const due = (tower.contract ?? []).filter((contract) => contract.level === null);
  const parts = (bottom) => due.flatMap((contract, k) => {
    const at = x.iso(contract.date);
    const text = `${plain(contract.name)} ${dateText(contract.date)}`;
    const y = top + k * size * 1.2;
    if (dayNumber(contract.date) > x.to)
      return [svg("text", { x: dates.x + dates.width, y, class: "end halo" }, `${text} →`)];
    const right = at + textWidth(text, size) + 6 <= dates.x + dates.width + 40;
    return [
      svg("path", { d: `M${at} ${y - size * 0.7}V${bottom}`, class: "contract" }),
      svg("text", { x: at + (right ? 4 : -4), y, class: `${right ? "start" : "end"} halo` }, text),
    ];
  });
  return { parts, bottom: top + due.length * size * 1.2 - size * 0.6 };
}
