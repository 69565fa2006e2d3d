// Keeping what was changed: a set-up at the end of the scenario file, refused if the file has changed meanwhile.

import { byId, html } from "./elements.js";
import { post } from "./server.js";
import { counted } from "./words.js";

export class KeepBox {
  constructor(tower, said, changesNow) {
    Object.assign(this, { tower, said, changesNow, hash: tower.hash });
    byId("keep").addEventListener("click", () => this.open());
    byId("keep-close").addEventListener("click", () => byId("keep-box").close());
    byId("keep-box").querySelector("form").addEventListener("submit", (event) => {
      event.preventDefault();
      this.keep();
    });
  }

  open() {
    const lines = this.said();
    byId("keep-list").replaceChildren(...lines.map((text) => html("li", {}, text)));
    byId("keep-do").disabled = lines.length === 0;
    byId("keep-said").textContent = lines.length ? "" : "Nothing is changed yet.";
    byId("keep-box").showModal();
  }

  async keep() {
    const question = { name: byId("set-up-name").value, note: byId("set-up-note").value, changes: this.changesNow(), was: this.hash };
    try {
      const { file, lines_added: lines, hash } = await post("/keep", question);
      this.hash = hash ?? this.hash;
      byId("keep-said").textContent = `Written to ${file}, ${counted(lines, "line")} at its end.`;
    } catch (fault) {
      byId("keep-said").textContent = fault.status === 409
        ? "The file has been changed since this page was opened, so nothing was written. Load the page again; its address keeps your changes."
        : fault.faults.join(" ");
    }
  }
}
