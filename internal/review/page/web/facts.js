import { el, fill, set, text, id } from "./dom.js";
import { say, urgency } from "./words.js";
import { ahead } from "./ahead.js";
import { dial, hour } from "./dial.js";
import { reply } from "./reply.js";

// What was written of an observation: its kind, place, clock position, urgency and
// note, as typed. What differs from the log says so and can go back to it.

const URGENCIES = ["none", "watch", "repair", "at once"];

/** facts shows the fields; save(values, refused) is called with each one that was changed; refused(why) shows why it can't be, beside the field. */
export function facts(save) {
  const what = ahead(say("field-what"), (t) => save({ what: t }));
  const distance = typed("distance", save), to = typed("to", save), note = typed("note", save, "textarea"), size = typed("size", save), depth = typed("depth", save), when = typed("time", save);
  const how = urgencies((u) => save({ urgency: u }));
  const clock = dial((a, b) => save({ clock: clockText(a, b) }));
  const fromLog = el("div", { class: "stack" });
  const node = el("section", {},
    what, how.node, el("div", { class: "fields" }, distance.node, to.node),
    el("fieldset", {}, el("legend", {}, say("field-clock")), clock), note.node,
    el("details", {}, el("summary", {}, say("more-fields")), el("div", { class: "fields" }, when.node, size.node, depth.node)), fromLog);
  let row = null;
  return {
    node,
    show(job, r, o) {
      const other = row !== null && row !== r.added && row !== r.row;
      row = r.added || r.row;
      what.offer(job.kinds);
      if (other) what.input.blur();
      what.value(r.written.what);
      for (const f of [distance, to, note, size, depth, when]) f.show(r.written[f.field], other);
      for (const f of [distance, to, depth]) f.unit(job.typed_unit);
      set(when.node, "hidden", !r.log);
      how.show((o && o.urgency) || urgencyOf(r.written.urgency));
      clock.travel(job.timeline && job.timeline.job.line.travel);
      clock.show(...(o ? [o.clock_from, o.clock_to] : read(r.written.clock)));
      fill(fromLog, r.log && differing(r).map((f) => el("div", { class: "row soft" },
        el("span", { class: "grow" }, `${say(`field-${f}`)}: `, say("log-says"), " ", el("bdi", {}, r.log[f] || "–")),
        el("button", { type: "button", onclick: () => save({ [f]: null }) }, say("back-to-log")))));
    },
  };
}

/** clockText is a clock position as a log would have it. */
export function clockText(from, to) {
  return from === null ? "" : from === to ? hour(from) : `${hour(from)}-${hour(to)}`;
}

/** read understands what clockText writes; for a row that has no place yet. */
function read(written) {
  const m = /^(\d{1,2})(:30)?(?:-(\d{1,2})(:30)?)?$/.exec(written || "");
  if (!m) return [null, null];
  const h = (n, half) => (half ? (Number(n) % 12) + 0.5 : Number(n));
  const from = h(m[1], m[2]);
  return [from, m[3] ? h(m[3], m[4]) : from];
}

function differing(r) {
  return Object.keys(r.written).filter((f) => r.log[f] !== undefined && r.written[f] !== r.log[f]);
}

function urgencyOf(written) {
  return URGENCIES.find((u) => u === written || urgency(u) === written) || null;
}

/** typed is a field whose text is saved when it is left, or with Enter. */
export function typed(field, save, tag = "input") {
  const input = el(tag, { id: id(field), type: tag === "input" ? "text" : null, autocomplete: "off", "data-field": field, inputmode: field === "note" ? null : "text" });
  const said = reply(), label = el("label", { for: input.id }, say(`field-${field}`));
  let stands = "", saved = "";
  const done = () => {
    if (input.value === stands) return;
    stands = input.value;
    said.clear();
    save({ [field]: input.value }, (why) => said.refused(why, () => {}));
  };
  input.onchange = done;
  input.oninput = () => said.clear();
  input.onkeydown = (e) => {
    if (e.key === "Enter" && (tag === "input" || e.ctrlKey)) done();
    if (e.key === "Escape") { input.value = stands = saved; said.clear(); e.stopPropagation(); }
  };
  return {
    field,
    node: el("div", { class: "field" }, label, input, said.node),
    /** unit prints the unit that a number without one is taken to be in. */
    unit: (u) => text(label, `${say(`field-${field}`)} (${u})`),
    show(value, afresh) {
      saved = value || "";
      if (afresh) said.clear();
      if (said.open) return; // what was refused stays to be put right
      if (!afresh && document.activeElement === input && input.value !== stands) return; // somebody is typing
      stands = value || "";
      if (input.value !== stands) input.value = stands;
    },
    input,
  };
}

function urgencies(picked) {
  const name = id("urgency");
  const radios = URGENCIES.map((u) => el("input", { type: "radio", class: "sr", name, id: id("u"), value: u, onchange: () => picked(u) }));
  return {
    node: el("fieldset", {}, el("legend", {}, say("field-urgency")),
      el("div", { class: "choices" }, radios.map((r) => el("label", { class: "choice", for: r.id }, r, urgency(r.value))))),
    show(u) {
      for (const r of radios) set(r, "checked", r.value === u);
    },
  };
}

