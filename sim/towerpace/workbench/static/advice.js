// What to add: the ranking as it grows, and a way to stop.

import { byId, table } from "./elements.js";
import { post, remove } from "./server.js";
import { signed } from "./words.js";

export class Advice {
  constructor(changesNow) {
    this.changesNow = changesNow;
    byId("advise").addEventListener("click", () => this.start());
    byId("advise-stop").addEventListener("click", () => this.stop());
  }

  async start() {
    byId("advised").replaceChildren();
    this.running(true, "Playing the first of them.");
    try {
      await post("/advice", { changes: this.changesNow() });
    } catch (fault) {
      this.running(false, fault.faults.join(" "));
    }
  }

  async stop() {
    try {
      await remove("/advice");
      this.running(false, "Stopped; what stands below is as far as it came.");
    } catch (fault) {
      this.running(false, fault.faults.join(" "));
    }
  }

  running(now, text) {
    byId("advise").hidden = now;
    byId("advise-stop").hidden = !now;
    byId("advice-said").textContent = text;
  }

  heard({ state, text, rows, of, done }) {
    const far = state === "running" && of ? ` ${done} of ${of} tried.` : "";
    this.running(state === "running", `${text ?? ""}${far}`.trim());
    if (rows?.length) byId("advised").replaceChildren(ranking(rows));
  }
}

function ranking(rows) {
  const days = (value) => (value === null || value === undefined ? "not yet known" : signed(value));
  const between = ({ low, high }) => (low === null || low === undefined ? "" : `${signed(low)} to ${signed(high)}`);
  return table("Days gained in the mean and at P80, best first", ["add", "days gained", "95 % interval", "at P80"],
    rows.map((row) => [row.what, days(row.gain), between(row), days(row.p80_gain)]), { numbers: [1, 2, 3] });
}
