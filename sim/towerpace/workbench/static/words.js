// How dates, days and names are written for people.

const MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];
const WEEKDAYS = ["Sun", "Mon", "Tue", "Wed", "Thu", "Fri", "Sat"];
const DAY_MS = 86400000;
export const BEYOND = "beyond the horizon";
const NBSP = "\u00a0";

/** Number of a day on one scale for all, from "2027-03-01". */
export const dayNumber = (iso) => Date.parse(`${iso}T00:00:00Z`) / DAY_MS;

const dateOf = (day) => new Date(Math.floor(day) * DAY_MS);

export const isoOf = (day) => dateOf(day).toISOString().slice(0, 10);

/** "4 Nov 2028", or that it lies beyond the horizon. */
export function dateText(iso) {
  if (!iso) return BEYOND;
  const date = dateOf(dayNumber(iso));
  return [date.getUTCDate(), MONTHS[date.getUTCMonth()], date.getUTCFullYear()].join(NBSP);
}

/** "Sat 4 Nov 2028". */
export const weekdayText = (iso) => `${WEEKDAYS[dateOf(dayNumber(iso)).getUTCDay()]}${NBSP}${dateText(iso)}`;

/** First days of months between two days: {day, month, year}, every so many months, counted from January. */
export function months(from, to, every) {
  const first = dateOf(from);
  const marks = [];
  for (let k = first.getUTCFullYear() * 12 + first.getUTCMonth(); ; k += 1) {
    const day = Date.UTC(Math.floor(k / 12), k % 12, 1) / DAY_MS;
    if (day > to) return marks;
    if (day >= from && k % every === 0)
      marks.push({ day, month: MONTHS[k % 12], year: Math.floor(k / 12), january: k % 12 === 0 });
  }
}

/** "+9.0", "−2.5", "0.0". */
export function signed(days) {
  const text = Math.abs(days).toFixed(1);
  if (text === "0.0") return text;
  return `${days > 0 ? "+" : "−"}${text}`;
}

/** Whether a difference is later, earlier, or not known to be either. */
export function direction(difference) {
  if (!difference || (difference.low <= 0 && difference.high >= 0)) return "even";
  return difference.value > 0 ? "later" : "earlier";
}

/** "9.0 days later (8.0 to 10.0)". */
export function movedText(difference) {
  if (!difference) return "not yet known";
  const { value, low, high } = difference;
  const days = Math.abs(value).toFixed(1);
  const way = value > 0 ? "later" : "earlier";
  const size = days === "0.0" ? "not moved" : `${days} ${days === "1.0" ? "day" : "days"} ${way}`;
  return low === null ? size : `${size} (${signed(low)} to ${signed(high)})`;
}

/** "panel gang" of "panel_gang". */
export const plain = (name) => String(name).replaceAll("_", " ");

/** "1,240". */
export const grouped = (number) => Math.round(number).toLocaleString("en-GB");

/** "3 changes", "1 change". */
export const counted = (number, one, many = `${one}s`) => `${grouped(number)} ${number === 1 ? one : many}`;
