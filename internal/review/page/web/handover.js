import { el, fill, set, text, id } from "./dom.js";
import { say } from "./words.js";
import { percent, bytes, left } from "./format.js";
import { store, watch, changed } from "./store.js";
import { get, post } from "./server.js";
import { tell, alarm } from "./voice.js";
import { openThings } from "./settle.js";
import { field } from "./sheet.js";

// The room in which the handover is made, opened, and copied to a drive.

/** handoverRoom; to.settle() leads to what is still open. */
export function handoverRoom(to) {
  const heading = el("h2", { tabindex: "-1" }, say("handover")), state = el("p"), open = el("p", { class: "row" });
  const quick = check("make-quick"), buyer = check("make-buyer");
  const make = el("button", { type: "button", class: "main", onclick: () => begin("/api/make", { only: [], skip: [], quick: quick.on(), for: buyer.on() ? "buyer" : "" }) }, say("make"));
  const show = (what) => el("button", { type: "button", onclick: () => post("/api/show", { what }).catch(refused) }, say(`show-${what}`));
  const made = el("div", { class: "row" }, show("page"), show("report"), show("folder"));
  const work = progress(), copying = copy(buyer), first = unsaid(to);
  const node = el("div", { class: "page" }, heading,
    el("section", { class: "card" }, el("h3", {}, say("make")), state, open, first.node, el("div", {}, quick.node, buyer.node), el("div", { class: "row" }, make)),
    work.node, el("section", { class: "card" }, el("h3", {}, say("look-at-it")), made), copying.node);
  watch((job) => {
    const h = job.handover || {}, busy = !!job.task && job.task.state === "running", n = openThings(job);
    text(state, !h.made ? say("not-made") : h.stale ? say("made-stale") : say("made-fresh"));
    fill(open, n > 0 && [el("span", {}, say("still-open", { n })), el("button", { type: "button", onclick: to.settle }, say("settle"))]);
    set(make, "disabled", busy || job.state !== "ready");
    set(made.parentNode, "hidden", !h.made);
    work.show(job.task);
    first.show(job);
    copying.show(job, busy);
  });
  return { node, focus: () => { first.look(); heading.focus(); copying.look(); } };
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

async function begin(path, body) {
  try {
    const now = await post(path, body);
    if (store.job.task && store.job.task.id === now.id) return; // what became of it was quicker to be told
    store.job.task = now;
    changed();
  } catch (why) {
    refused(why);
  }
}

function refused(why) {
  alarm([why.message, why.hint].filter(Boolean).join(" "));
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
  const what = el("p"), bar = el("progress", { max: 1, "aria-label": say("progress") }), how = el("p", { class: "soft digits" }), said = el("ul", {});
  const stop = el("button", { type: "button", onclick: () => post("/api/stop").catch(refused) }, say("stop"));
  const node = el("section", { class: "card", "aria-label": say("progress") }, what, bar, how, said, el("div", { class: "row" }, stop));
  return {
    node,
    show(t) {
      set(node, "hidden", !t);
      if (!t) return;
      const busy = t.state === "running";
      text(what, busy ? say(t.kind === "make" ? "making" : "copying") : outcome(t));
      set(bar, "hidden", !busy);
      if (t.done === null || t.done === undefined) bar.removeAttribute("value");
      else bar.value = t.done;
      text(how, busy ? [t.step, t.done === null || t.done === undefined ? "" : percent(t.done), t.left_s ? left(t.left_s) : ""].filter(Boolean).join(" · ") : "");
      fill(said, t.state === "failed" && t.error ? [t.error.text, t.error.hint].filter(Boolean).map((s) => el("li", { class: "problem" }, s)) : (busy ? (t.said || []).slice(-6) : leftOver(t)).map((s) => el("li", {}, s)));
      set(stop, "hidden", !busy);
    },
  };
}

/** leftOver is what a person should know of what was made. */
function leftOver(t) {
  const r = t.result || {};
  return [...(r.warnings || []).map((w) => w.text || String(w)), ...(r.left_alone || [])];
}

function outcome(t) {
  if (t.state === "failed") return say("task-failed");
  if (t.state === "stopped") return say("task-stopped");
  const r = t.result || {};
  return t.kind === "make" ? say("make-result", { made: (r.made || []).length, kept: (r.kept || []).length }) : say("copy-done", { files: r.files || 0, bytes: bytes(r.bytes || 0), place: r.to || "" });
}

/** copy puts the handover on a drive: chosen from what is plugged in, or a folder typed. */
function copy(buyer) {
  const list = el("div", { class: "stack", role: "radiogroup", "aria-label": say("drives") }), name = id("drive");
  const path = el("input", { type: "text", id: id("path"), autocomplete: "off", oninput: () => { for (const r of list.querySelectorAll("input")) r.checked = false; } });
  const eject = check("copy-eject");
  const go = el("button", { type: "button", class: "main", onclick: () => start() }, say("copy"));
  const again = el("button", { type: "button", onclick: () => look() }, say("drives-again"));
  const node = el("section", { class: "card" }, el("h3", {}, say("copy-title")), el("p", { class: "help" }, say("copy-help")), list,
    el("div", { class: "field" }, el("label", { for: path.id }, say("copy-path")), path), eject.node, el("div", { class: "row" }, go, again));
  function start() {
    const chosen = list.querySelector("input:checked"), drive = path.value.trim() || (chosen && chosen.value);
    if (!drive) return alarm(say("choose-drive"));
    begin("/api/copy", { drive, eject: eject.on(), for: buyer.on() ? "buyer" : "" });
  }
  async function look() {
    const found = await get("/api/drives").catch(() => ({ drives: [] }));
    fill(list, (found.drives || []).length === 0 && el("p", { class: "soft" }, say("no-drives")), (found.drives || []).map((d) => {
      const radio = el("input", { type: "radio", name, id: id("drive"), value: d.path, disabled: d.fits === false, onchange: () => (path.value = "") });
      return el("label", { class: "check", for: radio.id }, radio, el("span", {}, el("bdi", {}, d.name || d.path), d.free_bytes >= 0 ? ` · ${say("free", { bytes: bytes(d.free_bytes) })}` : "", d.why ? ` · ${d.why}` : ""));
    }));
  }
  return {
    node,
    look,
    show(job, busy) {
      set(node, "hidden", !(job.handover && job.handover.made));
      set(go, "disabled", busy);
    },
  };
}

function check(key) {
  const input = el("input", { type: "checkbox", id: id(key) });
  return { on: () => input.checked, node: el("label", { class: "check", for: input.id }, input, say(key)) };
}
