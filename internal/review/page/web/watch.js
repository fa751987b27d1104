import { el, set, text } from "./dom.js";
import { say } from "./words.js";
import { time, length } from "./format.js";
import { store, watch, choose, changed, placedOf } from "./store.js";
import { table } from "./frames.js";
import { player } from "./player.js";
import { chart, trackAt } from "./chart.js";
import { list } from "./list.js";
import { detail } from "./detail.js";
import { pad } from "./pad.js";

// The room in which the recording is looked at. On one side the picture and where it
// is; on the other what was observed: the list, one observation, or the pad for writing.

/** watchRoom makes the room; it keeps its place in the recording while other rooms are shown. */
export function watchRoom() {
  const node = el("div", { class: "watch" });
  const seen = el("section", { class: "seen", "aria-label": say("recording") });
  const told = el("section", { class: "told", "aria-label": say("observations"), tabindex: "-1" });
  const waiting = el("p", { class: "card", role: "status" }, say("opening"));
  let film = null, making = false, writing = null;
  const look = { frame: () => (film ? film.it.frame : 0), go: (key) => visit(key), seek: (s) => film && film.it.go(s), time: (n) => film.frames.time(n), frameAt: (s) => film.frames.at(s), count: () => (film ? film.frames.count : 0), distance: () => film && trackAt(store.job.track, film.frames.time(film.it.frame)), hold: (h) => film && (h ? film.it.pause() : film.it.play()), playing: () => !!film && film.it.playing, heard: (f) => film && film.it.heard(f) };
  const views = { list: list(look), detail: detail(look), pad: pad(look, () => write(false)) };
  node.append(seen, told);
  seen.append(waiting);

  /** visit chooses an observation and goes to where it was seen. */
  function visit(key) {
    writing = false;
    choose(key);
    const o = placedOf(key);
    if (o && film) film.it.go(o.video_s);
    told.scrollTop = 0;
  }
  function write(on) {
    writing = on;
    choose(null);
    told.scrollTop = 0;
    if (on) views.pad.begin();
  }
  /** tie goes to a moment, to be told there what the log's clock showed. */
  function tie(s) {
    writing = false;
    choose(null);
    if (film) film.it.go(s);
    views.list.tie();
  }
  look.write = () => write(true);
  look.list = (key) => { writing = false; choose(null); views.list.focus(key); };

  /** start shows the job's recording at frame n. */
  async function start(job, n) {
    making = true;
    let frames;
    try {
      frames = await table();
    } catch {
      making = false;
      return;
    }
    if (frames.count === 0) return;
    const it = player(job.recording, frames);
    film = { it, frames, recording: job.recording, ...controls(it, frames, job, visit) };
    seen.replaceChildren(it.node, film.where, film.steps, film.along, film.chart.node);
    film.chart.show(job, store.chosen);
    it.show(n);
    making = false;
    changed();
  }

  watch((job) => {
    let at = 0;
    if (job.recording && film && film.recording.id !== job.recording.id) { // its files have changed
      at = film.it.frame;
      film.it.close();
      film = null;
    }
    if (job.recording && !film && !making) start(job, at);
    if (!job.recording && !film) text(waiting, job.trouble ? job.trouble.text : say("opening"));
    if (film) {
      film.it.proxies(job.recording.parts);
      film.chart.show(job, store.chosen);
      film.refresh();
    }
    // A push that has no log at all is written down while watching.
    if (writing === null && job.state === "ready") writing = !job.log && (job.rows || []).length === 0;
    const view = store.chosen ? views.detail : writing ? views.pad : views.list;
    node.classList.toggle("close", view !== views.list);
    if (told.firstChild !== view.node) told.replaceChildren(view.node);
    view.show(job);
  });
  return { node, visit, tie, proxies: (parts) => film && film.it.proxies(parts), keys: (e) => film && !(told.firstChild === views.pad.node && views.pad.key(e)) && keys(e, film.it), look, leave: () => film && film.it.playing && film.it.pause() };
}

function controls(it, frames, job, visit) {
  const at = el("strong", { class: "digits" }), which = el("span", { class: "digits soft" }), place = el("span", { class: "digits" });
  const where = el("p", { class: "where" }, at, place, which);
  const play = el("button", { type: "button", class: "main", onclick: () => it.toggle() });
  const button = (label, name, f) => el("button", { type: "button", class: "digits", "aria-label": say(name), onclick: f }, label);
  const steps = el("div", { class: "steps", role: "group", "aria-label": say("steps") },
    button("−1 s", "back-second", () => it.skip(-1)), button("−10", "back-ten", () => it.step(-10)), button("−1", "back-one", () => it.step(-1)), play,
    button("+1", "on-one", () => it.step(1)), button("+10", "on-ten", () => it.step(10)), button("+1 s", "on-second", () => it.skip(1)));
  const slider = el("input", { type: "range", min: 0, max: frames.count - 1, step: 1, "aria-label": say("moment"), oninput: () => it.show(Number(slider.value)) });
  slider.onkeydown = (e) => {
    if (e.key === "PageUp" || e.key === "PageDown") { e.preventDefault(); it.skip(e.key === "PageUp" ? 1 : -1); }
  };
  const drawing = chart(visit, (s) => it.go(s));
  const refresh = () => {
    const n = it.frame, s = frames.time(n), d = trackAt(store.job.track, s);
    text(at, time(s));
    text(which, say("frame", { n }));
    text(place, d ? length(d.distance_m, d.about) : "–");
    text(play, it.playing ? say("pause") : say("play"));
    if (Number(slider.value) !== n) slider.value = n;
    set(slider, "aria-valuetext", `${time(s)}, ${d ? length(d.distance_m, d.about) : say("no-distance")}`);
    drawing.at(s);
  };
  it.heard(refresh);
  return { where, steps, along: el("div", { class: "along" }, slider, drawing.zoom), chart: drawing, refresh };
}

/** keys: blank plays, arrows step; with shift ten frames, page keys a second. */
function keys(e, it) {
  const field = e.target.closest("input, select, textarea, [role=listbox], a, summary"), button = e.target.closest("button");
  if (e.ctrlKey || e.metaKey || e.altKey || field || (button && e.key === " ")) return;
  if (e.key.startsWith("Page") && e.target.closest(".told")) return; // the list scrolls
  const does = { " ": () => it.toggle(), ArrowLeft: () => it.step(e.shiftKey ? -10 : -1), ArrowRight: () => it.step(e.shiftKey ? 10 : 1), PageDown: () => it.skip(-1), PageUp: () => it.skip(1) }[e.key];
  if (!does) return;
  e.preventDefault();
  does();
}

