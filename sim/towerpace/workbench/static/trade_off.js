// What a date costs: the set-ups of the trade-off as dots and as a list, one of them in full, to start from.

import { byId, html, letterScale, svg, table, textWidth } from "./elements.js";
import { post, remove } from "./server.js";
import { dateText, dayNumber, grouped, isoOf, months, movedText, plain, weekdayText } from "./words.js";

const HIGH_PX = 250;
const MONTH_STEPS = [1, 2, 3, 4, 6, 12];

export class TradeOff {
  /** onTaken : called with the name of the set-up to start from, null for the file. */
  constructor(tower, onTaken) {
    Object.assign(this, { onTaken, points: [], unit: "", picked: 0 });
    byId("choice").hidden = !tower.decides;
    byId("choose").addEventListener("click", () => this.start());
    byId("choose-stop").addEventListener("click", () => this.stop());
  }

  /** Names of the set-ups that are not the file itself. */
  get names() {
    return this.points.filter((point) => !point.is_file).map((point) => point.name);
  }

  /** A set-up of the trade-off in words, for the box in which it is kept; nothing for any other. */
  said(name) {
    const point = this.points.find((one) => one.name === name);
    return point ? [`${name}: ${point.set_up}`] : [];
  }

  /** The name under which it is kept: that of `towerpace choose --keep trade_off`; nothing for any other. */
  keptAs(name) {
    return this.points.some((point) => point.name === name) ? name.replaceAll(/[- ]/g, "_") : "";
  }

  async start() {
    this.running(true, "Reading the decisions of the file.");
    try {
      await post("/choice", {});
    } catch (fault) {
      this.running(false, fault.faults.join(" "));
    }
  }

  async stop() {
    try {
      await remove("/choice");
      this.running(false, "Stopped; what was played is kept.");
    } catch (fault) {
      this.running(false, fault.faults.join(" "));
    }
  }

  running(now, text) {
    byId("choose").hidden = now;
    byId("choose-stop").hidden = !now;
    byId("choice-said").textContent = text;
  }

  heard({ state, text, unit, points }) {
    this.running(state === "running", text ?? "");
    if (!points?.length) return;
    Object.assign(this, { points, unit, picked: Math.max(0, points.findIndex((point) => point.is_file)) });
    byId("choice-found").hidden = false;
    byId("choice-axes").textContent = `Mean cost [${unit}] against P80 of the finish. Full: no other beats it. Square: the file.`;
    byId("choice-points").replaceChildren(byId("choice-points").querySelector("legend"), ...points.map((point, k) => this.row(point, k)));
    this.pick(this.picked);
  }

  row(point, k) {
    const radio = html("input", { type: "radio", name: "trade-off", value: k, checked: k === this.picked, onchange: () => this.pick(k) });
    const what = point.is_file ? ", the file as it is" : "";
    const beaten = point.is_kept ? "" : ", beaten by another";
    return html("label", {}, radio, html("span", { class: "place" }, `${k + 1}`),
      html("span", {}, `${dateText(point.p80)} for ${this.money(point.cost)}${what}${beaten}`));
  }

  pick(k) {
    this.picked = k;
    byId("choice-points").querySelectorAll("input")[k].checked = true;
    this.draw();
    byId("choice-detail").replaceChildren(...this.full(this.points[k]));
  }

  /** A set-up in full: its cost, its P80, both against the file, its decisions, and the way to start from it. */
  full(point) {
    const between = point.p80_low && point.p80_high ? ` (${dateText(point.p80_low)} to ${dateText(point.p80_high)})` : "";
    const says = `P80 ${weekdayText(point.p80)}${between} by ${grouped(point.trials)} fresh trials; ${this.money(point.cost)} on average.`;
    const against = `Against the file: P80 ${movedText(point.p80_days)}; ${this.moreText(point.cost_more)}.`;
    const rows = point.decisions.map(({ name, choice, file }) => [plain(name), choice, file]);
    return [
      html("p", {}, says, point.is_file ? null : ` ${against}`),
      table(point.set_up, ["decision", "as chosen", "in the file"], rows),
      html("p", {}, html("button", { type: "button", onclick: () => this.onTaken(point.is_file ? null : point.name) },
        point.is_file ? "start from the file" : "start from this set-up")),
    ];
  }

  money(amount) {
    return `${grouped(amount)} ${this.unit}`.trim();
  }

  moreText(difference) {
    if (!difference) return "cost not known";
    const { value, low, high } = difference;
    const way = value > 0 ? "more" : "less";
    const ends = [low, high].map((end) => `${end < 0 ? "−" : "+"}${grouped(Math.abs(end))}`);
    return `costs ${this.money(Math.abs(value))} ${way} (${ends.join(" to ")})`;
  }

  draw() {
    const place = byId("choice-drawing");
    if (this.points.length && place.clientWidth) place.replaceChildren(this.drawn(place.clientWidth));
  }

  drawn(width) {
    const scale = letterScale();
    const size = 11.5 * scale;
    const at = this.places(width, HIGH_PX * scale, size);
    const kept = this.points.map((point, k) => ({ ...point, k })).filter((point) => point.is_kept);
    const line = kept.map((point) => `${at.x(point)} ${at.y(point)}`).join("L");
    const said = `Cost against P80 of ${this.points.length} set-ups; the list below says the same.`;
    const shapes = this.points.map((point, k) => this.dot(point, k, at, size)).sort((a, b) => a.over - b.over);
    return svg("svg", { width, height: at.high, role: "img", "aria-label": said, class: "letters" },
      at.axes, svg("path", { d: `M${line}`, class: "kept-line" }), shapes.map(({ element }) => element));
  }

  dot(point, k, at, size) {
    const [x, y, r] = [at.x(point), at.y(point), size * 0.82];
    const words = `set-up ${point.is_kept ? "kept" : ""} ${k === this.picked ? "picked" : ""}`;
    const shape = point.is_file
      ? svg("rect", { x: x - r, y: y - r, width: 2 * r, height: 2 * r, class: words })
      : svg("circle", { cx: x, cy: y, r, class: words });
    const number = svg("text", { x, y: y + size * 0.36, class: `set-up-place ${point.is_kept ? "kept" : ""}` }, `${k + 1}`);
    const named = svg("title", {}, `${point.set_up}: ${dateText(point.p80)}, ${this.money(point.cost)}`);
    return { over: k === this.picked ? 1 : 0, element: svg("g", { class: "a-set-up", onclick: () => this.pick(k) }, named, shape, number) };
  }

  /** Where dots stand, and the axes: P80 to the right, cost upwards. */
  places(width, high, size) {
    const days = this.points.map((point) => dayNumber(point.p80));
    const costs = this.points.map((point) => point.cost);
    const marks = steps(Math.min(...costs), Math.max(...costs));
    const left = Math.max(...marks.map((mark) => textWidth(grouped(mark), size))) + 8;
    const [top, bottom, right] = [size, 2 * size, 1.5 * size];
    const span = (values) => [Math.min(...values), Math.max(Math.max(...values), Math.min(...values) + 1)];
    const [[first, last], [low, most]] = [span(days), span([...costs, ...marks])];
    const inner = { from: left + 1.5 * size, to: width - right };
    const across = (day) => inner.from + ((day - first) / (last - first)) * (inner.to - inner.from);
    const up = (cost) => high - bottom - size - ((cost - low) / (most - low)) * (high - top - bottom - size);
    const room = (textWidth("Mmm 2028", size) * (last - first)) / (inner.to - inner.from);
    const every = MONTH_STEPS.find((step) => step * 30.4 >= room) ?? 12;
    const marked = months(first, last, every).map(({ day, month, year }) => ({ day, text: `${month} ${year}` }));
    const dated = marked.length > 1 ? marked : [first, last].map((day) => ({ day, text: dateText(isoOf(day)) }));
    const axes = [
      ...marks.flatMap((mark) => [
        svg("path", { d: `M${left} ${up(mark)}H${width}`, class: "rule" }),
        svg("text", { x: left - 5, y: up(mark) + size * 0.36, class: "end quiet" }, grouped(mark)),
      ]),
      ...dated.map(({ day, text }) =>
        svg("text", { x: Math.min(across(day), width - textWidth(text, size) / 2), y: high - size * 0.4, class: "middle quiet" }, text)),
    ];
    return { high, axes, x: (point) => across(dayNumber(point.p80)), y: (point) => up(point.cost) };
  }
}

/** Round numbers from below the least to above the most, four to eight of them. */
function steps(least, most) {
  const rough = Math.max(most - least, 1e-9) / 4;
  const ten = 10 ** Math.floor(Math.log10(rough));
  const step = [1, 2, 5, 10].map((times) => times * ten).find((one) => one >= rough);
  const from = Math.floor(least / step);
  const count = Math.ceil(most / step) - from + 1;
  return Array.from({ length: count }, (_, k) => (from + k) * step);
}
