import { el, set, text } from "./dom.js";
import { say } from "./words.js";
import { post, media } from "./server.js";
import { correct, store } from "./store.js";
import { reply } from "./reply.js";

// The firm's logo: chosen once from the files of this computer, and kept for every job.

const WIDE = 600, HIGH = 270; // pixels: what a page needs
const CHOSEN = "chosen-logo.png"; // as the program keeps it
const LONGEST = 50e6; // bytes of a file that is still taken for a picture

/** logoField is its line on the job sheet, in the form of the other fields. */
export function logoField(label) {
  const shown = el("img", { class: "logo", alt: label, hidden: true }), whose = el("p", { class: "help" }), said = reply();
  const input = el("input", { type: "file", hidden: true, "aria-label": label, accept: "image/*", onchange: () => take(input.files[0]) });
  const pick = el("button", { type: "button", onclick: () => input.click() }, say("logo-choose"));
  let picked = 0;
  async function take(file) {
    said.clear();
    input.value = "";
    if (!file) return;
    try {
      const data = await scaled(file);
      if (!data) return said.refused({ message: say("logo-unreadable", { file: file.name }) });
      await post("/api/logo", { data });
      picked++;
      const own = (store.job.sheet || []).find((f) => f.key === "firm.logo");
      if (own && own.from === "person") await correct({ what: "sheet", values: { "firm.logo": null } }, (why) => said.refused(why, () => {}));
      draw(true);
    } catch (why) {
      said.refused(why);
    }
  }
  function draw(there) {
    set(shown, "hidden", !there);
    if (there) set(shown, "src", media(`/media/logo?drawn=${picked}-${store.job.revision}`));
  }
  return {
    node: el("div", { class: "field logo-field" }, el("span", { class: "label" }, label), shown, whose, el("div", { class: "row" }, pick, input), said.node),
    input: pick,
    show(g) {
      const value = g.value || "";
      text(whose, value === "" ? say("logo-none") : value === CHOSEN ? say("logo-kept") : say("logo-own", { file: value }));
      if (value !== shown.of) draw(value !== "");
      shown.of = value;
    },
  };
}

/** scaled is a picture as base64 of a PNG, no larger than a page needs; null where this browser can't read it. */
async function scaled(file) {
  if (file.size > LONGEST) return null;
  const picture = await createImageBitmap(file).catch(() => null);
  if (!picture) return null;
  const share = Math.min(1, WIDE / picture.width, HIGH / picture.height);
  const canvas = el("canvas");
  [canvas.width, canvas.height] = [Math.max(1, Math.round(picture.width * share)), Math.max(1, Math.round(picture.height * share))];
  canvas.getContext("2d").drawImage(picture, 0, 0, canvas.width, canvas.height);
  return canvas.toDataURL("image/png").split(",")[1];
}
