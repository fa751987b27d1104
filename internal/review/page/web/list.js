import { el, keyed, fill, set, text } from "./dom.js";
import { say } from "./words.js";
import { time } from "./format.js";
import { keyOf, saidOf } from "./store.js";
import { small } from "./frames.js";
import { fileCards, besideOf, counted } from "./beside.js";
import { ties } from "./ties.js";

// Everything that was observed: placed ones in the order of the recording, then those
// without a place, then those that were set aside.

/** list shows them; look is the room that it stands in. */
export function list(look) {
  const placed = el("ol", { class: "list" }), lost = el("ol", { class: "list" }), aside = el("ol", { class: "list" });
  const lostHead = el("h3", {}, say("without-place")), asideHead = el("h3", {}, say("set-aside")), files = fileCards(say("beside-rest"));
  const head = el("h2"), none = el("p", { class: "soft" }, say("no-observations"));
  const clock = ties(look);
  const node = el("div", { class: "stack" },
    el("div", { class: "row" }, el("div", { class: "grow" }, head), el("button", { type: "button", class: "main", onclick: () => look.write() }, say("write-here"))),
    none, placed, lostHead, lost, asideHead, aside, files.node, clock.node,
    el("details", {}, el("summary", {}, say("keys")), el("ul", {}, ["keys-play", "keys-step", "keys-ten", "keys-second", "keys-back", "keys-undo"].map((k) => el("li", {}, say(k))))));
  return {
    node,
    show(job) {
      const seen = job.timeline ? job.timeline.observations : [], rows = job.rows || [];
      text(head, say("observations-n", { n: seen.length }));
      const away = rows.filter((r) => r.aside), open = rows.filter((r) => !r.placed && !r.aside);
      set(none, "hidden", seen.length + rows.length > 0);
      for (const [h, of] of [[lostHead, open], [asideHead, away]]) set(h, "hidden", of.length === 0);
      clock.show(job);
      const of = filesByRow(job);
      keyed(placed, seen, keyOf, () => item(look), (n, o) => placedItem(n, o, look, of.get(o.row)));
      keyed(lost, open, keyOf, () => item(look), (n, r) => rowItem(n, r, job));
      keyed(aside, away, keyOf, () => item(look), (n, r) => rowItem(n, r, job, true));
      files.show(job, besideOf(job));
    },
    tie: clock.ask,
    focus(key) {
      const b = key && node.querySelector(`[data-key="${CSS.escape(key)}"]`);
      (b || node.querySelector("button")).focus();
    },
  };
}

/** filesByRow counts the notes and photos of each row, in words. */
function filesByRow(job) {
  const of = new Map();
  for (const f of job.beside || []) for (const n of f.rows) of.set(n, [...(of.get(n) || []), f]);
  return new Map([...of].map(([n, files]) => [n, counted(files)]));
}

function item(look) {
  const b = el("button", { type: "button", class: "item", onclick: () => look.go(b.dataset.key) });
  return el("li", {}, b);
}

/** once redraws an item only where what it shows has changed. */
function once(li, key, shows, draw) {
  const b = li.firstChild, now = JSON.stringify(shows);
  b.dataset.key = key;
  if (b.shows === now) return;
  b.shows = now;
  fill(b, draw());
}

function placedItem(li, o, look, files) {
  const frame = look.count() > 0 ? look.frameAt(o.still_s ?? o.video_s) : null, said = saidOf(o);
  once(li, keyOf(o), [o.number, said, o.video_s, o.urgency, frame, o.basis, o.hidden, files], () => [
    frame === null ? el("span", { class: "blank" }) : picture(frame),
    el("strong", {}, `${o.number} `, el("bdi", {}, said.name)),
    el("span", { class: "digits" }, said.where || "–", o.urgency && o.urgency !== "none" ? [" · ", el("span", { class: "urgency" }, said.advice)] : ""),
    el("span", { class: "soft digits" }, `${time(o.video_s, 1)} ${say("plus-minus", { seconds: said.half })}`, o.hidden ? ` · ${say("outside")}` : "", o.basis === "person" ? ` · ${say("by-person")}` : "", files ? ` · ${files}` : ""),
  ]);
}

function picture(frame) {
  const img = el("img", { alt: "", width: 88, height: 66 });
  small(img, frame, 176);
  return img;
}

function rowItem(li, r, job, aside) {
  const cause = aside ? null : (job.timeline ? job.timeline.unplaced : []).find((u) => keyOf({ row: u.row, added: u.added }) === keyOf(r));
  once(li, keyOf(r), [r.written, cause && cause.cause, aside], () => [
    el("span", { class: "blank" }),
    el("strong", { class: aside ? "aside" : "" }, el("bdi", {}, saidOf(r).name || say("no-what"))),
    el("span", { class: "digits" }, el("bdi", {}, [r.written.time, r.written.distance].filter(Boolean).join(" · ") || "–")),
    el("span", { class: "soft" }, cause ? cause.cause : ""),
  ]);
}
