// The page to work at: what was changed goes to the program, its answers come back and are shown.

import { Advice } from "./advice.js";
import { showAnswer, showFaults, towerTables } from "./answer.js";
import { Changes } from "./changes.js";
import { byId, html, letterScale } from "./elements.js";
import { showHolds, showHours } from "./hours.js";
import { KeepBox } from "./keep.js";
import { showLegend } from "./legend.js";
import { fromLink, toLink } from "./link.js";
import { Played } from "./played.js";
import { get, Stream } from "./server.js";
import { drawTower } from "./tower_picture.js";
import { TradeOff } from "./trade_off.js";
import { plain } from "./words.js";

const WAIT_MS = 120; // five clicks are one question
const TRIALS = 400;
const SCREEN_PX = 580; // of all levels together
const PRINTED_PX = 250; // so that everything fits on one sheet

class Page {
  constructor(tower) {
    Object.assign(this, { tower, answer: null, ...fromLink() });
    this.stream = new Stream((name, data) => this.heard(name, data));
    this.rows = new Changes(tower.changes, (key, value) => this.change(key, value));
    this.tradeOff = new TradeOff(tower, (setUp) => this.startFrom(setUp));
    this.keepBox = new KeepBox(tower, {
      said: () => [...this.tradeOff.said(this.setUp), ...this.rows.said(this.changes)],
      asked: () => this.asked(),
      named: () => (Object.keys(this.changes).length ? "" : this.tradeOff.keptAs(this.setUp)),
    });
    this.advice = new Advice(() => this.asked());
    this.played = new Played(tower, () => this.stream.gen);
    this.named();
    this.choosers();
    this.restored();
    this.stream.open();
    this.ask();
  }

  named() {
    document.title = `${this.tower.title}: towerpace`;
    byId("name").textContent = this.tower.title;
    byId("cautions").replaceChildren(...(this.tower.cautions ?? []).map((text) => html("li", {}, text)));
  }

  /** What is chosen without asking anew: level, colour, the set-up to start from; and links of the address. */
  choosers() {
    const levels = [...this.tower.levels].reverse().map((level) => html("option", { value: level }, String(level)));
    byId("level").replaceChildren(...levels);
    byId("level").addEventListener("change", (event) => this.choose(Number(event.target.value)));
    for (const radio of document.getElementsByName("colour")) {
      radio.addEventListener("change", () => { this.colour = radio.value; this.draw(); this.link(); });
    }
    this.setUps();
    byId("set-up").addEventListener("change", (event) => this.startFrom(event.target.value || null));
    addEventListener("hashchange", () => { Object.assign(this, fromLink()); this.restored(); this.later(); });
    matchMedia("print").addEventListener("change", () => this.draw());
    byId("report").addEventListener("click", () => { byId("progress").textContent = "The report is made; that takes some seconds."; });
    new ResizeObserver(() => this.draw()).observe(byId("tower"));
    new ResizeObserver(() => this.tradeOff.draw()).observe(byId("choice-drawing"));
  }

  /** The set-ups to start from: those of the file, and those of the trade-off that was found. */
  setUps() {
    const setUps = ["", ...(this.tower.set_ups ?? []), ...this.tradeOff.names];
    byId("set-up").replaceChildren(...setUps.map((name) => html("option", { value: name }, name ? plain(name) : "the file")));
    byId("start-from").hidden = setUps.length === 1;
    byId("set-up").value = this.setUp ?? "";
  }

  startFrom(setUp) {
    this.setUp = setUp;
    byId("set-up").value = setUp ?? "";
    this.later();
  }

  /** Show what a link says: changes, the set-up they start from, what cells show, the level. */
  restored() {
    if (!this.tower.levels.includes(this.level)) this.level = this.middleLevel();
    byId("level").value = this.level;
    byId("set-up").value = this.setUp ?? "";
    for (const radio of document.getElementsByName("colour")) radio.checked = radio.value === this.colour;
    this.rows.show(this.changes);
  }

  choose(level) {
    this.level = level;
    byId("level").value = level;
    this.draw();
    this.link();
  }

  /** One change, back to the file where the value is null; all back where the key is null too. */
  change(key, value) {
    if (key === null) this.changes = {};
    else if (value === null) delete this.changes[key];
    else this.changes[key] = value;
    this.rows.show(this.changes);
    this.later();
  }

  later() {
    this.link();
    clearTimeout(this.waiting);
    document.body.classList.add("asking");
    this.isOwed = true; // an answer to what is now changed
    this.waiting = setTimeout(() => this.ask(), WAIT_MS);
  }

  /** What is asked about: changes over the file or over a set-up of it. */
  asked() {
    return { changes: this.changes, set_up: this.setUp };
  }

  link() {
    toLink(this);
  }

  async ask() {
    try {
      const asked = this.stream.ask({ ...this.asked(), trials: TRIALS });
      this.isOwed = false;
      await asked;
    } catch (fault) {
      if (!fault.faults) throw fault;
      this.refused(fault.faults);
    }
  }

  heard(name, data) {
    if (name === "answer") this.answered(data);
    if (name === "faults") this.refused(data.faults);
    if (name === "state" && data.text) byId("progress").textContent = data.text;
    // The address keeps what was changed, so the page is simply loaded anew.
    if (name === "file" && data.hash !== this.tower.hash) this.keepBox.whenClosed(() => location.reload());
    if (name === "holds") showHolds(this.tower, data);
    if (name === "advice") this.advice.heard(data);
    if (name === "choice") {
      this.tradeOff.heard(data);
      this.setUps();
    }
    if (name === "lost") byId("progress").textContent = "The program does not answer; waiting for it.";
    if (name === "connected" && byId("progress").textContent.startsWith("The program")) byId("progress").textContent = "";
  }

  refused(faults) {
    showFaults(faults);
    byId("progress").textContent = "";
    document.body.classList.toggle("asking", this.isOwed);
  }

  answered(answer) {
    this.answer = answer;
    document.body.classList.toggle("asking", this.isOwed || !answer.final);
    byId("progress").textContent = answer.final ? "" : `${answer.n} of ${answer.upto} trials played`;
    byId("report").href = `/report?gen=${answer.gen}`;
    byId("report").classList.toggle("ready", true);
    showAnswer(answer);
    this.draw();
    byId("tower-tables").querySelector(".scroll").replaceChildren(...towerTables(this.tower, answer));
  }

  /** The level that speaks first. */
  middleLevel() {
    return this.tower.levels[Math.floor(this.tower.levels.length / 2)];
  }

  draw() {
    if (!this.answer) return;
    const { tower, answer, level, colour } = this;
    const high = matchMedia("print").matches ? PRINTED_PX : SCREEN_PX * letterScale();
    drawTower(byId("tower"), { tower, answer, level, colour, high, onLevel: (chosen) => this.choose(chosen) });
    showLegend(tower, answer, colour);
    showHours(tower, answer, level);
  }
}

async function begin() {
  try {
    new Page(await get("/tower"));
  } catch (fault) {
    if (!fault.faults) throw fault;
    showFaults(fault.faults);
  }
}

begin();
