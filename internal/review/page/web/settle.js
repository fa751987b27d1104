import { el, fill, set, text } from "./dom.js";
import { say, begin, known } from "./words.js";
import { time } from "./format.js";
import { store, watch, correct, undo, keyOf, saidOf, named } from "./store.js";
import { counter } from "./counter.js";
import { typed } from "./facts.js";

// The room with everything that is still open: questions, the counter's confirming
// sheet, rows without a place, and what a person should know. Each has its way out.

/** openThings counts what waits for a person. */
export function openThings(job) {
  const asked = (job.questions || []).length, lost = (job.rows || []).filter((r) => !r.placed && !r.aside).length;
  const sheet = job.counter && job.counter.state === "found" && !job.counter.confirmed ? 1 : 0;
  return asked + lost + sheet + told(job).filter((w) => w.open && !w.noted).length + (job.trouble ? 1 : 0);
}

/** openTexts tells what waits for a person, a sentence each. */
export function openTexts(job) {
  const lost = (job.rows || []).filter((r) => !r.placed && !r.aside);
  return [
    job.trouble && job.trouble.text,
    ...(job.questions || []).map((q) => q.text),
    job.counter && job.counter.state === "found" && !job.counter.confirmed && say("warn-counter-unconfirmed"),
    ...lost.map((r) => `${begin("row-n", { n: r.row })} · ${r.written.what || say("no-what")}: ${say("warn-row-unplaced")}`),
    ...told(job).filter((w) => w.open && !w.noted).map((w) => w.text),
  ].filter(Boolean);
}

/** told are the warnings beside what has a card of its own. */
function told(job) {
  return (job.warnings || []).filter((w) => !w.own_card);
}

/** settleRoom; to.{row, seen, sheet, moment, tie}(…) lead to where a thing is put right. */
export function settleRoom(to) {
  const heading = el("h2", { tabindex: "-1" }), trouble = el("div", { class: "stack" }), questions = el("div", { class: "stack" }), lost = el("div", { class: "stack" }), warnings = el("div", { class: "stack" });
  const box = counter(to), none = el("p");
  const lostHead = el("h3", {}, say("without-place")), knowHead = el("h3", {}, say("to-know"));
  const seen = el("div", { class: "stack" }), seenHead = el("summary"), past = el("details", {}, seenHead, seen);
  const node = el("div", { class: "page" }, heading, none, trouble, questions, box.node, lostHead, lost, knowHead, warnings, past);
  watch((job) => {
    const n = openThings(job);
    // Nothing is settled for good while the recording is being read: that may bring more.
    text(heading, n > 0 ? say("settle-n", { n }) : say(job.reading ? "settle-wait" : "settle-none"));
    text(none, say(job.reading ? "still-reading" : "nothing-open"));
    set(none, "hidden", n > 0 && !job.reading);
    again(trouble, job.trouble, () => job.trouble && troubleCard(job.trouble));
    again(questions, job.questions, () => (job.questions || []).map(question));
    box.show(job);
    const open = (job.rows || []).filter((r) => !r.placed && !r.aside);
    set(lostHead, "hidden", open.length === 0);
    again(lost, [open, job.timeline && job.timeline.unplaced], () => open.map((r) => unplaced(r, job, to)));
    const know = told(job).filter((w) => !w.noted), noted = told(job).filter((w) => w.noted);
    set(knowHead, "hidden", know.length === 0);
    again(warnings, know, () => know.map((w) => warning(w, to)));
    set(past, "hidden", noted.length === 0);
    text(seenHead, say("noted-n", { n: noted.length }));
    again(seen, noted, () => noted.map((w) => warning(w, to)));
  });
  return {
    node,
    focus() {
      // The counter's sheet stands in front while it waits for a yes, else behind the rest.
      const waits = store.job.counter && (store.job.counter.state === "found" ? !store.job.counter.confirmed : store.job.counter.state === "reading");
      (waits ? lostHead : past).before(box.node);
      heading.focus();
    },
  };
}

/** again redraws only what has changed, so that a field that is being filled in stays. */
function again(node, shows, draw) {
  const now = JSON.stringify(shows ?? null);
  if (node.shows === now) return;
  node.shows = now;
  fill(node, draw());
}

function troubleCard(t) {
  return el("div", { class: "card open", role: "group", "aria-label": say("trouble") }, el("h3", {}, say("trouble")),
    el("p", {}, t.text), t.hint && el("p", { class: "help" }, t.hint),
    t.faults && t.faults.length > 0 && el("ul", {}, t.faults.map((f) => el("li", {}, el("bdi", {}, f.where ? `${f.where}: ` : ""), f.text, f.hint ? ` (${f.hint})` : ""))));
}

function question(q) {
  // What a click answers needs no telling how it is written into a file.
  const answered = (q.choices || []).length > 0, whole = (q.choices || []).some((c) => c.edit.what === "sheet");
  const choices = (q.choices || []).map((c) => el("button", { type: "button", onclick: () => correct(c.edit) }, el("bdi", {}, c.label)));
  return el("div", { class: "card open", role: "group", "aria-label": say("question") },
    el("h3", {}, say("question")), el("p", {}, q.text), q.where && el("p", { class: "soft" }, el("bdi", {}, q.where)),
    el("div", { class: "row" }, choices), q.hint && !answered && el("p", { class: "help" }, q.hint), q.row && q.field && !whole && otherwise(q.row, q.field));
}

/** otherwise takes what a cell should have said. */
function otherwise(row, field) {
  const f = typed(field, (values, refused) => correct({ what: "set", row, values }, refused));
  text(f.node.querySelector("label"), say("or-typed", { field: say(`field-${field}`) }));
  return f.node;
}

const FIELDS = ["time", "video", "distance", "to", "what", "clock", "urgency", "note", "size", "depth"];

function unplaced(r, job, to) {
  const u = (job.timeline ? job.timeline.unplaced : []).find((o) => o.row === r.row);
  const said = FIELDS.map((k) => [k, r.written[k]]).filter(([, v]) => v).map(([k, v]) => `${say(`field-${k}`)}: ${v}`).join(" · ");
  return el("div", { class: "card open", role: "group", "aria-label": begin("row-n", { n: r.row }) },
    el("h3", {}, begin("row-n", { n: r.row }), " · ", el("bdi", {}, saidOf(r).name || say("no-what"))),
    el("p", { class: "soft" }, el("bdi", {}, said)), u && el("p", {}, u.cause),
    el("div", { class: "row" },
      el("button", { type: "button", class: "main", onclick: () => to.seen(keyOf(r)) }, say("find-it")),
      el("button", { type: "button", onclick: () => correct({ what: "aside", ...(r.added ? { on: r.added } : { row: r.row }) }) }, say("set-aside-do"))));
}

function warning(w, to) {
  const title = known(`warn-${w.code}`) ? say(`warn-${w.code}`) : say("warn");
  const note = known(`noted-${w.code}`) ? say(`noted-${w.code}`) : say("noted");
  const leave = w.noted ? el("button", { type: "button", onclick: () => undo(w.noted) }, say("noted-away"))
    : el("button", { type: "button", onclick: () => correct({ what: "noted", code: w.code, text: w.said, key: w.key }) }, note);
  const others = waysOf(w).map((way) => el("button", { type: "button", onclick: () => take(way, to) }, label(way, w)));
  return el("div", { class: w.open && !w.noted ? "card open" : "card", role: "group", "aria-label": title },
    el("h3", {}, title, w.row ? ` · ${say("row-n", { n: w.row })}` : ""), el("p", {}, w.text),
    el("div", { class: "row" }, known(`noted-${w.code}`) ? [leave, others] : [others, leave]), w.hint && !(others.length > 0 && ofFiles(w.hint)) && el("p", { class: "help" }, w.hint));
}

/** ofFiles tells a hint that says what to write into a file: where a button does it, a browser needs no such hint. */
export function ofFiles(hint) {
  return /\.toml|\[[a-z.]+\]|\w+ = /.test(hint);
}

/** waysOf: whatever belongs to a row can at least be looked at there. */
function waysOf(w) {
  const ways = w.ways || [];
  return w.row && !ways.some((x) => x.row === w.row) ? [...ways, { do: "row", row: w.row }] : ways;
}

function label(way, w) {
  if (way.say) return say(way.say, { value: way.value });
  if (way.do === "sheet") return say("way-sheet", { field: known(`sheet-${way.key.replace(".", "-")}`) ? say(`sheet-${way.key.replace(".", "-")}`) : way.key });
  if (way.do === "fill" && way.value) return say("way-fill-with", { value: way.value });
  if (way.do === "goto") return say("way-look", { time: time(way.video_s, 1) });
  if (way.do === "tie") return say((w.ways || []).some((x) => x.say === "way-tie-yes") ? "way-tie-no" : "way-tie");
  return say({ seen: "find-it", fill: "way-fill", counter: "way-counter" }[way.do] || "way-row");
}

function take(way, to) {
  const row = (store.job.rows || []).find((r) => r.row === way.row) || { row: way.row };
  const doing = {
    edit: () => correct(way.edit),
    undo: () => undo(way.undo),
    seen: () => to.seen(keyOf(row)),
    row: () => to.row(keyOf(row)),
    fill: () => (way.value ? correct({ what: "set", ...named(row), values: { [way.field]: way.value } }) : to.row(keyOf(row), way.field)),
    sheet: () => to.sheet(way.key),
    counter: () => store.job.counter && document.getElementById("counter").scrollIntoView(),
    goto: () => to.moment(way.video_s),
    tie: () => to.tie(way.video_s),
  }[way.do];
  if (doing) doing();
}
