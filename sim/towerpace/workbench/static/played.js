// One trial shown hour by hour or day by day: space plays and stops, arrows step.

import { byId, html } from "./elements.js";
import { frameText, momentText, tradeTexts, unitText } from "./frame_words.js";
import { get } from "./server.js";
import { drawStage, drawWind } from "./stage.js";
import { Trial } from "./trial.js";
import { dateText } from "./words.js";

const HOUR = 60;
const DAY = 1440;
const FIRST_HOUR = 9 * HOUR; // frames of a day are looked at in the morning
const FRAME_MS = 160;
const KEYS = { ArrowRight: HOUR, ArrowLeft: -HOUR, ArrowUp: DAY, ArrowDown: -DAY, PageUp: 7 * DAY, PageDown: -7 * DAY };
const stillPlease = matchMedia("(prefers-reduced-motion: reduce)");

export class Played {
  constructor(tower, generation) {
    Object.assign(this, { tower, generation, trial: null, minute: 0, timer: null });
    byId("which").addEventListener("change", (event) => { byId("trial-number").hidden = event.target.value !== "number"; });
    byId("play-this").addEventListener("click", () => this.load());
  }

  async load() {
    const which = byId("which").value === "number" ? byId("trial-number").value : byId("which").value;
    this.stop();
    byId("played-said").textContent = "Playing it.";
    try {
      this.show(await get(`/trial/${encodeURIComponent(which)}?gen=${this.generation()}`));
    } catch (fault) {
      if (!fault.faults) throw fault;
      byId("played-said").textContent = fault.faults.join(" ");
    }
  }

  show(told) {
    this.trial = new Trial(this.tower, told);
    byId("played-said").textContent = `Trial ${told.trial}, finished on ${dateText(told.finish)}.`;
    this.build();
    byId("stage").hidden = false;
    this.go(this.firstWork());
    byId("player").focus();
  }

  /** The morning of the day on which the first panel is set. */
  firstWork() {
    const firsts = [...this.trial.fronts.values()].map((front) => front.panels[0]).filter(Boolean);
    const first = firsts.length ? Math.min(...firsts) : this.trial.begin;
    return Math.floor(first / DAY) * DAY + FIRST_HOUR;
  }

  build() {
    const button = (text, label, act) => html("button", { type: "button", "aria-label": label, onclick: act }, text);
    this.slider = html("input", { type: "range", "aria-label": "day of the trial", min: Math.floor(this.trial.begin / DAY), max: Math.floor(this.trial.finish / DAY), step: 1,
      oninput: (event) => this.go(Number(event.target.value) * DAY + FIRST_HOUR) });
    this.playButton = button("play", "play or stop", () => this.toggle());
    this.moment = html("strong", { class: "moment" });
    const controls = html("p", { class: "controls" }, button("− day", "one day back", () => this.step(-DAY)), button("− hour", "one hour back", () => this.step(-HOUR)),
      this.playButton, button("+ hour", "one hour on", () => this.step(HOUR)), button("+ day", "one day on", () => this.step(DAY)), this.slider, this.moment);
    this.drawing = html("div", { class: "drawing tower-now" });
    this.words = html("p", { role: "status" });
    this.units = html("ul", { class: "units" });
    this.wind = html("div", { class: "drawing" });
    const beside = html("div", { class: "said" }, this.words, html("h3", {}, "Wind of this day against each limit, gusts in m/s"), this.wind,
      html("h3", {}, "Who works, and why others stand still"), this.units);
    const keys = html("p", { class: "small" }, "Space plays and stops. Left and right step by an hour, up and down by a day, page up and down by a week.");
    const player = html("div", { id: "player", tabindex: "0", role: "group", "aria-label": "the trial played; space plays and stops, arrows step", onkeydown: (event) => this.key(event) },
      controls, html("div", { class: "scene" }, this.drawing, beside), legend(), keys);
    byId("stage").replaceChildren(player);
  }

  key(event) {
    const typing = event.target !== event.currentTarget;
    if (event.key === " " && !typing) this.toggle();
    else if (event.key in KEYS && event.target !== this.slider) this.step(KEYS[event.key]);
    else return;
    event.preventDefault();
  }

  step(minutes) {
    this.stop();
    this.go(this.minute + minutes);
  }

  toggle() {
    if (this.timer) return this.stop();
    this.playButton.textContent = "stop";
    this.words.setAttribute("aria-live", "off"); // a film read out aloud would never end
    const [by, every] = stillPlease.matches ? [DAY, 6 * FRAME_MS] : [HOUR, FRAME_MS];
    this.timer = setInterval(() => (this.minute >= this.trial.finish ? this.stop() : this.go(this.minute + by)), every);
    return undefined;
  }

  stop() {
    clearInterval(this.timer);
    this.timer = null;
    if (!this.playButton) return;
    this.playButton.textContent = "play";
    this.words.setAttribute("aria-live", "polite");
  }

  go(minute) {
    this.minute = Math.min(Math.max(minute, this.trial.begin), this.trial.finish);
    const frame = this.trial.at(this.minute);
    this.slider.value = frame.day;
    this.slider.setAttribute("aria-valuetext", momentText(this.trial, this.minute));
    this.moment.textContent = momentText(this.trial, this.minute);
    this.words.textContent = frameText(this.trial, frame);
    const lines = [...frame.units.map((unit) => unitText(this.trial, unit, this.minute)), ...tradeTexts(this.trial, frame)];
    this.units.replaceChildren(...lines.map((text) => html("li", { class: text.includes("stands still") ? "still" : null }, text)));
    this.drawing.replaceChildren(drawStage(this.trial, frame, this.drawing.clientWidth || 320));
    this.wind.replaceChildren(drawWind(this.trial, frame, this.wind.clientWidth || 320));
  }
}

function legend() {
  const meant = [["area bare", "handed over"], ["area bracketed", "ready for panels"], ["glass", "panels set"], ["glass closed", "closed in"], ["inside", "share of the trades behind them done"],
    ["unit busy", "at work"], ["unit idle", "stands still"]];
  return html("ul", { class: "legend" }, meant.map(([mark, text]) => html("li", {}, html("span", { class: `swatch ${mark}`, "aria-hidden": "true" }), text)));
}
