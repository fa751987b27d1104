import { el, fill, id } from "./dom.js";
import { say } from "./words.js";
import { time } from "./format.js";
import { correct, undo, keyOf, saidOf } from "./store.js";
import { ahead } from "./ahead.js";
import { dial } from "./dial.js";
import { clockText, typed } from "./facts.js";
import { reply } from "./reply.js";

// Writing the log while watching: one touch on a kind writes it down at the frame that
// is shown at that moment. What is set beside it (distance, clock, note) goes with the
// next one.

const DIGITS = ["1", "2", "3", "4", "5", "6", "7", "8", "9"];

/** pad writes down; done closes it. */
export function pad(look, done) {
  const heading = el("h2", { tabindex: "-1" }, say("pad"));
  const hold = box("pad-hold", false), keys = box("pad-keys", true);
  const buttons = el("div", { class: "pad", role: "group", "aria-label": say("field-what") });
  const what = ahead(say("pad-typed"), (t, k) => t && write(k || { text: t }));
  what.leave = false;
  const said = reply();
  const distance = typed("distance", () => {}), note = typed("note", () => {}, "textarea");
  // Not when the field is left: what vanishes then moves the buttons from under the finger.
  distance.input.addEventListener("input", () => said.clear());
  let clock = [null, null], kinds = [], shown = "";
  const wall = dial((a, b) => (clock = [a, b]));
  const extra = el("details", {}, el("summary", {}, say("pad-more")), el("div", { class: "stack" }, el("fieldset", {}, el("legend", {}, say("field-clock")), wall), note.node));
  const lately = el("ul", { class: "list" });
  const node = el("div", { class: "stack" },
    el("div", { class: "row" }, el("div", { class: "grow" }, heading), el("button", { type: "button", onclick: done }, say("pad-done"))),
    el("p", { class: "help" }, say("pad-help")), distance.node, said.node, buttons, what, extra, el("div", {}, hold.node, keys.node), el("h3", {}, say("pad-lately")), lately);

  /** write adds an observation; the frame is the one at the touch, however long saving takes. What was set beside it stays until it is saved. */
  async function write(k) {
    const frame = look.frame(), was = look.playing(), values = { what: k.text };
    if (distance.input.value.trim()) values.distance = distance.input.value.trim();
    if (clock[0] !== null) values.clock = clockText(...clock);
    if (note.input.value.trim()) values.note = note.input.value.trim();
    if (k.urgency) values.urgency = k.urgency;
    if (was && hold.on()) look.hold(true);
    said.clear();
    const set = filled();
    const saved = (answer) => {
      if (filled() === set) clear(); // else the next one is being filled in
      if (was && hold.on()) what.input.blur();
      went(answer, frame, values.distance);
    };
    const answer = await correct({ what: "add", frame, values }, (why) => said.refused(why, saved));
    if (answer) saved(answer);
  }
  /** went says so where the counter shows the distance in another picture than the one that was shown. */
  function went(answer, frame, written) {
    const o = written && answer.timeline && answer.timeline.observations.find((one) => one.added === answer.added);
    if (!o || o.basis === "person") return;
    said.told(say("pad-went", { distance: saidOf(o).where || written, time: time(o.video_s) }), [
      [say("go-there"), () => look.seek(o.video_s)],
      [say("pad-not-there"), () => correct({ what: "seen", on: answer.added, frame }, (why) => said.refused(why, () => {}))],
    ]);
  }
  const filled = () => JSON.stringify([distance.input.value, note.input.value, what.input.value, clock]);
  function clear() {
    distance.input.value = "";
    note.input.value = "";
    what.value("");
    what.input.value = "";
    wall.show(null, null);
    clock = [null, null];
  }
  return {
    node,
    /** key writes down the kind whose key was pressed. */
    key(e) {
      const i = DIGITS.indexOf(e.key);
      if (i < 0 || !keys.on() || e.ctrlKey || e.altKey || e.metaKey || !kinds[i] || e.target.closest("select, textarea, input:not([type=range], [type=checkbox])")) return false;
      e.preventDefault();
      write(kinds[i]);
      return true;
    },
    begin: () => queueMicrotask(() => heading.focus({ preventScroll: true })),
    show(job) {
      kinds = job.kinds || [];
      what.offer(kinds);
      wall.travel(job.timeline && job.timeline.job.line.travel);
      distance.unit(job.typed_unit);
      const now = JSON.stringify(kinds);
      if (now !== shown) {
        shown = now;
        fill(buttons, kinds.map((k, i) => el("button", { type: "button", onclick: () => write(k) }, k.text, DIGITS[i] && el("kbd", { "aria-hidden": "true" }, DIGITS[i]))));
      }
      const added = (job.timeline ? job.timeline.observations : []).filter((o) => o.added).sort((a, b) => last(job, b) - last(job, a)).slice(0, 4);
      fill(lately, added.length === 0 && el("li", { class: "soft" }, say("pad-nothing")), added.map((o) => el("li", { class: "row" },
        el("span", { class: "grow digits" }, `${time(o.video_s, 1)} · `, el("bdi", {}, saidOf(o).name), ` · ${saidOf(o).where || "–"}`, saidOf(o).advice ? ` · ${saidOf(o).advice}` : ""),
        el("button", { type: "button", onclick: () => look.go(keyOf(o)) }, say("pad-open")),
        el("button", { type: "button", onclick: () => undo(o.added) }, say("pad-away")))));
    },
  };
}

function last(job, o) {
  return (job.edits || []).findIndex((e) => e.id === o.added);
}

function box(key, on) {
  const input = el("input", { type: "checkbox", id: id(key) });
  input.checked = on;
  return { on: () => input.checked, node: el("label", { class: "check", for: input.id }, input, say(key)) };
}

