// One control for each kind of value that may be changed. A control is {element, show(value), label target}.

import { html } from "./elements.js";

const same = (a, b) => JSON.stringify(a) === JSON.stringify(b);

/** Whether two values of the same key say the same. */
export const sameValue = same;

const STEPPED = ["counts", "stock", "units"]; // counts of a few, which are changed by one

/**
 * The control of a change.
 *
 * change : what the server says of the key: kind, min, max, step, unit, choices.
 * id : of the element that the label names.
 * onValue : called with the new value.
 */
export function control(change, id, onValue) {
  const few = change.kind === "count" && STEPPED.includes(change.group);
  const make = few ? count : { count: number, number, spread, hours, dates: hours, flag, date, "date or days": dayOrShift, choice }[change.kind] ?? text;
  return make(change, id, onValue);
}

const bounds = ({ min, max, step }) => ({ min: min ?? null, max: max ?? null, step: step ?? "any" });

function typedNumber(change, attributes, onNumber) {
  return html("input", {
    type: "number", inputmode: "decimal", autocomplete: "off", ...bounds(change), ...attributes,
    onchange: (event) => event.target.reportValidity() && event.target.value !== "" && onNumber(event.target.valueAsNumber),
  });
}

function count(change, id, onValue) {
  const whole = { ...change, step: change.step ?? 1, min: change.min ?? 0 };
  const input = typedNumber(whole, { id, class: "few" }, onValue);
  const by = (step) => () => {
    const next = Number(input.value) + step * whole.step;
    if (next < whole.min || (change.max !== null && change.max !== undefined && next > change.max)) return;
    input.value = next;
    onValue(next);
  };
  const fewer = html("button", { type: "button", class: "step", "aria-label": `fewer: ${change.label}`, onclick: by(-1) }, "−");
  const more = html("button", { type: "button", class: "step", "aria-label": `more: ${change.label}`, onclick: by(1) }, "+");
  const show = (value) => {
    input.value = value ?? "";
    fewer.disabled = Number(value) <= whole.min;
    more.disabled = change.max !== null && change.max !== undefined && Number(value) >= change.max;
  };
  return { element: html("span", { class: "counter" }, fewer, input, more), show };
}

function number(change, id, onValue) {
  const input = typedNumber(change, { id }, onValue);
  return { element: input, show: (value) => { input.value = value ?? ""; } };
}

/** A certain number, or an uncertain one whose parts are changed one by one. */
function spread(change, id, onValue) {
  if (typeof change.value !== "object" || change.value === null) return number(change, id, onValue);
  let now = change.value;
  const parts = Object.keys(change.value).filter((part) => typeof change.value[part] === "number");
  const inputs = parts.map((part, k) => typedNumber(change, {
    id: k === 0 ? id : null, "aria-label": `${change.label}: ${part}`,
  }, (value) => onValue({ ...now, [part]: value })));
  const show = (value) => {
    now = typeof value === "object" && value !== null ? value : change.value;
    inputs.forEach((input, k) => { input.value = now[parts[k]]; });
  };
  const named = parts.map((part, k) => html("span", { class: "part" }, html("span", { class: "small" }, part), inputs[k]));
  return { element: html("span", { class: "spread" }, named), show };
}

/** Hours of a day, as "07:00-12:00, 13:00-16:15", or dates; nothing for a day off. */
function hours(change, id, onValue) {
  const list = (value) => (Array.isArray(value) ? value : value ? [value] : []);
  const split = (typed) => typed.split(",").map((part) => part.trim()).filter(Boolean);
  const input = html("input", {
    id, type: "text", autocomplete: "off", placeholder: change.kind === "hours" ? "closed" : "none", spellcheck: "false",
    onchange: (event) => onValue(split(event.target.value)),
  });
  return { element: input, show: (value) => { input.value = list(value).join(", "); } };
}

function flag(change, id, onValue) {
  const input = html("input", { id, type: "checkbox", onchange: (event) => onValue(event.target.checked) });
  return { element: input, show: (value) => { input.checked = Boolean(value); } };
}

function date(change, id, onValue) {
  const limits = { min: change.min ?? null, max: change.max ?? null };
  const input = html("input", { id, type: "date", ...limits, onchange: (event) => onValue(event.target.value || null) });
  return { element: input, show: (value) => { input.value = value ?? ""; } };
}

/** A date, or a whole number of days later than the level table says. */
function dayOrShift(change, id, onValue) {
  const read = (typed) => (/^[+-]?\d+$/.test(typed) ? Number(typed) : typed || null);
  const input = html("input", { id, type: "text", autocomplete: "off", placeholder: "date or days",
    onchange: (event) => onValue(read(event.target.value.trim())) });
  return { element: input, show: (value) => { input.value = value ?? ""; } };
}

function choice(change, id, onValue) {
  const options = (change.choices ?? []).map((option) => html("option", { value: option }, option));
  const input = html("select", { id, onchange: (event) => onValue(event.target.value) }, options);
  return { element: input, show: (value) => { input.value = value ?? ""; } };
}

function text(change, id, onValue) {
  const input = html("input", { id, type: "text", autocomplete: "off", onchange: (event) => onValue(event.target.value) });
  return { element: input, show: (value) => { input.value = value ?? ""; } };
}

/** A value in words, as "the file says" shows it. */
export function valueText(change, value) {
  if (value === null || value === undefined) return "nothing";
  const unit = change.unit ? ` ${change.unit}` : "";
  if (Array.isArray(value)) return value.length ? value.join(", ") : change.kind === "hours" ? "closed" : "none";
  if (typeof value === "boolean") return value ? "yes" : "no";
  if (typeof value === "object") {
    const parts = Object.entries(value).filter(([, part]) => typeof part === "number");
    return parts.map(([name, part]) => `${name} ${part}`).join(", ") + unit;
  }
  return `${value}${change.kind === "count" ? "" : unit}`;
}
