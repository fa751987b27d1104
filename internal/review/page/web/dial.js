import { el, svg, set, fill, id } from "./dom.js";
import { say } from "./words.js";

// The pipe's wall as a clock's face seen along the travel. A tap sets a place, a stroke
// along the wall a span; two lists say the same for keyboard and screen reader.

const RIM = 78;

/** steps are the clock positions there are, from the top round. */
export const steps = Array.from({ length: 24 }, (_, i) => (i === 0 ? 12 : i / 2));

/** hour is a clock position as people say it: 3.5 is "3:30", 0.5 "12:30". */
export function hour(h) {
  const whole = Math.floor(h) || 12;
  return h % 1 ? `${whole}:30` : String(whole);
}

/** span tells a position or a span in words; "" where there is none. */
export function span(from, to) {
  if (from === null || from === undefined) return "";
  return to === null || to === undefined || to === from ? say("clock-at", { at: hour(from) }) : say("clock-from-to", { from: hour(from), to: hour(to) });
}

/** dial is a picker; picked(from, to) is called with numbers, or nulls when emptied. */
export function dial(picked, travel) {
  let from = null, to = null;
  const arc = svg("path", { class: "dial-arc" });
  const spot = svg("circle", { class: "dial-spot", r: 9 });
  const face = svg("svg", { class: "dial-face", viewBox: "-110 -110 220 220", "aria-hidden": "true" },
    svg("circle", { class: "dial-wall", r: RIM }), svg("circle", { class: "dial-bore", r: RIM - 22 }), marks(), arc, spot);
  const lists = { from: list("dial-from"), to: list("dial-to") };
  const ids = { from: id("dial"), to: id("dial") };
  lists.from.id = ids.from;
  lists.to.id = ids.to;
  lists.from.onchange = () => give(read(lists.from), read(lists.to) ?? read(lists.from));
  lists.to.onchange = () => give(read(lists.from) ?? read(lists.to), read(lists.to));
  const way = el("span");
  const node = el("div", { class: "dial" }, face,
    el("div", { class: "dial-lists" },
      el("label", { for: ids.from }, say("dial-from")), lists.from,
      el("label", { for: ids.to }, say("dial-to")), lists.to,
      el("p", { class: "help" }, say("dial-help"), " ", way)));
  strokes(face, give, (a, b) => paint(a, b));

  function give(a, b) {
    node.show(a, b);
    picked(a, b);
  }
  function paint(a, b) {
    set(spot, "visibility", a === null ? "hidden" : null);
    set(arc, "visibility", a === null || a === b ? "hidden" : null);
    if (a === null) return;
    const p = at(a, RIM - 11);
    set(spot, "cx", p[0]);
    set(spot, "cy", p[1]);
    if (a !== b) set(arc, "d", along(a, b));
  }
  node.show = (a, b) => {
    from = a ?? null;
    to = b ?? from;
    lists.from.value = from === null ? "" : String(from);
    lists.to.value = to === null || to === from ? "" : String(to);
    paint(from, to);
  };
  node.travel = (t) => fill(way, t ? say("dial-travel", { travel: say(`choice-${t}`) }) : "");
  node.travel(travel);
  node.show(null, null);
  return node;
}

function list(key) {
  return el("select", { "data-key": key }, el("option", { value: "" }, "–"), steps.map((h) => el("option", { value: String(h) }, hour(h))));
}

function read(select) {
  return select.value === "" ? null : Number(select.value);
}

function marks() {
  return [12, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11].map((h) => {
    const [x, y] = at(h, 97);
    return svg("text", { class: h % 3 ? "dial-hour" : "dial-hour main", x, y: y + 5 }, String(h));
  });
}

function at(h, r) {
  const a = (h / 12) * 2 * Math.PI;
  return [r * Math.sin(a), -r * Math.cos(a)];
}

function along(a, b) {
  const [x0, y0] = at(a, RIM - 11), [x1, y1] = at(b, RIM - 11);
  return `M${x0} ${y0}A${RIM - 11} ${RIM - 11} 0 ${turn(a, b) > 6 ? 1 : 0} 1 ${x1} ${y1}`;
}

/** turn is how many hours clockwise from a to b. */
function turn(a, b) {
  return (((b - a) % 12) + 12) % 12;
}

/** strokes reads taps and strokes; the way that a stroke takes round the wall decides which end is which. */
function strokes(face, done, passing) {
  let start = null, last = 0, gone = 0;
  const hourOf = (e) => {
    const box = face.getBoundingClientRect();
    const x = e.clientX - box.left - box.width / 2, y = e.clientY - box.top - box.height / 2;
    return ((Math.atan2(x, -y) / (2 * Math.PI)) * 12 + 12) % 12;
  };
  const half = (h) => Math.round(h * 2) / 2 % 12 || 12;
  const ends = () => {
    // A finger that only trembles still means one place.
    if (Math.abs(gone) < 0.75) return [half(start), half(start)];
    const other = half((((start + gone) % 12) + 12) % 12);
    return gone > 0 ? [half(start), other] : [other, half(start)];
  };
  face.addEventListener("pointerdown", (e) => {
    start = last = hourOf(e);
    gone = 0;
    face.setPointerCapture(e.pointerId);
    passing(...ends());
    e.preventDefault();
  });
  face.addEventListener("pointermove", (e) => {
    if (start === null) return;
    const now = hourOf(e);
    let d = now - last;
    if (d > 6) d -= 12;
    if (d < -6) d += 12;
    gone = Math.max(-11.5, Math.min(11.5, gone + d));
    last = now;
    passing(...ends());
  });
  face.addEventListener("pointerup", () => {
    if (start === null) return;
    const e = ends();
    start = null;
    done(...e);
  });
  face.addEventListener("pointercancel", () => (start = null));
}
