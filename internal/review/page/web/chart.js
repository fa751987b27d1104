import { el, svg, set, fill } from "./dom.js";
import { say } from "./words.js";
import { time, length, scale, decimal } from "./format.js";
import { keyOf } from "./store.js";

// Distance over time, and on it each observation with the time that it may be off.

const LEFT = 44, TOP = 10, BOTTOM = 22;
const APART = 14; // pixels from one number to the next
const WINDOWS = [null, 600, 120, 20]; // seconds seen at once: all, then closer

/** chart draws; picked(key) chooses an observation, go(seconds) a moment. */
export function chart(picked, go) {
  let job = null, chosen = null, drawn = "", now = 0, zoom = 0, from = 0, to = 1, wide = 600, tall = 136, high = 1;
  const back = svg("g"), within = svg("rect", { x: LEFT, y: 0 }), marks = svg("g", { "clip-path": "url(#chart-within)" }), hand = svg("line", { class: "hand", y1: TOP, y2: 0 });
  const drawing = svg("svg", { role: "img" }, svg("clipPath", { id: "chart-within" }, within), back, marks, hand);
  const closer = el("button", { type: "button", onclick: () => near(zoom + 1), "aria-label": say("closer") }, "+");
  const farther = el("button", { type: "button", onclick: () => near(zoom - 1), "aria-label": say("farther") }, "−");
  const node = el("div", { class: "chart" }, drawing);
  drawing.addEventListener("click", (e) => hit(e));
  new ResizeObserver(() => {
    if (!node.clientWidth) return;
    [wide, tall] = [node.clientWidth, node.clientHeight];
    draw();
  }).observe(node);

  const x = (s) => LEFT + ((s - from) / (to - from)) * (wide - LEFT - 8);
  const y = (m) => tall - BOTTOM - (m / high) * (tall - BOTTOM - TOP);

  function near(z) {
    zoom = Math.max(0, Math.min(levels() - 1, z));
    place();
    draw();
  }
  function levels() {
    return job && job.recording ? WINDOWS.filter((w) => w === null || w < job.recording.duration_s).length : 1;
  }
  function place() {
    const long = job.recording.duration_s, window = WINDOWS.filter((w) => w === null || w < long)[zoom] || long;
    from = Math.max(0, Math.min(long - window, now - window / 2));
    to = from + window;
  }

  /** shows is all that the drawing is made of, but its size. */
  function shows() {
    const r = job.recording, seen = job.timeline ? job.timeline.observations : [];
    return [r && [r.duration_s, r.show_from_s, r.show_to_s], job.units, chosen, from, to, job.track,
      seen.map((o) => [keyOf(o), o.number, o.video_s, o.video_end_s, o.uncertainty_s, o.distance_m, o.distance_to_m, o.track_m])];
  }

  function draw() {
    if (!job || !job.recording) return;
    set(drawing, "viewBox", `0 0 ${wide} ${tall}`);
    set(hand, "y2", tall - BOTTOM);
    set(within, "width", Math.max(0, wide - LEFT));
    set(within, "height", tall);
    set(closer, "disabled", zoom >= levels() - 1);
    set(farther, "disabled", zoom === 0);
    const seen = job.timeline ? job.timeline.observations : [];
    high = Math.max(1, ...(job.track || []).map((p) => p[1] || 0), ...seen.map((o) => Math.max(o.distance_m || 0, o.distance_to_m || 0))) * 1.06;
    set(drawing, "aria-label", say("chart", { n: seen.length, length: length(high / 1.06), time: time(job.recording.duration_s, 0) }));
    fill(back, outside(), levelsOf(), ticks());
    const inView = seen.filter((o) => o.video_end_s !== null || o.video_s >= from - 60 && o.video_s <= to + 60), numbers = roomy(inView);
    // The chosen one is drawn last, so that it lies on top.
    fill(marks, track(), inView.sort((a, b) => (keyOf(a) === chosen) - (keyOf(b) === chosen)).map((o) => mark(o, numbers.has(o))));
    move();
  }

  function outside() {
    const r = job.recording;
    return [[0, r.show_from_s], [r.show_to_s, r.duration_s]].filter(([a, b]) => a !== null && b !== null && b - a > 0.05 && b > from && a < to)
      .map(([a, b]) => svg("rect", { class: "hidden-part", x: x(Math.max(a, from)), y: TOP, width: x(Math.min(b, to)) - x(Math.max(a, from)), height: tall - BOTTOM - TOP }));
  }
  function levelsOf() {
    const { per, unit } = scale(), by = round(high / per / 4);
    const lines = [];
    for (let v = 0; v * per <= high; v += by) {
      lines.push(svg("line", { class: "grid", x1: LEFT, x2: wide - 8, y1: y(v * per), y2: y(v * per) }),
        svg("text", { x: LEFT - 5, y: y(v * per) + 4, "text-anchor": "end" }, `${decimal(Number(v.toFixed(1)))}${v === 0 ? "" : ` ${unit}`}`));
    }
    return lines;
  }
  function ticks() {
    const by = round((to - from) / Math.max(2, Math.floor(wide / 130)), [1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600]);
    const lines = [];
    for (let s = Math.ceil(from / by) * by; s <= to; s += by) {
      lines.push(svg("text", { x: x(s), y: tall - 6, "text-anchor": s - from < by / 3 ? "start" : to - s < by / 3 ? "end" : "middle" }, time(s, 0)));
    }
    return lines;
  }
  function round(v, of) {
    for (const step of of || [0.5, 1, 2, 5, 10, 20, 50, 100, 200, 500]) if (step >= v) return step;
    return of ? of[of.length - 1] : 1000;
  }

  /** track joins what is known with a line, what is only about known with dots, and leaves the rest blank. */
  function track() {
    const paths = [[], []];
    let before = null;
    for (const p of job.track || []) {
      const [s, m, state] = p;
      if (before && m !== null && before[1] !== null && s >= from && before[0] <= to) {
        const sure = state === 2 && before[2] === 2 ? 0 : 1;
        paths[sure].push(`M${x(before[0]).toFixed(1)} ${y(before[1]).toFixed(1)}L${x(s).toFixed(1)} ${y(m).toFixed(1)}`);
      }
      before = p;
    }
    return paths.map((d, i) => d.length > 0 && svg("path", { class: i ? "track thin" : "track", d: d.join("") }));
  }

  const spot = (o) => [x(o.video_s), y(o.distance_m ?? o.track_m ?? 0)];

  /** roomy are those whose numbers can be read: the chosen one, and others clear of those before them. */
  function roomy(all) {
    const taken = new Set(all.filter((o) => keyOf(o) === chosen)), spots = [...taken].map(spot);
    for (const o of all) {
      const [cx, cy] = spot(o);
      if (taken.has(o) || spots.some(([sx, sy]) => Math.hypot(cx - sx, cy - sy) < APART)) continue;
      taken.add(o);
      spots.push([cx, cy]);
    }
    return taken;
  }

  function mark(o, numbered) {
    const [cx, cy] = spot(o), here = keyOf(o) === chosen;
    return svg("g", {},
      o.video_end_s !== null && o.video_end_s !== undefined && svg("line", { class: "long", x1: cx, y1: cy, x2: x(o.video_end_s), y2: y(o.distance_to_m ?? o.distance_m ?? 0) }),
      o.uncertainty_s > 0 && svg("line", { class: "sure", x1: x(Math.max(0, o.video_s - o.uncertainty_s)), x2: x(o.video_s + o.uncertainty_s), y1: cy, y2: cy }),
      svg("circle", { class: here ? "dot chosen" : "dot", cx, cy, r: here ? 10 : numbered ? 8 : 4 }),
      numbered && svg("text", { class: here ? "no chosen" : "no", x: cx, y: cy + 4 }, String(o.number)));
  }

  function hit(e) {
    const box = drawing.getBoundingClientRect(), px = ((e.clientX - box.left) / box.width) * wide, py = ((e.clientY - box.top) / box.height) * tall;
    let best = null, near = 20;
    for (const o of job.timeline ? job.timeline.observations : []) {
      const [cx, cy] = spot(o), d = Math.hypot(cx - px, cy - py);
      if (d < near) [best, near] = [o, d];
    }
    if (best) return picked(keyOf(best));
    const s = from + ((px - LEFT) / (wide - LEFT - 8)) * (to - from);
    go(Math.max(0, Math.min(job.recording.duration_s, s)));
  }

  function move() {
    set(hand, "x1", x(now));
    set(hand, "x2", x(now));
    set(hand, "visibility", now < from || now > to ? "hidden" : null);
  }
  return {
    node,
    zoom: [farther, closer],
    show(j, key) {
      job = j;
      chosen = key;
      if (job.recording) place();
      // Most corrections move nothing here, and hundreds of marks take their time.
      const now = JSON.stringify(shows());
      if (now !== drawn) draw();
      drawn = now;
    },
    at(seconds) {
      now = seconds;
      if (!job || !job.recording) return;
      if (zoom > 0 && (now < from || now > to)) { place(); draw(); } else move();
    },
  };
}

/** trackAt is where the camera was: {distance_m, about}, or null where nothing is known. */
export function trackAt(track, seconds) {
  const points = track || [];
  for (let i = 1; i < points.length; i++) {
    const [s0, m0] = points[i - 1], [s1, m1, state] = points[i];
    if (seconds < s0 || seconds > s1) continue;
    if (m0 === null || m1 === null) return null;
    const share = s1 > s0 ? (seconds - s0) / (s1 - s0) : 0;
    return { distance_m: m0 + share * (m1 - m0), about: state < 2 || points[i - 1][2] < 2 };
  }
  return null;
}
