// One part after the other in the browser's own player, and which frame it shows.

const PATIENCE = 800; // ms until the first picture of a file tells what its clock begins with

/** film plays parts of a recording in a video element. */
export function film(video, frames) {
  let open = null, begins = 0, giveUp = null;

  /** load opens a file unless it is open, and learns at which of its own moments the first frame lies. */
  async function load(url) {
    if (open === url) return true;
    open = null;
    video.src = url;
    const ready = await new Promise((done) => {
      video.onloadeddata = () => done(true);
      video.onerror = () => done(false);
      giveUp = () => done(false);
    });
    if (!ready) return false;
    begins = await firstMoment();
    open = url;
    return true;
  }

  function firstMoment() {
    if (!video.requestVideoFrameCallback) return Promise.resolve(0);
    return new Promise((done) => {
      const late = setTimeout(() => done(0), PATIENCE);
      video.requestVideoFrameCallback((_, shown) => {
        clearTimeout(late);
        done(shown.mediaTime);
      });
    });
  }

  /** each calls shown with the frame that is on the screen, as long as alive says so. */
  function each(part, alive, shown) {
    const to = part.first + part.count - 1;
    const tell = (moment) => shown(Math.max(part.first, Math.min(to, frames.at(moment - begins + part.start_s + 0.0005))));
    if (video.requestVideoFrameCallback) {
      const next = () => video.requestVideoFrameCallback((_, meta) => {
        if (!alive()) return;
        tell(meta.mediaTime);
        next();
      });
      return next();
    }
    const tick = () => {
      if (!alive()) return;
      tell(video.currentTime);
      requestAnimationFrame(tick);
    };
    tick();
  }

  let round = 0;
  return {
    /** run plays a part from frame n; it settles with "end", "stopped", or "failed" where this browser can't play it. */
    async run(part, url, n, shown) {
      const mine = ++round;
      const ready = await load(url);
      if (mine !== round) return "stopped";
      if (!ready) return "failed";
      video.currentTime = frames.middle(n) - part.start_s + begins;
      const ended = new Promise((done) => {
        video.onended = () => done("end");
        video.onpause = () => done(video.ended ? "end" : "stopped");
        video.onerror = () => done("failed");
        giveUp = () => done("stopped");
      });
      try {
        await video.play();
      } catch {
        return "stopped"; // the browser wants another touch first
      }
      each(part, () => mine === round && !video.paused, shown);
      return ended;
    },
    stop() {
      round++;
      if (giveUp) giveUp();
      video.pause();
    },
  };
}
