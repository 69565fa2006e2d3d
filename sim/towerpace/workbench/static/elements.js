// Elements of the page and of its drawings. Whatever comes from a file is set as text, never as markup.

const DRAWING = "http://www.w3.org/2000/svg";

function filled(element, attributes, children) {
  for (const [name, value] of Object.entries(attributes ?? {})) {
    if (value === null || value === undefined || value === false) continue;
    if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
    else element.setAttribute(name, value === true ? "" : value);
  }
  element.append(...children.flat(Infinity).filter((child) => child !== null && child !== undefined));
  return element;
}

/** An element of the page: `html("p", {class: "small"}, "text", other)`. */
export function html(name, attributes, ...children) {
  return filled(document.createElement(name), attributes, children);
}

/** An element of a drawing; numbers are written with one decimal. */
export function svg(name, attributes, ...children) {
  const rounded = Object.entries(attributes ?? {}).map(([key, value]) => [
    key,
    typeof value === "number" ? Math.round(value * 10) / 10 : value,
  ]);
  return filled(document.createElementNS(DRAWING, name), Object.fromEntries(rounded), children);
}

/** The element with this id, which the page is sure to have. */
export const byId = (id) => document.getElementById(id);

/** How much larger than usual the reader wants letters. */
export const letterScale = () => parseFloat(getComputedStyle(document.documentElement).fontSize) / 16;

const ruler = document.createElement("canvas").getContext("2d");

/** How wide a text of the drawings is, in pixels. */
export function textWidth(text, size) {
  ruler.font = `${size}px ${getComputedStyle(document.body).fontFamily}`;
  return ruler.measureText(text).width;
}

/** A table with a caption; the first column names the rows, the others may be numbers. */
export function table(caption, heads, rows, { numbers = [] } = {}) {
  const kind = (k) => (numbers.includes(k) ? "number" : null);
  const head = heads.map((text, k) => html("th", { scope: "col", class: kind(k) }, text));
  const body = rows.map((row) =>
    html("tr", {}, row.map((text, k) =>
      k === 0 ? html("th", { scope: "row" }, text) : html("td", { class: kind(k) }, text))));
  return html("table", {},
    html("caption", {}, caption), html("thead", {}, html("tr", {}, head)), html("tbody", {}, body));
}
