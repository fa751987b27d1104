import { el, fill } from "./dom.js";
import { get } from "./server.js";
import { enter } from "./enter.js";

// What every tab loads first: it is let in, and becomes the page that the program shows.

const pages = {
  review: { styles: ["frame.css", "watch.css"], load: () => import("./review.js") },
  start: { styles: ["start.css"], load: () => import("./start.js") },
};

/** style loads a style sheet and settles once it counts. */
function style(name) {
  return new Promise((done) => {
    document.head.append(el("link", { rel: "stylesheet", href: `/page/${name}`, onload: done, onerror: done }));
  });
}

async function begin() {
  try {
    await enter();
    const page = pages[(await get("/api/page")).page];
    await Promise.all(page.styles.map(style));
    await page.load();
  } catch (why) {
    fill(document.getElementById("app"), el("main", { class: "alone" }, el("h1", {}, "pushcue"), el("p", { class: "problem", role: "alert" }, why.message), why.hint && el("p", {}, why.hint)));
  }
}

// An address with a token that is put into a tab that stands here already loads nothing.
addEventListener("hashchange", () => { if (location.hash.startsWith("#enter=")) location.reload(); });

begin();
