import { el, fill, set } from "./dom.js";
import { upper } from "./words.js";
import { correct, sentencesOf } from "./store.js";

// What the program answers to something typed, beside the field: an error in full, a
// question with its answers, or what became of it.

/** reply is the place for it. */
export function reply() {
  const node = el("div", { class: "reply", role: "alert", hidden: true });
  const show = (kind, what, buttons) => {
    node.className = `reply ${kind}`;
    fill(node, what.filter(Boolean).map((t) => el("p", {}, upper(t))), buttons.length > 0 && el("div", { class: "row" }, buttons));
    set(node, "hidden", false);
    node.scrollIntoView({ block: "nearest" });
  };
  const it = {
    node,
    clear: () => set(node, "hidden", true),
    get open() { return !node.hidden; },
    /** refused shows why something can't be; where it can be meant in several ways they are buttons, and done(answer) is called once one of them is saved. */
    refused(why, done) {
      if (!why.ways || why.ways.length === 0) return show("problem", sentencesOf(why), []);
      show("asks", [why.message, why.hint], why.ways.map((way) => el("button", { type: "button", onclick: () => take(way, done) }, way.label)));
    },
    /** told says what became of it, with what can be done about it: [[label, action]]. */
    told: (what, actions) => show("told-so", [what], actions.map(([label, act]) => el("button", { type: "button", onclick: () => { it.clear(); act(); } }, label))),
  };
  async function take(way, done) {
    it.clear();
    let answer = null;
    for (const edit of way.edits) {
      answer = await correct(edit, (why) => it.refused(why, done));
      if (!answer) return;
    }
    done(answer);
  }
  return it;
}
