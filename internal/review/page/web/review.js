import { el, fill, set, text } from "./dom.js";
import { say } from "./words.js";
import { store, watch, load, refresh, undo, redo, again, drop, changed, heard } from "./store.js";
import { listen, post, shown } from "./server.js";
import { voices, tell, alarm } from "./voice.js";
import { told } from "./changes.js";
import { watchRoom } from "./watch.js";
import { settleRoom, openThings } from "./settle.js";
import { sheetRoom } from "./sheet.js";
import { handoverRoom, task } from "./handover.js";

// Puts the page together: the head with its rooms, the room that is open, and the foot
// with what was done last and the way back from it.

const app = document.getElementById("app");

async function begin() {
  const rooms = {}, buttons = {};
  try {
    await follow(rooms); // first, so that nothing happens unheard between state and events
    await load();
  } catch (why) {
    // Without a state there are no words either; the program's own sentence has to do.
    return fill(app, el("main", { class: "alone" }, el("h1", {}, "pushcue"), el("p", { class: "problem", role: "alert" }, why.message), why.hint && el("p", {}, why.hint),
      el("button", { type: "button", "aria-label": "Reload", onclick: () => location.reload() }, "↻")));
  }
  const room = el("main", { class: "room", id: "room", tabindex: "-1" });
  let open = null;

  function enter(name, ...rest) {
    if (open !== name) {
      if (open === "watch") rooms.watch.leave();
      open = name;
      sessionStorage.setItem("room", name);
      room.replaceChildren(rooms[name].node);
      room.scrollTop = 0;
      for (const [n, b] of Object.entries(buttons)) set(b, "aria-current", n === name ? "page" : null);
    }
    if (rooms[name].focus && rest.length > 0) rooms[name].focus(...rest);
  }
  const to = {
    row(key, field) {
      enter("watch");
      rooms.watch.visit(key);
      const f = field && rooms.watch.node.querySelector(`[data-field="${CSS.escape(field)}"]`);
      if (!f) return;
      const fold = f.closest("details");
      if (fold) fold.open = true;
      f.focus();
    },
    seen(key) {
      to.row(key);
      tell(say("seen-how"));
    },
    sheet: (key) => enter("sheet", key),
    watch: () => enter("watch"),
    moment(s) {
      enter("watch");
      rooms.watch.look.seek(s);
    },
    tie(s) {
      enter("watch");
      rooms.watch.tie(s);
    },
    settle: () => enter("settle", null),
    frame: () => rooms.watch.look.frame(),
    second: () => String(Math.round((rooms.watch.look.count() ? rooms.watch.look.time(rooms.watch.look.frame()) : 0) * 1000) / 1000),
  };
  rooms.watch = watchRoom();
  rooms.settle = settleRoom(to);
  rooms.sheet = sheetRoom(to);
  rooms.handover = handoverRoom(to);

  fill(app, head(enter, buttons), room, foot());
  language();
  document.addEventListener("keydown", (e) => {
    if (e.key === "Escape" && open === "watch" && store.chosen && !e.defaultPrevented && !document.querySelector("dialog[open]")) rooms.watch.look.list(store.chosen);
    else if ((e.ctrlKey || e.metaKey) && e.key.toLowerCase() === "z" && !e.target.closest("input, textarea")) {
      e.preventDefault();
      (e.shiftKey ? redo : undo)();
    } else if (open === "watch" && !document.querySelector("dialog[open]")) rooms.watch.keys(e);
  });
  let kept = sessionStorage.getItem("room");
  if (store.job.task && store.job.task.state === "running") kept = "handover";
  enter("watch");
  if (kept === "handover" && (store.job.handover.made || store.job.task)) enter("handover", null); // it goes on where it was
  let led = false; // once the job has been read, what must be answered first is shown first
  watch((job) => {
    if (led || job.state === "opening") return;
    led = true;
    if (job.state !== "ready" && open === "watch") enter("settle", null);
  });
  document.body.dataset.ready = "true";
}

function head(enter, buttons) {
  const name = el("bdi"), under = el("span"), n = el("span", { class: "count" });
  const nav = el("nav", { class: "rooms", "aria-label": say("rooms") }, ["watch", "settle", "sheet", "handover"].map((r) => (buttons[r] = el("button", { type: "button", onclick: () => enter(r, null) }, say(`room-${r}`), r === "settle" && n))));
  const pushes = el("select", { "aria-label": say("push"), onchange: () => (location.search = `?job=${pushes.value}`) });
  watch((job) => {
    const line = job.timeline && job.timeline.job.line.name;
    text(name, (job.timeline && job.timeline.job.reference) || job.name || "");
    text(under, [line, job.timeline && job.timeline.job.date].filter(Boolean).join(" · "));
    const count = openThings(job);
    text(n, String(count));
    set(n, "hidden", count === 0);
    set(pushes, "hidden", !job.many);
    if (job.many && pushes.options.length !== job.jobs.length) fill(pushes, job.jobs.map((j) => el("option", { value: String(j.index) }, j.name)));
    pushes.value = String(shown.job);
    document.title = `${job.name} · ${say("title")}`;
  });
  return el("header", { class: "head" }, el("a", { class: "skip", href: "#room" }, say("skip")), el("h1", {}, name, under), pushes, nav);
}

function foot() {
  const line = el("p", { role: "status" }), loud = el("p", { class: "problem", role: "alert", hidden: true });
  voices(line, loud);
  const back = way("undo", () => undo()), forth = way("redo", () => redo());
  const away = el("button", { type: "button", class: "quiet", onclick: () => post("/api/close").then(() => location.assign("/"), (why) => alarm(why.message)) }, say("other-job"));
  const why = el("p"), unsaved = el("div", { class: "unsaved", role: "alert", hidden: true },
    why, el("button", { type: "button", class: "main", onclick: again }, say("try-again")), el("button", { type: "button", onclick: drop }, say("give-up")));
  watch((job) => {
    back.show(told(job, job.undo));
    forth.show(told(job, job.redo));
    set(unsaved, "hidden", !store.stuck);
    text(why, store.stuck ? say("unsaved", { n: store.waiting.length, why: [store.stuck.message, store.stuck.hint].filter(Boolean).join(" ") }) : "");
    if (!line.textContent && job.undo) text(line, say("last-change", { what: told(job, job.undo) }));
  });
  return el("footer", { class: "foot" }, unsaved, el("div", { class: "did" }, away, el("div", { class: "grow" }, line, loud), back.node, forth.node));
}

/** way is a step back or forth, with what it would do in words. */
function way(key, go) {
  const what = el("small"), node = el("button", { type: "button", class: "way", onclick: go }, el("span", {}, say(key)), what);
  return {
    node,
    show(does) {
      set(node, "disabled", does === "");
      set(node, "aria-label", does ? say(`${key}-what`, { what: does }) : null);
      text(what, does);
    },
  };
}

/** follow hears what the program has to say; it settles once it does. */
function follow(rooms) {
  const look = (how) => how.catch((why) => { if (why.status === 404) location.assign("/"); }); // the job was closed
  return new Promise((hears) => {
    let lost = false;
    listen({
      changed: (d) => {
        heard();
        if (store.job) look(refresh(d.revision));
      },
      task: (t) => {
        heard();
        if (!store.job) return;
        task(t);
        if (t.state !== "running") look(load());
      },
      proxy: (d) => {
        if (d.state !== "making") heard();
        const parts = store.job && store.job.recording ? store.job.recording.parts : [];
        if (!parts[d.part]) return;
        Object.assign(parts[d.part].proxy, d);
        rooms.watch.proxies(parts);
      },
      counter: (d) => { heard(); if (store.job && store.job.counter) { Object.assign(store.job.counter, d); changed(); } },
      bye: () => store.job && alarm(say("program-ended")),
    }, () => {
      lost = true;
      hears(); // without events too the page shows what there is
    }, () => {
      hears();
      if (!lost) return;
      lost = false;
      look(load().then(again)); // what happened meanwhile, and what couldn't be saved
    });
  });
}

/** language: every word of the page changes with the job's language. */
function language() {
  const was = store.job.language;
  watch((job) => { if (job.language !== was) location.reload(); });
}

begin();

