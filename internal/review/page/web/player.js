import { el, set, text } from "./dom.js";
import { say } from "./words.js";
import { media, post } from "./server.js";
import { stills } from "./frames.js";
import { film } from "./film.js";

// The recording, its parts joined. It plays in the browser's own player; whenever it
// stands, the exact frame from the program lies on top, so that what is named is what
// is seen. A part that no browser plays runs as a row of stills until its stand-in is ready.

/** player shows a recording; frames is its table of times. */
export function player(recording, frames) {
  const pictures = stills(), hearers = new Set();
  const canvas = el("canvas", { role: "img", "aria-label": say("picture") });
  const video = el("video", { playsinline: true, preload: "auto", tabindex: "-1", "aria-label": say("picture") });
  const words = el("span"), retry = el("button", { type: "button", hidden: true, onclick: (e) => { e.stopPropagation(); mend(); } }, say("try-again"));
  const note = el("div", { class: "wait", hidden: true }, words, retry);
  const node = el("div", { class: "stage", onclick: () => it.toggle() }, video, canvas, note);
  const films = film(video, frames);
  const broken = new Set(); // addresses that this browser couldn't play after all
  let wanted = 0, run = 0;
  let missing = null; // the frame whose picture didn't come
  let mend = () => {}; // what is tried again

  const it = {
    node,
    frame: 0,
    playing: false,
    /** show stands at frame n and settles when its exact picture is there. */
    async show(n) {
      halt();
      return draw(frames.clamp(n));
    },
    step: (by) => it.show(it.frame + by),
    /** skip goes on or back by seconds. */
    skip: (seconds) => it.show(frames.at(Math.max(0, frames.time(it.frame) + seconds))),
    go: (seconds) => it.show(frames.at(seconds)),
    toggle: () => (it.playing ? it.pause() : it.play()),
    pause: () => it.show(it.frame),
    play,
    /** heard calls f(frame) whenever another frame is shown, and when playing starts or stops. */
    heard(f) {
      hearers.add(f);
      f(it.frame);
      return () => hearers.delete(f);
    },
    /** proxies takes what the program says of the parts: how far their stand-ins are, and that one is needed after all. */
    proxies(parts) {
      recording.parts.forEach((p, i) => parts[i] && (p.playable = parts[i].playable, Object.assign(p.proxy, parts[i].proxy)));
      hint();
    },
    close() {
      halt();
      video.removeAttribute("src");
      video.load();
    },
  };

  function moved(n) {
    it.frame = n;
    for (const f of hearers) f(n);
  }
  function halt() {
    run++;
    films.stop();
    it.playing = false;
    set(canvas, "hidden", false);
  }

  async function draw(n) {
    wanted = n;
    missing = null;
    if (it.frame !== n || it.playing === false) moved(n);
    hint();
    try {
      const p = await pictures.picture(n);
      if (wanted !== n) return;
      if (canvas.width !== p.width || canvas.height !== p.height) [canvas.width, canvas.height] = [p.width, p.height];
      canvas.getContext("2d").drawImage(p, 0, 0);
      canvas.dataset.frame = n;
      hint();
    } catch (why) {
      if (why.name === "AbortError" || wanted !== n) return;
      missing = n;
      hint();
    }
  }

  function part(n) {
    return recording.parts.findLast((p) => n >= p.first) || recording.parts[0];
  }
  function source(p) {
    if (p.playable && !broken.has(p.url)) return p.url;
    return p.proxy && p.proxy.state === "ready" && !broken.has(p.proxy.url) ? p.proxy.url : null;
  }

  async function play() {
    if (it.frame >= frames.count - 1) await it.show(0);
    halt();
    const mine = ++run;
    it.playing = true;
    moved(it.frame);
    while (mine === run) {
      const p = part(it.frame), from = source(p);
      const came = from ? await films.run(p, media(from), it.frame, (n) => onFilm(n, mine)) : await slides(p, mine);
      if (mine !== run) return;
      if (came === "failed") failed(p, from);
      else if (came === "stopped") return it.pause();
      // A browser that is short of time doesn't tell of each frame: at its end a part has shown its last.
      else if (came === "end" && p.index === recording.parts.length - 1) return it.show(p.first + p.count - 1);
      else if (came === "end") moved(p.first + p.count);
    }
  }

  function onFilm(n, mine) {
    if (mine !== run) return;
    set(canvas, "hidden", true);
    moved(n);
  }

  /** slides shows as many exact frames of a part as the program can give, at the pace of time. */
  async function slides(p, mine) {
    const began = performance.now(), from = frames.time(it.frame), last = p.first + p.count - 1;
    set(canvas, "hidden", false);
    while (mine === run && it.frame < last && !source(p)) {
      await draw(Math.min(last, Math.max(it.frame + 1, frames.at(from + (performance.now() - began) / 1000))));
      await new Promise(requestAnimationFrame);
    }
    return it.frame >= last ? "end" : "film ready";
  }

  function failed(p, url) {
    broken.add(url);
    if (url === p.url) ask(p);
  }
  function ask(p) {
    post("/api/proxy", { part: p.index }).catch(() => remark(say("no-proxy")));
  }

  function hint() {
    if (missing !== null) return remark(say("no-picture"), () => draw(missing));
    const p = part(it.frame), of = p.proxy || {};
    if (source(p)) return remark("");
    if (of.state === "failed") remark([say("no-proxy"), of.why].filter(Boolean).join(" "), () => ask(p));
    else remark(say("proxy-making", { percent: Math.floor((of.done || 0) * 100) }));
  }
  function remark(what, again) {
    text(words, what);
    set(note, "hidden", what === "");
    set(retry, "hidden", !again);
    mend = again || mend;
  }
  return it;
}
