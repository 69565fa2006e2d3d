// What may be changed: a row a key, in groups, with what the file says beside what was changed.

import { control, sameValue, valueText } from "./controls.js";
import { byId, html } from "./elements.js";
import { counted } from "./words.js";

const GROUPS = {
  counts: "Gangs, cranes, hoists",
  limits: "Weather limits",
  calendars: "Hours and days off",
  levels: "Dates of a level",
  units: "Dates of single units",
  stock: "Stock, spares, slots",
  spreads: "How long work takes",
};
const OPEN_AT_FIRST = ["counts", "limits"];

/** The rows of all that may be changed; tells `onChange(key, value)`, null for back to the file. */
export class Changes {
  constructor(listed, onChange) {
    this.onChange = onChange;
    this.rows = listed.map((change, k) => this.row(change, `change-${k}`));
    this.groups = this.grouped();
    byId("groups").replaceChildren(...this.groups.map((group) => group.element));
    byId("find").addEventListener("input", (event) => this.find(event.target.value));
    byId("reset-all").addEventListener("click", () => onChange(null, null));
  }

  row(change, id) {
    const tell = (value) => this.onChange(change.key, sameValue(value, change.value) ? null : value);
    const shown = control(change, id, tell);
    const said = html("span", { class: "file-says", id: `${id}-file` });
    const back = html("button", {
      type: "button", class: "back", hidden: true, "aria-label": `back to the file: ${change.label}`,
      onclick: () => { this.onChange(change.key, null); byId(id).focus(); },
    }, "back");
    const unit = change.unit && change.group !== "counts" ? html("span", { class: "unit" }, change.unit) : null;
    const [of, what] = parts(change);
    const name = html("label", { for: id }, of ? html("span", { class: "unseen" }, `${of}: `) : null, what);
    const element = html("div", { class: `change of-${change.kind.replaceAll(" ", "-")}` }, name,
      html("span", { class: "control" }, shown.element, unit), html("span", { class: "beside" }, said, back));
    const meaning = [change.note, change.maker ? `The maker's limit is ${change.maker} ${change.unit}.` : null];
    const about = () => { byId("about").textContent = `${change.label}. ${meaning.filter(Boolean).join(" ")}`; };
    element.addEventListener("focusin", about);
    element.addEventListener("pointerenter", about);
    const words = `${change.label} ${change.key} ${GROUPS[change.group] ?? ""}`.toLowerCase();
    return { change, of, element, shown, said, back, words };
  }

  grouped() {
    const order = Object.keys(GROUPS);
    const present = [...new Set(this.rows.map((row) => row.change.group))];
    present.sort((a, b) => (order.indexOf(a) + 1 || 99) - (order.indexOf(b) + 1 || 99));
    return present.map((name) => {
      const rows = this.rows.filter((row) => row.change.group === name);
      const many = html("span", { class: "many" });
      const summary = html("summary", {}, GROUPS[name] ?? name, " ", many);
      const element = html("details", { class: "group", open: OPEN_AT_FIRST.includes(name) }, summary, families(rows));
      return { name, rows, many, element };
    });
  }

  /** Show only rows that hold every word typed; groups with such rows are open. */
  find(typed) {
    const wanted = typed.toLowerCase().split(/\s+/).filter(Boolean);
    for (const { rows, element } of this.groups) {
      let shown = 0;
      for (const row of rows) {
        row.element.hidden = !wanted.every((word) => row.words.includes(word));
        shown += row.element.hidden ? 0 : 1;
      }
      for (const family of element.querySelectorAll(".family"))
        family.hidden = !family.querySelector(".change:not([hidden])");
      element.hidden = shown === 0;
      if (wanted.length) element.open = shown > 0;
    }
  }

  /** Show these changes over what the file says. */
  show(changes) {
    for (const { change, shown, said, back, element } of this.rows) {
      const changed = change.key in changes;
      shown.show(changed ? changes[change.key] : change.value);
      said.textContent = changed ? `the file says ${valueText(change, change.value)}` : "";
      back.hidden = !changed;
      element.classList.toggle("changed", changed);
    }
    for (const { rows, many } of this.groups) {
      const changed = rows.filter((row) => row.change.key in changes).length;
      many.textContent = changed ? `${changed} of ${rows.length} changed` : `${rows.length}`;
    }
    const all = Object.keys(changes).length;
    byId("how-many").textContent = all ? counted(all, "change") : "as in the file";
    byId("reset-all").hidden = all === 0;
  }

  /** Changes in words: what is changed, to what, from what. */
  said(changes) {
    return Object.entries(changes).map(([key, value]) => {
      const row = this.rows.find((one) => one.change.key === key);
      if (!row) return `${key} ${JSON.stringify(value)}`;
      const { change } = row;
      return `${change.label}: ${valueText(change, value)}; the file says ${valueText(change, change.value)}`;
    });
  }
}

/** What a key is of, and which of its numbers: ["flat lift", "wind above"]. */
function parts({ group, label }) {
  const at = label.lastIndexOf(": ");
  return at < 0 || group === "counts" ? ["", label] : [label.slice(0, at), label.slice(at + 2)];
}

/** Rows of one thing below its name. */
function families(rows) {
  const of = Map.groupBy(rows, (row) => row.of);
  return [...of].map(([name, own]) =>
    html("div", { class: "family" }, name ? html("p", { class: "of" }, name) : null, own.map((row) => row.element)));
}
