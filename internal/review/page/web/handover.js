import { el, fill, set, text, id } from "./dom.js";
import { say, known, upper } from "./words.js";
import { percent, left } from "./format.js";
import { store, watch, changed } from "./store.js";
import { get, post } from "./server.js";
import { tell, alarm } from "./voice.js";
import { openThings, openTexts } from "./settle.js";
import { field } from "./sheet.js";
import { reply } from "./reply.js";
import { drive, pullOut } from "./drive.js";

// The room that leads a handover to a drive: make it, look at it, agree to what leaves the
// house with it, copy it, take the drive out. One button goes on; what a person has said
// holds for what was looked at, and is asked again once that was made anew.

const STEPS = ["make", "look", "leaves", "copy", "out"];

/** stepOf is the step at which a handover stands: f is what the program says of it, task what runs or ran last. */
export function stepOf(f, task) {
  const mine = task && task.for === f.for ? task : null;
  if (!f.made || f.changed.length > 0 || (mine && mine.kind === "make" && mine.state === "running")) return "make";
  if (!f.looked) return "look";
  if (!f.agreed) return "leaves";
  return mine && mine.kind === "copy" && mine.state === "done" && mine.result.edition === f.edition ? "out" : "copy";
}

/** handoverRoom; to.settle() leads to what is still open. */
export function handoverRoom(to) {
  const heading = el("h2", { tabindex: "-1" }, say("handover"));
  const readers = whose(() => { finish = null; another = false; look(); });
  const work = progress(), said = reply(), first = unsaid(to), quick = check("make-quick");
  const copying = drive(), out = pullOut();
  const state = el("p"), edition = el("p", { class: "help" }), summary = el("div", { class: "paper" }), open = el("div", { class: "stack" }), leaves = el("div", { class: "stack" });
  const show = (what) => el("button", { type: "button", onclick: () => post("/api/show", { what, for: readers.value() }).catch(refused) }, say(`show-${what}`));
  const bodies = {
    make: [state, first.node, quick.node],
    look: [edition, el("p", { class: "help" }, say("look-help")), summary, el("div", { class: "row" }, show("page"), show("report"), show("folder")), open],
    leaves: [leaves],
    copy: [copying.node],
    out: [out.node],
  };
  const parts = Object.fromEntries(STEPS.map((s, i) => [s, part(s, i, bodies[s])]));
  const main = el("button", { type: "button", class: "main", id: "go-on", onclick: () => goOn() });
  const go = el("div", { class: "stack" }, work.node, said.node, el("div", { class: "row" }, main, work.stop));
  const node = el("div", { class: "page" }, heading, readers.node, el("ol", { class: "way-out" }, STEPS.map((s) => parts[s].node)));
  let finish = null, asked = 0, heard = "", step = "", another = false;

  /** look asks how far the handover is. */
  async function look() {
    const mine = ++asked, reader = readers.value();
    const f = await get(`/api/finish?for=${reader}`).catch(refused);
    if (!f || mine !== asked) return;
    finish = f;
    draw(store.job);
    if (step === "copy") copying.look(reader);
  }

  function draw(job) {
    const task = job.task, busy = !!task && task.state === "running";
    if (busy && task.for !== readers.value()) readers.choose(task.for);
    if (!finish || finish.for !== readers.value()) return;
    let now = stepOf(finish, task);
    if (now === "out" && another) now = "copy";
    if (now !== step) {
      const was = step;
      step = now;
      said.clear();
      for (const s of STEPS) parts[s].stand(STEPS.indexOf(s) - STEPS.indexOf(now));
      parts[now].body.append(go);
      if (now === "copy") copying.look(readers.value());
      if (was) parts[now].node.scrollIntoView({ block: "nearest" });
    }
    text(state, !finish.made ? say("not-made") : finish.changed.length > 0 ? say("made-stale", { what: finish.changed.join(", ") }) : say("made-fresh"));
    text(edition, finish.made ? say("edition-n", { n: finish.number }) : "");
    fill(summary, summed(finish.summary));
    fill(open, stillOpen(job, to));
    fill(leaves, leaving(finish, to));
    work.show(task, step);
    copying.show(busy);
    out.show(task, readers.value());
    text(main, caption(job, busy));
    set(main, "disabled", busy || (step === "make" && job.state !== "ready"));
  }

  function caption(job, busy) {
    if (busy) return say(job.task.kind === "make" ? "making-now" : "copying-now", { percent: job.task.done === null ? "…" : percent(job.task.done) });
    const n = openThings(job);
    if (step === "make") return say(finish.made ? "make-again" : "make");
    if (step === "look") return n > 0 ? say("looked-open", { n }) : say("looked");
    if (step === "leaves") return say(finish.outgoing.length > 0 ? "may-go" : "go-on");
    return say(step === "copy" ? "copy" : "copy-another");
  }

  async function goOn() {
    said.clear();
    const reader = readers.value();
    if (step === "make") return begin("/api/make", { only: [], skip: [], quick: quick.on(), for: reader });
    if (step === "look" || step === "leaves") {
      const f = await post("/api/finish", { step: step === "look" ? "looked" : "agreed", for: reader, edition: finish.edition }).catch(refused);
      if (f) finish = f;
      draw(store.job);
      return main.focus();
    }
    if (step === "out") {
      another = true;
      return draw(store.job);
    }
    const to = copying.chosen();
    if (!to) return said.refused({ message: say("choose-drive") });
    another = false;
    begin("/api/copy", { drive: to, for: reader });
  }

  async function begin(path, body) {
    const now = await post(path, body).catch(refused);
    if (!now || (store.job.task && store.job.task.id === now.id)) return; // what became of it was quicker to be told
    store.job.task = now;
    changed();
  }
  function refused(why) {
    said.refused(why);
  }

  watch((job) => {
    first.show(job);
    if (!node.isConnected) return void (heard = "");
    draw(job);
    const now = JSON.stringify([job.revision, job.task && job.task.id, job.task && job.task.state]);
    if (now !== heard) look();
    heard = now;
  });
  return { node, focus: () => { first.look(); heading.focus(); look(); } };
}

/** part is one step on the way: a fold that lies open while it is its turn. */
function part(name, i, body) {
  const mark = el("span", { class: "mark", "aria-hidden": "true" }), how = el("span", { class: "soft" });
  const inside = el("div", { class: "stack" }, body);
  const fold = el("details", { class: "card" }, el("summary", {}, mark, el("h3", {}, say(`step-${name}`)), how), inside);
  return {
    node: el("li", {}, fold),
    body: inside,
    /** stand says whether it is done (less than 0), its turn, or still to come. */
    stand(away) {
      set(fold, "open", away === 0);
      set(fold, "hidden", false);
      fold.classList.toggle("later", away > 0);
      fold.classList.toggle("turn", away === 0);
      set(fold.parentNode, "aria-current", away === 0 ? "step" : null);
      text(mark, away < 0 ? "✓" : String(i + 1));
      text(how, away < 0 ? say("step-done") : "");
    },
  };
}

/** summed sets out what the customer's page says first. */
function summed(lines) {
  if (lines.length === 0) return el("p", { class: "soft" }, say("no-page"));
  return lines.map((l) => (l.kind === "li" ? el("p", { class: "item-of" }, el("bdi", {}, l.text)) : el(l.kind === "p" ? "p" : "h4", {}, el("bdi", {}, l.text))));
}

/** stillOpen lists what waits for a person. */
function stillOpen(job, to) {
  const n = openThings(job), texts = openTexts(job);
  return [job.reading && el("p", { class: "soft" }, say("still-reading")),
    el("p", {}, el("strong", {}, n > 0 ? say("still-open", { n }) : say("nothing-open-short"))),
    texts.length > 0 && el("ul", {}, texts.slice(0, 6).map((t) => el("li", {}, t)), texts.length > 6 && el("li", {}, "…")),
    n > 0 && el("div", { class: "row" }, el("button", { type: "button", onclick: to.settle }, say("settle")))].filter(Boolean);
}

// Where each kind of thing that leaves the house is kept back: a field of the job sheet, for
// the customer and for a buyer. The rest is corrected where it was written.
const KEPT_BACK = {
  positions: ["photos.location", "photos.location"], as_filmed: ["recording.show_from", "buyer.as_filmed"], sound: ["recording.sound", "buyer.sound"],
  spoken: ["", "buyer.spoken"], photos: ["", "buyer.photos"], picture: ["recording.show_from", "recording.show_from"],
};

/** leaving lists what goes out besides what the reader is to get. */
function leaving(f, to) {
  if (f.outgoing.length === 0) return el("p", {}, say("leaves-none"));
  return [el("p", { class: "help" }, say("leaves-help")), el("ul", { class: "leaves" }, f.outgoing.map((o) => {
    const key = (KEPT_BACK[o.code] || ["", ""])[f.for ? 1 : 0];
    return el("li", {}, el("p", {}, o.found ? el("strong", {}, upper(o.text)) : upper(o.text)),
      el("p", { class: "help" }, known(`leaves-${o.code}`) ? say(`leaves-${o.code}`) : o.hint, " ",
        el("button", { type: "button", class: "quiet", onclick: () => (key ? to.sheet(key) : to.watch()) }, say("leaves-change"))));
  }))];
}

/** whose is the choice of who gets it. It outlives a reload. */
function whose(picked) {
  const name = id("reader"), kept = sessionStorage.getItem("reader") || "";
  const radios = ["", "buyer"].map((r) => el("input", { type: "radio", class: "sr", name, id: id("reader"), value: r, onchange: () => { sessionStorage.setItem("reader", r); picked(); } }));
  const choose = (r) => radios.forEach((x) => set(x, "checked", x.value === r));
  choose(kept);
  return {
    node: el("fieldset", {}, el("legend", {}, say("reader")), el("div", { class: "choices" }, radios.map((r) => el("label", { class: "choice", for: r.id }, r, say(r.value ? "reader-buyer" : "reader-customer"))))),
    value: () => (radios.find((r) => r.checked) || radios[0]).value,
    choose(r) { choose(r); sessionStorage.setItem("reader", r); picked(); },
  };
}

// What the customer reads before anything else.
const FIRST = ["job.reference", "line.name", "customer.name", "site.address"];

/** unsaid asks here for what the job sheet leaves empty of it; a field once shown stays while the room is open. */
function unsaid(to) {
  const fields = el("div", { class: "fields" }), node = el("div", {}, el("p", { class: "help" }, say("read-first")), fields);
  let shown = new Map();
  const sheet = (job) => (job.sheet || []).filter((f) => FIRST.includes(f.key));
  return {
    node,
    look() {
      shown = new Map(sheet(store.job).filter((f) => f.value === null).map((f) => [f.key, field(f, to, `${say(`group-${f.group}`)}: ${say(`sheet-${f.key.replace(".", "-")}`)}`)]));
      fill(fields, [...shown.values()].map((f) => f.node));
      set(node, "hidden", shown.size === 0);
      this.show(store.job);
    },
    show: (job) => sheet(job).forEach((f) => shown.has(f.key) && shown.get(f.key).show(f)),
  };
}

/** task takes the program's word on the work that runs. */
export function task(now) {
  const before = store.job.task;
  store.job.task = now;
  if (now.state !== "running" && (!before || before.state === "running")) {
    if (now.state === "failed") alarm([now.error && now.error.text, now.error && now.error.hint].filter(Boolean).join(" "));
    else tell(now.state === "done" ? say(now.kind === "make" ? "make-done" : "copy-done-short") : say("task-stopped"));
  }
  changed();
}

function progress() {
  const bar = el("progress", { max: 1, "aria-label": say("progress") }), how = el("p", { class: "soft digits" }), said = el("ul", {});
  const stop = el("button", { type: "button", onclick: () => post("/api/stop").catch((why) => alarm(why.message)) }, say("stop"));
  const node = el("div", { class: "stack", role: "group", "aria-label": say("progress") }, bar, how, said);
  return {
    node,
    stop,
    show(t, step) {
      const busy = !!t && t.state === "running", over = !!t && !busy && t.state !== "done" && t.kind === step;
      set(node, "hidden", !busy && !over);
      set(bar, "hidden", !busy);
      set(stop, "hidden", !busy);
      if (!busy && !over) return;
      const done = t.done !== null && t.done !== undefined;
      if (done) bar.value = t.done;
      else bar.removeAttribute("value");
      text(how, busy ? [t.step, done ? percent(t.done) : "", t.left_s ? left(t.left_s) : ""].filter(Boolean).join(" · ") : say(t.state === "failed" ? "task-failed" : "task-stopped"));
      fill(said, t.error ? [t.error.text, t.error.hint].filter(Boolean).map((s) => el("li", { class: "problem" }, s)) : (busy ? t.said || [] : []).slice(-6).map((s) => el("li", {}, s)));
    },
  };
}

function check(key) {
  const input = el("input", { type: "checkbox", id: id(key) });
  return { on: () => input.checked, node: el("label", { class: "check", for: input.id }, input, say(key)) };
}
