// What happens once, on lanes as few as its names allow, so that the stretch behind the top level is seen.

import { svg, textWidth } from "./elements.js";
import { labelOf } from "./answer.js";

/** Marks from `top` down: {parts, bottom}. */
export function onceOnly(tower, answer, layout, top) {
  const tall = layout.size * 1.3;
  const lanes = [];
  const parts = spansOf(tower, answer, layout).flatMap((span) => {
    let lane = lanes.findIndex((end) => end + 10 < span.left);
    if (lane < 0) lane = lanes.push(0) - 1;
    lanes[lane] = span.right;
    return drawn(span, top + (lane + 0.5) * tall, layout.size);
  });
  return { parts, bottom: top + lanes.length * tall };
}

/** Begin, end and the room that line and name take, in the order of the begin. */
function spansOf(tower, answer, { x, size, dates }) {
  return answer.once.filter((one) => one.start).map((one) => {
    const [begin, end] = [x.iso(one.start), Math.max(x.iso(one.end), x.iso(one.start) + 2)];
    const text = labelOf(tower.once, one.name);
    const wide = textWidth(text, size) + 7;
    const before = begin - wide > dates.x;
    return { begin, end, text, before, left: before ? begin - wide : begin, right: before ? end : end + wide };
  }).sort((a, b) => a.left - b.left);
}

function drawn({ begin, end, text, before }, y, size) {
  return [
    svg("path", { d: `M${begin} ${y}H${end}M${begin} ${y - 3}v6M${end} ${y - 3}v6`, class: "once" }),
    svg("text", { x: before ? begin - 5 : end + 5, y: y + size * 0.36, class: `${before ? "end" : "start"} halo` }, text),
  ];
}
