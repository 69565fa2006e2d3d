// Keeping what was changed: a set-up at the end of the scenario file, refused if the file has changed meanwhile.

import { byId, html } from "./elements.js";
import { post } from "./server.js";
import { counted } from "./words.js";

export class KeepBox {
  /** said : lines of what would be kept. asked : the question that keeps it. named : a name to begin with. */
  constructor(tower, { said, asked, named }) {
    Object.assign(this, { said, asked, named, suggested: "", hash: tower.hash });
    byId("keep").addEventListener("click", () => this.open());
    byId("keep-close").addEventListener("click", () => byId("keep-box").close());
    byId("keep-box").querySelector("form").addEventListener("submit", (event) => {
      event.preventDefault();
      this.keep(byId("set-up-name").value);
    });
    byId("keep-place").addEventListener("click", () => this.keep(null));
  }

  open() {
    const lines = this.said();
    byId("keep-list").replaceChildren(...lines.map((text) => html("li", {}, text)));
    for (const id of ["keep-do", "keep-place"]) byId(id).disabled = lines.length === 0;
    byId("keep-said").textContent = lines.length ? "" : "Nothing is changed yet.";
    const field = byId("set-up-name");
    if (field.value === this.suggested) field.value = this.suggested = this.named();
    byId("keep-box").showModal();
  }

  /** Do something as soon as the box is closed, at once if it is. */
  whenClosed(act) {
    if (byId("keep-box").open) byId("keep-box").addEventListener("close", act, { once: true });
    else act();
  }

  /** Keep under a name, or in the place of the file's values where there is none. */
  async keep(name) {
    const question = { name, note: byId("set-up-note").value, ...this.asked(), was: this.hash };
    try {
      const { file, lines_added: written } = await post("/keep", question);
      const where = name === null ? `${counted(written, "value")} in place` : `${counted(written, "line")} at its end`;
      byId("keep-said").textContent = `Written to ${file}, ${where}.`;
      for (const id of ["keep-do", "keep-place"]) byId(id).disabled = true; // the page is loaded anew when the box closes
    } catch (fault) {
      byId("keep-said").textContent = fault.status === 409
        ? "The file has been changed since this page was opened, so nothing was written. Load the page again; its address keeps your changes."
        : fault.faults.join(" ");
    }
  }
}
