import { el, fill, set, text, id } from "./dom.js";
import { say, known } from "./words.js";
import { store, watch, correct, undo } from "./store.js";
import { reply } from "./reply.js";
import { logoField } from "./logo.js";

// The room with the job sheet: who, where, what, how the counter was zeroed, what is
// shown. job.toml itself is never changed; what a person says here stands beside it.

const GROUPS = ["job", "line", "customer", "site", "firm", "distance", "recording", "log", "counter", "stills", "clips", "photos", "captions", "buyer"];
const OPEN = 6; // so many groups stand open, the rest is folded
const LONG = ["address", "reason", "access", "ended"];

/** sheetRoom; to.second() is the moment that the watching room shows. */
export function sheetRoom(to) {
  const heading = el("h2", { tabindex: "-1" }, say("sheet")), signed = el("p", { class: "help" }), groups = el("div", { class: "stack" });
  const node = el("div", { class: "page" }, heading, signed, groups);
  const fields = new Map();
  let built = "";
  const tape = taped();
  watch((job) => {
    text(signed, say("signed", { author: job.author || "–" }));
    const keys = (job.sheet || []).map((f) => f.key).join();
    if (keys !== built) {
      built = keys;
      fields.clear();
      fill(groups, GROUPS.map((g, i) => group(g, i < OPEN, (job.sheet || []).filter((f) => f.group === g), fields, to, tape)));
    }
    for (const f of job.sheet || []) fields.get(f.key).show(f);
    tape.show(job);
  });
  return {
    node,
    focus(key) {
      const f = key && fields.get(key);
      if (!f) return heading.focus();
      const fold = f.node.closest("details");
      if (fold) fold.open = true;
      f.node.scrollIntoView({ block: "center" });
      f.input.focus();
    },
  };
}

function group(name, open, of, fields, to, tape) {
  if (of.length === 0) return null;
  const nodes = of.map((f) => {
    const made = field(f, to);
    fields.set(f.key, made);
    return made.node;
  });
  return el("details", { class: "card", open }, el("summary", {}, el("h3", {}, say(`group-${name}`))),
    name === "distance" && el("p", { class: "help" }, say("distance-help")), el("div", { class: "fields" }, nodes), name === "distance" && tape.node);
}

/** field is one line of the job sheet, as its type is filled in; called stands for its label outside its group. */
export function field(f, to, called) {
  const key = f.key.replaceAll(".", "-"), name = called || (known(`sheet-${key}`) ? say(`sheet-${key}`) : f.key);
  const label = f.type === "length" ? `${name} (${store.job.units})` : name;
  if (f.key === "firm.logo") return logoField(label);
  const said = reply(), save = (value) => {
    said.clear();
    return correct({ what: "sheet", values: { [f.key]: value } }, (why) => said.refused(why, () => {}));
  };
  const from = el("span", { class: "soft" }), back = el("button", { type: "button", class: "quiet", onclick: () => save(null), hidden: true, "aria-label": say("back-to-sheet-of", { field: label }) }, say("back-to-sheet"));
  const input = make(f, label, save);
  const now = f.key === "recording.show_from" || f.key === "recording.show_to";
  const node = el("div", { class: "field" },
    f.type === "flag" ? el("label", { class: "check", for: input.id }, input, label) : [el("label", { for: input.id }, label), input],
    el("div", { class: "row" }, now && el("button", { type: "button", onclick: () => save(to.second()) }, say(f.key === "recording.show_from" ? "show-from-here" : "show-to-here")), from, back), said.node);
  let stands = null;
  return {
    node,
    input,
    show(g) {
      text(from, g.from === "person" ? say("by-person") : "");
      set(back, "hidden", g.from !== "person");
      const value = g.value === null || g.value === undefined ? "" : g.value;
      if (f.type === "flag") { input.checked = value === true || value === "true"; return; }
      if (said.open) return; // what was refused stays to be put right
      if (document.activeElement === input && input.value !== stands) return;
      stands = String(Array.isArray(value) ? value.join(", ") : value);
      input.stands = stands;
      if (input.value !== stands) input.value = stands;
    },
  };
}

function make(f, label, save) {
  const name = id("sheet");
  if (f.type === "flag") {
    const box = el("input", { type: "checkbox", id: name });
    box.onchange = () => save(box.checked);
    return box;
  }
  if (f.choices && f.choices.length > 0) {
    const list = el("select", { id: name }, el("option", { value: "" }, "–"), f.choices.map((c) => el("option", { value: c }, known(`choice-${c}`) ? say(`choice-${c}`) : c)));
    list.onchange = () => save(list.value === "" ? null : list.value);
    return list;
  }
  const long = LONG.some((l) => f.key.endsWith(`.${l}`));
  const input = el(long ? "textarea" : "input", { id: name, type: long ? null : f.type === "date" ? "date" : "text", autocomplete: "off", rows: long ? 2 : null });
  input.onchange = () => {
    if (input.value !== input.stands) save(input.value === "" && f.type !== "text" ? null : input.value);
    input.stands = input.value;
  };
  return input;
}

/** taped are the lengths known for certain, and the place for another. */
function taped() {
  const there = el("ul", { class: "list" }), said = reply(), unit = [el("span"), el("span")];
  const shown = el("input", { type: "text", id: id("taped"), autocomplete: "off" }), real = el("input", { type: "text", id: id("taped"), autocomplete: "off" });
  const add = el("button", { type: "button", onclick: async () => {
    if (!shown.value.trim() || !real.value.trim()) return (shown.value.trim() ? real : shown).focus();
    said.clear();
    if (await correct({ what: "taped", counter: shown.value.trim(), length: real.value.trim() }, (why) => said.refused(why, () => {}))) shown.value = real.value = "";
  } }, say("taped-add"));
  return {
    node: el("div", { class: "stack" }, el("h4", {}, say("taped")), there,
      el("div", { class: "fields" }, el("div", { class: "field" }, el("label", { for: shown.id }, say("taped-counter"), " ", unit[0]), shown), el("div", { class: "field" }, el("label", { for: real.id }, say("taped-length"), " ", unit[1]), real)), said.node,
      el("div", { class: "row" }, add)),
    show(job) {
      for (const u of unit) text(u, `(${job.units})`);
      fill(there, (job.taped || []).map((t) => el("li", { class: "row" }, el("span", { class: "grow" }, say("taped-says", { counter: t.counter, length: t.length })),
        t.edit && el("button", { type: "button", onclick: () => undo(t.edit) }, say("taped-away")))));
    },
  };
}

