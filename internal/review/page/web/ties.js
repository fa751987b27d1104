import { el, fill, id } from "./dom.js";
import { say } from "./words.js";
import { time } from "./format.js";
import { correct, undo } from "./store.js";

// Where the log's clock and the recording are tied together, and the place to tell
// what that clock showed in the picture that is looked at.

/** ties is a fold with them; look is the room that it stands in. */
export function ties(look) {
  const there = el("ul", { class: "list" });
  const shown = el("input", { type: "text", id: id("tie"), autocomplete: "off", "data-field": "tie", placeholder: "10:07:31" });
  const tell = async () => {
    const log = shown.value.trim();
    if (log === "") return shown.focus();
    if (await correct({ what: "tie", log, frame: look.frame() })) shown.value = "";
  };
  shown.onkeydown = (e) => { if (e.key === "Enter") tell(); };
  const node = el("details", {}, el("summary", {}, say("ties")), el("div", { class: "stack" },
    there, el("p", { class: "help" }, say("tie-help")),
    el("div", { class: "field" }, el("label", { for: shown.id }, say("tie-log")), shown),
    el("div", { class: "row" }, el("button", { type: "button", class: "main", onclick: tell }, say("tie-here")))));
  let stands = "";
  return {
    node,
    /** ask opens the fold for somebody to fill it in. */
    ask() {
      node.open = true;
      shown.focus();
      node.scrollIntoView({ block: "nearest" });
    },
    show(job) {
      const all = job.anchors || [], now = JSON.stringify(all);
      if (now === stands) return;
      stands = now;
      fill(there, all.length === 0 && el("li", { class: "soft" }, say("tie-none")), all.map((a) => el("li", { class: "row" },
        el("span", { class: "grow" }, a.row ? say("tie-row", { n: a.row, time: time(a.video_s) }) : say("tie-says", { log: a.log, time: time(a.video_s) }),
          [!a.edit && say("tie-sheet"), a.aside && say("tie-aside")].filter(Boolean).map((s) => el("span", { class: "soft" }, ` (${s})`))),
        el("button", { type: "button", onclick: () => look.seek(a.video_s) }, say("go-there")),
        (a.edit || a.row) && el("button", { type: "button", onclick: () => (a.edit ? undo(a.edit) : correct({ what: "no-anchor", row: a.row })) }, say("anchor-away")))));
    },
  };
}
