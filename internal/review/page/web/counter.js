import { el, svg, set, text, id } from "./dom.js";
import { say } from "./words.js";
import { correct } from "./store.js";
import { media } from "./server.js";
import { stillAddress } from "./frames.js";

// The confirming sheet of the counter that was read off the picture: right, no counter,
// or "the box is here", drawn on the frame.

/** counter is the card; to.frame() is the frame that the watching room shows. */
export function counter(to) {
  const img = el("img", { class: "sheet", alt: say("counter-sheet") }), said = el("p"), bar = el("progress", { max: 1, "aria-label": say("counter-reading") });
  const yes = el("button", { type: "button", class: "main", onclick: () => correct({ what: "sheet", values: { "counter.confirmed": true } }) }, say("counter-yes"));
  const no = el("button", { type: "button", onclick: () => correct({ what: "sheet", values: { "counter.look": "off" } }) }, say("counter-no"));
  const here = el("button", { type: "button", onclick: () => box(to.frame(), state) }, say("counter-here"));
  const auto = el("button", { type: "button", onclick: () => correct({ what: "sheet", values: { "counter.look": null, "counter.confirmed": null } }) }, say("counter-auto"));
  const head = el("h3", {}, say("counter"));
  const node = el("div", { class: "card", id: "counter", role: "group", "aria-label": say("counter") }, head, said, bar, el("div", { class: "row" }, yes, no, here, auto), img);
  let state = null;
  return {
    node,
    show(job) {
      state = job.counter;
      set(node, "hidden", !state);
      if (!state) return;
      const found = state.state === "found";
      node.classList.toggle("open", found && !state.confirmed);
      text(said, state.state === "reading" ? say("counter-reading") : found ? say(state.confirmed ? "counter-confirmed" : "counter-ask", { n: state.readings || 0, unit: state.unit || "" }) : say(state.state === "off" ? "counter-off" : "counter-none"));
      set(bar, "hidden", state.state !== "reading");
      bar.value = state.done || 0;
      set(img, "hidden", !state.sheet);
      // Another reading draws another sheet under the same name.
      if (state.sheet) set(img, "src", media(`${state.sheet}${state.sheet.includes("?") ? "&" : "?"}of=${(state.box || []).join("-")}-${state.readings || 0}`));
      set(yes, "hidden", !found || state.confirmed);
      set(no, "hidden", state.state === "off");
      set(auto, "hidden", state.state !== "off" && !state.confirmed);
    },
  };
}

const SIDES = ["x", "y", "w", "h"];

/** box lets a rectangle be drawn on a frame, or typed. */
function box(frame, state) {
  const picture = el("img", { alt: say("picture"), src: stillAddress(frame, 0) });
  const shape = svg("rect", { class: "drawn" }), over = svg("svg", { class: "over", "aria-hidden": "true", preserveAspectRatio: "none" }, shape);
  const numbers = SIDES.map((k) => el("input", { type: "number", min: 0, id: id("box"), oninput: () => typedIn() }));
  let at = (state && state.box) || [0, 0, 0, 0], start = null;
  const save = el("button", { type: "button", class: "main", onclick: () => { correct({ what: "sheet", values: { "counter.look": at } }); close(); } }, say("counter-box-save"));
  const node = el("dialog", { "aria-label": say("counter-here"), onclose: () => node.remove() },
    el("h2", {}, say("counter-here")), el("p", { class: "help" }, say("counter-box-help")), el("div", { class: "frame" }, picture, over),
    el("div", { class: "fields four" }, numbers.map((n, i) => el("div", { class: "field" }, el("label", { for: n.id }, say(`box-${SIDES[i]}`)), n))),
    el("div", { class: "row" }, save, el("button", { type: "button", onclick: () => close() }, say("cancel"))));
  const close = () => node.close();
  const show = () => {
    SIDES.forEach((k, i) => {
      set(shape, { x: "x", y: "y", w: "width", h: "height" }[k], at[i]);
      if (Number(numbers[i].value) !== at[i]) numbers[i].value = at[i];
    });
    set(save, "disabled", at[2] < 8 || at[3] < 8);
  };
  const typedIn = () => {
    at = numbers.map((n) => Math.max(0, Math.round(Number(n.value) || 0)));
    show();
  };
  picture.onload = () => set(over, "viewBox", `0 0 ${picture.naturalWidth} ${picture.naturalHeight}`);
  const point = (e) => {
    const r = over.getBoundingClientRect(), clamp = (v, most) => Math.round(Math.max(0, Math.min(most, v)));
    return [clamp(((e.clientX - r.left) / r.width) * picture.naturalWidth, picture.naturalWidth), clamp(((e.clientY - r.top) / r.height) * picture.naturalHeight, picture.naturalHeight)];
  };
  over.onpointerdown = (e) => {
    start = point(e);
    over.setPointerCapture(e.pointerId);
    e.preventDefault();
  };
  over.onpointermove = (e) => {
    if (!start) return;
    const p = point(e);
    at = [Math.min(start[0], p[0]), Math.min(start[1], p[1]), Math.abs(start[0] - p[0]), Math.abs(start[1] - p[1])];
    show();
  };
  over.onpointerup = () => (start = null);
  document.body.append(node);
  show();
  node.showModal();
}

