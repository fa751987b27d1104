import { el, fill, set, text, keyed } from "./dom.js";
import { say, begin } from "./words.js";
import { time } from "./format.js";
import { store, correct, keyOf, saidOf, named } from "./store.js";
import { ask, media } from "./server.js";

// What was spoken and photographed on site. What belongs to a row stands with it, the
// rest below the list; either can be given to another row, to the push as a whole, or
// be left out.

/** besideOf are the notes and photos of a row; of none that takes part, without one. */
export function besideOf(job, row) {
  const rows = job.rows || [];
  const lost = (f) => f.left_out || !f.rows.some((n) => rows.some((r) => r.row === n && !r.aside));
  return (job.beside || []).filter((f) => (row ? !f.left_out && f.rows.includes(row.row) : lost(f)));
}

/** counted tells of how many notes and photos there are. */
export function counted(files) {
  const n = (kind) => files.filter((f) => f.kind === kind).length;
  return [n("spoken") && say("spoken-n", { n: n("spoken") }), n("photo") && say("photos-n", { n: n("photo") })].filter(Boolean).join(" · ");
}

/** fileCards shows files under a heading, and nothing where there are none. */
export function fileCards(heading) {
  const cards = el("ul", { class: "beside" });
  const node = el("section", { hidden: true }, el("h3", {}, heading), cards);
  return {
    node,
    show(job, files) {
      set(node, "hidden", files.length === 0);
      keyed(cards, files, (f) => f.file, card, (li, f) => li.show(job, f));
    },
  };
}

function card(f) {
  const name = el("span", { class: "soft" }, el("bdi", {}, f.file)), trouble = el("p", { class: "problem", lang: "en", hidden: true });
  const of = el("select", { onfocus: () => offer(of), onpointerdown: () => offer(of), onchange: () => give(li.of.file, of.value) });
  const li = el("li", { class: f.kind }, f.kind === "photo" ? photo(f, trouble) : note(f, trouble), el("div", { class: "stack grow" }, name, trouble, el("label", {}, say("belongs-to"), " ", of)));
  li.show = (job, now) => {
    li.of = now;
    text(name.firstChild, [now.file, now.length_s > 0 && time(now.length_s, 1), now.by_person && say("by-person")].filter(Boolean).join(" · "));
    set(li.firstChild, "hidden", !!now.trouble || !trouble.hidden);
    if (now.trouble) complain(trouble, now.trouble);
    if (document.activeElement !== of) fill(of, el("option", { value: "" }, belongs(job, now)));
  };
  return li;
}

function note(f, trouble) {
  return el("audio", { controls: true, preload: "none", src: media(f.url), "aria-label": f.file, onerror: (e) => { set(e.target, "hidden", true); why(f, trouble, "no-sound"); } });
}

function photo(f, trouble) {
  const img = el("img", { alt: f.file, loading: "lazy", src: media(f.url), onerror: () => { set(open, "hidden", true); why(f, trouble, "no-photo"); } });
  const open = el("a", { href: media(f.url), target: "_blank" }, img);
  return open;
}

/** why asks the program what is wrong with a file that the browser got nothing of. */
async function why(f, trouble, word) {
  const answer = await ask(f.url).catch(() => null);
  const told = answer && !answer.ok ? await answer.json().catch(() => null) : null;
  const wrong = told && told.error && (told.error.faults[0] || told.error);
  complain(trouble, wrong ? `${wrong.text}${wrong.hint ? ` (${wrong.hint})` : ""}` : say(word));
}

function complain(node, what) {
  text(node, what);
  set(node, "hidden", false);
}

/** belongs says what a file belongs to. */
function belongs(job, f) {
  if (f.left_out) return say("belongs-out");
  return f.rows.length === 0 ? say("belongs-whole") : f.rows.map((n) => label(job, n)).join(", ");
}

function label(job, n) {
  const o = job.timeline && job.timeline.observations.find((one) => one.row === n);
  if (o) return `${o.number} ${saidOf(o).name} · ${saidOf(o).where || "–"}`;
  const r = (job.rows || []).find((one) => one.row === n), name = r ? saidOf(r).name : "";
  return `${begin("row-n", { n })}${name ? ` · ${name}` : ""}`;
}

/** offer fills in what a file can be given to, once somebody is about to choose. */
function offer(of) {
  if (of.options.length > 1) return;
  const job = store.job, placed = job.timeline ? job.timeline.observations : [], lost = (job.rows || []).filter((r) => !r.placed && !r.aside);
  of.append(...[...placed, ...lost].map((r) => el("option", { value: `at ${keyOf(r)}` }, label(job, r.row))),
    el("option", { value: "whole" }, say("belongs-whole")), el("option", { value: "out" }, say("belongs-out")));
}

function give(file, to) {
  if (to === "") return;
  if (to === "out") return correct({ what: "omit", file });
  const row = to === "whole" ? null : (store.job.rows || []).find((r) => `at ${keyOf(r)}` === to);
  return correct({ what: "belongs", file, ...(row ? named(row) : {}) });
}
