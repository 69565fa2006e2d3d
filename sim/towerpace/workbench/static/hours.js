// Why: where the hours of a level go, by cause, longest first.

import { byId, html, svg, letterScale, table, textWidth } from "./elements.js";
import { causeOf, hatched } from "./marks.js";
import { dateText, grouped, movedText, plain } from "./words.js";

const MOST = 8;

/** Show the hours of a level, and the level in words. */
export function showHours(tower, answer, level) {
  byId("level-words").textContent = levelWords(tower, answer, level);
  const place = byId("hours");
  const rows = (answer.ledger ?? []).filter((row) => row.level === level).sort((a, b) => b.hours - a.hours);
  byId("hours-table").hidden = rows.length === 0;
  if (!rows.length) {
    const why = answer.ledger ? "Nothing waits on this level." : "The hours come with the next trials.";
    place.replaceChildren(html("p", { class: "small" }, why));
    return;
  }
  place.replaceChildren(drawn(tower, shortened(rows), level, place.clientWidth));
  byId("hours-table").querySelector(".scroll").replaceChildren(
    table(`Hours of level ${level}, mean of ${answer.n} trials`, ["cause", "hours", "with the file"],
      rows.map((row) => [causeOf(tower, row.cause).label, grouped(row.hours), grouped(row.file_hours ?? row.hours)]), { numbers: [1, 2] }));
}

function levelWords(tower, answer, level) {
  const row = answer.levels.find((one) => one.level === level);
  if (!row) return "";
  const moved = row.days ? ` Closing-in ${movedText(row.days)}.` : "";
  const fronts = answer.fronts.filter((front) => front.level === level);
  const set = fronts.map((front) => `${front.zone} ${dateText(front.done)}`).join(", ");
  return `Closed in by ${dateText(row.now.p50)} in half of the trials, by ${dateText(row.now.p80)} in four of five.${moved}`
    + (set ? ` Panels set: ${set}.` : "");
}

const sumOf = (rows, key) => rows.reduce((sum, row) => sum + (row[key] ?? 0), 0);

function shortened(rows) {
  if (rows.length <= MOST + 1) return rows;
  const others = rows.slice(MOST);
  const rest = { cause: null, name: `${others.length} others`, hours: sumOf(others, "hours"), file_hours: sumOf(others, "file_hours") };
  return [...rows.slice(0, MOST), rest];
}

const differs = ({ hours, file_hours: file }) => file !== undefined && file !== null && Math.round(file) !== Math.round(hours);

const hoursText = (row) => `${grouped(row.hours)} h${differs(row) ? `, the file ${grouped(row.file_hours)}` : ""}`;

const fileLong = (row, room, longest) => (differs(row) ? (row.file_hours / longest) * room : 0);

/** Where the file's hours end, if they are others. */
function fileMark(row, { x, y, high, room, longest }) {
  return differs(row) ? [svg("path", { d: `M${x + fileLong(row, room, longest)} ${y + 1}v${high - 2}`, class: "file-hours" })] : [];
}

function drawn(tower, rows, level, width) {
  const scale = letterScale();
  const size = 12 * scale;
  const named = rows.map((row) => ({ ...row, ...(row.cause === null ? { letter: "", label: row.name } : causeOf(tower, row.cause)) }));
  const high = 19 * scale;
  const names = Math.min(Math.max(...named.map((row) => textWidth(plain(row.label), size))) + 30 * scale, width * 0.6);
  const longest = Math.max(...named.map((row) => Math.max(row.hours, row.file_hours ?? 0)));
  const room = width - names - textWidth("00,000 h, the file 00,000", size) - 8;
  const parts = named.flatMap((row, k) => {
    const y = k * high;
    const long = Math.max((row.hours / longest) * room, 1);
    return [
      svg("text", { x: names - 6, y: y + high * 0.7, class: "end" }, plain(row.label)),
      svg("rect", { x: names, y: y + 3, width: long, height: high - 6, class: `cause ${row.letter || "none"}` }),
      ...hatched(row.letter, { x: names, y: y + 3, width: long, height: high - 6 }),
      ...fileMark(row, { x: names, y, high, room, longest }),
      svg("text", { x: names + Math.max(long, fileLong(row, room, longest)) + 5, y: y + high * 0.7 }, hoursText(row)),
    ];
  });
  const said = `Hours of level ${level}: ${named.slice(0, 3).map((row) => `${row.label} ${grouped(row.hours)}`).join(", ")}.`;
  return svg("svg", { width, height: rows.length * high, role: "img", "aria-label": said, class: "letters" }, parts);
}
