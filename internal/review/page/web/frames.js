import { ask, media } from "./server.js";

// When each frame of the joined recording is shown. The program's table decides; a
// browser's own idea of time is only ever looked up in it.

/** table fetches the times of all frames. */
export async function table() {
  const answer = await ask("/api/frames");
  if (!answer.ok) throw new Error(String(answer.status));
  return frameTable(new Float64Array(await answer.arrayBuffer()));
}

/** frameTable answers what is asked of the times of frames, ascending, in seconds. */
export function frameTable(times) {
  const last = times.length - 1;
  const clamp = (n) => Math.max(0, Math.min(last, n));
  return {
    count: times.length,
    clamp,
    time: (n) => times[clamp(n)],
    /** at is the frame shown at a moment: the last one that has begun. */
    at(seconds) {
      let lo = 0, hi = last;
      while (lo < hi) {
        const mid = (lo + hi + 1) >> 1;
        if (times[mid] <= seconds + 1e-6) lo = mid;
        else hi = mid - 1;
      }
      return lo;
    },
    /** middle is a moment at which frame n is surely shown. */
    middle: (n) => (n < last ? (times[n] + times[n + 1]) / 2 : times[last] + 0.001),
  };
}

const KEPT = 24; // decoded pictures held: at 960 x 720 some 2.7 MB each

/** stills fetches exact frames, the latest wish first, and keeps the last few. */
export function stills() {
  const held = new Map();
  let asked = null;
  async function fetchFrame(n, signal) {
    const answer = await fetch(stillAddress(n, 960), { signal });
    if (!answer.ok) throw new Error(String(answer.status));
    return createImageBitmap(await answer.blob());
  }
  return {
    has: (n) => held.has(n),
    async picture(n) {
      if (held.has(n)) {
        const p = held.get(n);
        held.delete(n);
        held.set(n, p);
        return p;
      }
      if (asked) asked.abort();
      asked = new AbortController();
      urgent++;
      const p = await fetchFrame(n, asked.signal).finally(() => { urgent--; next(); });
      held.set(n, p);
      for (const old of held.keys()) {
        if (held.size <= KEPT) break;
        held.get(old).close();
        held.delete(old);
      }
      return p;
    },
  };
}

/** stillAddress is where a frame's exact picture is. */
export function stillAddress(n, width) {
  return media(`/api/still?frame=${n}${width === undefined ? "" : `&width=${width}`}`);
}

// Small pictures come one after the other, only those in sight, and never while the big
// one is waited for: a browser opens few connections to one program, and the program
// decodes on the same two hands.
const wanted = new Set();
let urgent = 0, running = false;
const sight = new IntersectionObserver((seen) => {
  for (const { target, isIntersecting } of seen) {
    if (isIntersecting) wanted.add(target);
    else wanted.delete(target);
  }
  next();
});

/** small shows frame n in an img once it comes into sight. */
export function small(img, n, width) {
  const src = stillAddress(n, width);
  if (img.wants === src) return;
  img.wants = src;
  img.classList.add("old");
  sight.unobserve(img);
  sight.observe(img);
}

function next() {
  if (running || urgent > 0) return;
  const [img] = wanted;
  if (!img) return;
  wanted.delete(img);
  sight.unobserve(img);
  running = true;
  const src = img.wants;
  img.onload = img.onerror = () => {
    if (img.wants === src) img.classList.remove("old");
    running = false;
    next();
  };
  img.src = src;
}
