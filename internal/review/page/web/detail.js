import { el, fill, set, text } from "./dom.js";
import { say } from "./words.js";
import { time } from "./format.js";
import { store, choose, correct, undo, rowOf, placedOf, keyOf, saidOf, named } from "./store.js";
import { facts } from "./facts.js";
import { small } from "./frames.js";
import { fileCards, besideOf } from "./beside.js";

// One observation: where it stands and why, what was written of it, its picture and its
// excerpt. Whatever is changed is saved at once.

/** detail shows the chosen row; look is the room that it stands in. */
export function detail(look) {
  const node = el("div", { class: "detail stack" });
  const heading = el("h2", { tabindex: "-1" }), where = place(look), what = facts((values, refused) => change({ what: "set", values }, refused)), still = picture(look), cut = excerpt(look), files = fileCards(say("beside-row"));
  const back = el("button", { type: "button", onclick: () => { const was = store.chosen; look.list(was); } }, say("back-to-list"));
  const before = el("button", { type: "button", onclick: () => beside(-1) }, say("previous")), next = el("button", { type: "button", onclick: () => beside(1) }, say("next"));
  const aside = el("button", { type: "button", onclick: () => change({ what: rowOf(store.chosen).aside ? "restore" : "aside" }) });
  const asideHelp = el("p", { class: "help" }, say("aside-help"));
  node.append(el("div", { class: "row" }, back, el("span", { class: "grow" }), before, next), heading, where.node, what.node, files.node, still.node, cut.node, el("section", {}, asideHelp, el("div", { class: "row" }, aside)));

  function change(edit, refused) {
    const row = rowOf(store.chosen);
    return row && correct({ ...edit, ...named(row) }, refused);
  }
  where.change = still.change = cut.change = change;

  function beside(by) {
    const all = order(store.job), at = all.indexOf(store.chosen);
    const to = all[at + by];
    if (to) look.go(to);
  }

  let shown = null;
  return {
    node,
    show(job) {
      const row = rowOf(store.chosen), o = placedOf(store.chosen);
      if (!row) return queueMicrotask(() => choose(null));
      const all = order(job), at = all.indexOf(store.chosen);
      set(before, "disabled", at <= 0);
      set(next, "disabled", at < 0 || at >= all.length - 1);
      fill(heading, o ? `${o.number} ` : "", el("bdi", {}, saidOf(row).name || say("no-what")));
      where.show(job, row, o);
      what.show(job, row, o);
      still.show(o);
      cut.show(job, o);
      files.show(job, besideOf(job, row));
      text(aside, row.aside ? say("bring-back") : say("set-aside-do"));
      set(asideHelp, "hidden", row.aside);
      if (shown !== store.chosen) heading.focus({ preventScroll: true });
      shown = store.chosen;
    },
  };
}

/** order is the order of the list. */
function order(job) {
  const rows = job.rows || [];
  return [...(job.timeline ? job.timeline.observations : []), ...rows.filter((r) => !r.placed && !r.aside), ...rows.filter((r) => r.aside)].map(keyOf);
}

/** place tells where an observation stands in the recording, and takes "it was seen here". */
function place(look) {
  const sentence = el("span"), sure = el("span", { class: "soft" }), why = el("details"), reasons = el("ul"), anchors = el("div", { class: "row" });
  const go = el("button", { type: "button", onclick: () => look.go(store.chosen) }, say("go-there"));
  const all = el("button", { type: "button", class: "main", onclick: () => part.change({ what: "anchor", frame: look.frame() }) }, say("seen-here-all"));
  const one = el("button", { type: "button", onclick: () => part.change({ what: "seen", frame: look.frame() }) }, say("seen-here-one"));
  const help = el("p", { class: "help" });
  why.append(el("summary", {}, say("why")), reasons);
  const part = {
    node: el("section", {}, el("p", {}, sentence, " ", sure), el("div", { class: "row" }, go, why), help, el("div", { class: "row" }, all, one), anchors),
    show(job, row, o) {
      text(sentence, o ? say("stands-at", { time: time(o.video_s), distance: saidOf(o).where || "–" }) : row.aside ? say("is-aside") : say("has-no-place"));
      text(sure, o ? [o.basis !== "person" && say("sure-to", { plusminus: say("plus-minus", { seconds: saidOf(o).half }) }), say(`basis-${o.basis}`)].filter(Boolean).join(" ") : "");
      set(go, "disabled", !o);
      fill(reasons, (row.why || []).map((w) => el("li", {}, w)));
      set(why, "hidden", (row.why || []).length === 0);
      const timed = !row.added && row.written.time !== "";
      for (const b of [all, one]) set(b, "disabled", row.aside);
      set(all, "hidden", !timed);
      text(one, timed ? say("seen-here-one") : say("seen-here"));
      one.classList.toggle("main", !timed);
      text(help, timed ? say("seen-help") : say("seen-help-one"));
      const mine = (job.anchors || []).filter((a) => a.row === row.row && !row.added);
      fill(anchors, mine.map((a) => [
        el("span", { class: "grow" }, say(a.aside ? "anchor-aside" : "anchor-stands", { time: time(a.video_s) })),
        el("button", { type: "button", onclick: () => (a.edit ? part.undo(a.edit) : part.change({ what: "no-anchor" })) }, say("anchor-away")),
      ]));
    },
    undo: (edit) => undo(edit),
  };
  return part;
}

/** picture is the still that the customer gets. */
function picture(look) {
  const img = el("img", { class: "chosen-still", width: 240, height: 180, alt: "" }), said = el("p", { class: "soft" });
  const take = el("button", { type: "button", onclick: () => part.change({ what: "still", frame: look.frame() }) }, say("still-here"));
  const best = el("button", { type: "button", onclick: () => part.change({ what: "still", frame: null }) }, say("still-best"));
  const part = {
    node: el("section", {}, el("h3", {}, say("still")), el("div", { class: "row" }, img, el("div", { class: "stack grow" }, said, el("div", { class: "row" }, take, best)))),
    show(o) {
      set(part.node, "hidden", !o);
      if (!o || look.count() === 0) return;
      const s = o.still_s ?? o.video_s;
      small(img, look.frameAt(s), 480);
      set(img, "alt", say("still-of", { n: o.number, time: time(s) }));
      text(said, o.still_s === null || o.still_s === undefined ? say("still-auto") : say("still-chosen", { time: time(s) }));
      set(best, "disabled", o.still_s === null || o.still_s === undefined);
    },
  };
  return part;
}

/** excerpt is where the observation's clip starts and ends. */
function excerpt(look) {
  const said = el("p", { class: "digits" });
  let from = 0, to = 0;
  const cut = (f, t) => part.change(f === null ? { what: "clip", from_frame: null, to_frame: null } : { what: "clip", from_frame: Math.min(f, t), to_frame: Math.max(f, t) });
  const start = el("button", { type: "button", onclick: () => cut(look.frame(), Math.max(look.frame(), to)) }, say("clip-from-here"));
  const end = el("button", { type: "button", onclick: () => cut(Math.min(from, look.frame()), look.frame()) }, say("clip-to-here"));
  const auto = el("button", { type: "button", onclick: () => cut(null) }, say("clip-auto"));
  const part = {
    node: el("section", {}, el("h3", {}, say("clip")), said, el("div", { class: "row" }, start, end, auto)),
    show(job, o) {
      set(part.node, "hidden", !o || o.hidden);
      if (!o || look.count() === 0) return;
      const own = o.clip_from_s !== null && o.clip_from_s !== undefined;
      const a = own ? o.clip_from_s : Math.max(0, o.video_s - 2), b = own ? o.clip_to_s : Math.min(job.recording.duration_s, (o.video_end_s ?? o.video_s) + 4);
      [from, to] = [look.frameAt(a), look.frameAt(b)];
      text(said, own ? say("clip-runs", { from: time(a), to: time(b) }) : say("clip-automatic"));
      set(auto, "disabled", !own);
    },
  };
  return part;
}

