// The answer in words and numbers: the sentence, what stands against the file, and the table of the finish.

import { byId, html, table } from "./elements.js";
import { dateText, movedText, plain, signed } from "./words.js";

const PERCENTILES = ["p10", "p50", "p80", "p90"];
const MEANS = {
  p10: "P10: one trial in ten", p50: "P50: half", p80: "P80: four in five", p90: "P90: nine in ten",
};

const lines = (element, texts) => element.replaceChildren(...(texts ?? []).map((text) => html("li", {}, text)));

/** Show an answer's sentence and lines; a sentence that stays is not told again. */
export function showAnswer(answer) {
  const said = byId("headline");
  if (said.textContent !== answer.headline) said.textContent = answer.headline;
  said.className = "known";
  lines(byId("banners"), answer.banners);
  lines(byId("against"), answer.lines);
  lines(byId("contracts"), (answer.contracts ?? []).map(contractText));
  byId("finish-table").querySelector(".scroll").replaceChildren(finishTable(answer));
  showFaults([]);
}

/** Show what is wrong with the changes; the answer that stands below is that of before. */
export function showFaults(faults) {
  lines(byId("faults"), faults);
  byId("answer").classList.toggle("faulty", faults.length > 0);
}

const share = (part) => (part > 0.99 && part < 1 ? "over 99 %" : part > 0 && part < 0.01 ? "under 1 %" : `${Math.round(100 * part)} %`);

/** "completion, 19 Sep 2028: met by 53 % of the trials, 81 % with the file". */
function contractText({ name, date, level, now, file }) {
  const what = level === null ? plain(name) : `${plain(name)} of level ${level}`;
  const before = now === file ? "" : `, ${share(file)} with the file`;
  return `${what}, ${dateText(date)}: met in ${share(now)} of the trials${before}.`;
}

function interval({ low, high, needs }) {
  if (low && high) return `${dateText(low)} to ${dateText(high)}`;
  return needs ? `needs ${needs} trials` : "no interval";
}

function finishTable(answer) {
  const rows = PERCENTILES.map((name) => {
    const now = answer.finish[name];
    const file = answer.file_finish?.[name];
    return [MEANS[name], now.needs && !now.date ? `needs ${now.needs} trials` : dateText(now.date), interval(now),
      file ? dateText(file.date) : ""];
  });
  const moved = answer.mean_days ? `Mean against the file: ${movedText(answer.mean_days)}. ` : "";
  const named = `${moved}Finish by confidence, ${answer.n} trials`;
  return table(named, ["of the trials finish by", "now", "95 % interval", "the file"], rows);
}

/** Tables of what the tower's picture shows. */
export function towerTables(tower, answer) {
  const levels = [...answer.levels].sort((a, b) => b.level - a.level);
  const closing = table(`${tower.milestone ?? "closing-in"} of each level`, ["level", "file P50", "file P80", "now P50", "now P80", "days moved"],
    levels.map(({ level, file, now, days }) => [`L${level}`, dateText(file?.p50), dateText(file?.p80), dateText(now.p50),
      dateText(now.p80), days ? `${signed(days.value)} (${signed(days.low ?? days.value)} to ${signed(days.high ?? days.value)})` : "not yet known"]));
  return [closing, frontsTable(tower, answer), tradesTable(tower, answer),
    table("What happens once, P50", ["activity", "begins", "is done"],
      answer.once.map(({ name, start, end }) => [labelOf(tower.once, name), dateText(start), dateText(end)]))];
}

function frontsTable(tower, answer) {
  const at = new Map(answer.fronts.map((front) => [`${front.level} ${front.zone}`, front]));
  const rows = [...tower.levels].reverse().map((level) => [`L${level}`, ...tower.zones.map((zone) => {
    const front = at.get(`${level} ${zone}`);
    if (!front) return "none";
    const waits = front.cause ? `, ${front.cause} ${Math.round(front.hours_waited ?? 0)} h` : "";
    return `${dateText(front.done)}${waits}`;
  })]);
  return table("Panels set, P50, and the longest wait", ["level", ...tower.zones], rows);
}

function tradesTable(tower, answer) {
  const rows = tower.levels.map((level, k) => [`L${level}`, ...answer.trades.map((trade) =>
    (trade.p50[k] ? dateText(trade.p50[k]) : "none"))]).reverse();
  return table("Trades done on each level, P50", ["level", ...answer.trades.map((trade) => labelOf(tower.trades, trade.name))], rows);
}

/** What people call a trade or an activity. */
export const labelOf = (listed, name) => listed?.find((one) => one.name === name)?.label ?? name.replaceAll("_", " ");
