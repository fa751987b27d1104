import { address } from "./server.js";

// When each frame of the joined recording is shown. The program's table decides; a
// browser's own idea of time is only ever looked up in it.

/** table fetches the times of all frames. */
export async function table() {
  const answer = await fetch(address("/api/frames"));
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
      const p = await fetchFrame(n, asked.signal);
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
  return address(`/api/still?frame=${n}${width === undefined ? "" : `&width=${width}`}`);
}
