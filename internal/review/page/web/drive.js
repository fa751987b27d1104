import { el, fill, set, text, id } from "./dom.js";
import { say } from "./words.js";
import { bytes } from "./format.js";
import { get } from "./server.js";

// The last steps of a handover: the drive that it is copied to, and when that may be taken out.

/** drive lets a drive be chosen of those that are plugged in, or a folder be typed. */
export function drive() {
  const list = el("div", { class: "stack", role: "radiogroup", "aria-label": say("drives") }), name = id("drive");
  const path = el("input", { type: "text", id: id("path"), autocomplete: "off", oninput: () => { for (const r of list.querySelectorAll("input")) r.checked = false; } });
  const again = el("button", { type: "button", onclick: () => look(reader) }, say("drives-again"));
  let reader = "";
  async function look(r) {
    reader = r;
    const found = await get(`/api/drives?for=${r}`).catch(() => ({ drives: [] })), was = chosen();
    fill(list, found.drives.length === 0 && el("p", { class: "soft" }, say("no-drives")), found.drives.map((d) => {
      const radio = el("input", { type: "radio", name, id: id("drive"), value: d.path, disabled: d.fits === false, onchange: () => (path.value = "") });
      radio.checked = d.path === was || (found.drives.length === 1 && d.fits && !path.value);
      return el("label", { class: "check", for: radio.id }, radio, el("span", {}, el("bdi", {}, d.name || d.path), d.free_bytes >= 0 ? ` · ${say("free", { bytes: bytes(d.free_bytes) })}` : "", d.why ? ` · ${d.why}` : ""));
    }));
  }
  function chosen() {
    const radio = list.querySelector("input:checked");
    return path.value.trim() || (radio ? radio.value : "");
  }
  return {
    node: el("div", { class: "stack" }, el("p", { class: "help" }, say("copy-help")), list, el("div", { class: "row" }, again),
      el("div", { class: "field" }, el("label", { for: path.id }, say("copy-path")), path)),
    look,
    chosen,
    show: (busy) => set(again, "disabled", busy),
  };
}

const LOOK = 3000; // ms between two looks whether a drive is still there

/** pullOut says what a copy came to, and when its drive may be taken out. */
export function pullOut() {
  const what = el("p"), left = el("ul"), when = el("p", { class: "when", role: "status" });
  const node = el("div", { class: "stack" }, what, left, when);
  let of = null, gone = false, seen = false;
  const looking = setInterval(async () => {
    if (!of || gone || !of.eject || !node.isConnected) return;
    const found = await get("/api/drives").catch(() => null);
    if (!found) return;
    const there = found.drives.some((d) => of && (of.drive === d.path || of.drive.startsWith(`${d.path}/`) || of.drive.startsWith(`${d.path}\\`)));
    if (seen && !there) gone = true;
    seen = seen || there;
    word();
  }, LOOK);
  if (looking.unref) looking.unref();
  function word() {
    if (!of) return;
    text(when, of.same_disk ? say("out-same-disk") : gone ? say("out-now") : say(of.read_from_device ? "out-eject" : "out-unproven"));
    when.classList.toggle("now", gone);
  }
  return {
    node,
    show(task) {
      const r = task && task.kind === "copy" && task.state === "done" ? task.result : null;
      if (!r || (of && of.id === task.id)) return;
      [of, gone, seen] = [{ ...r, id: task.id }, false, false];
      text(what, say(r.read_from_device || r.same_disk ? "copy-done" : "copy-done-unsure", { files: r.files, bytes: bytes(r.bytes), place: r.to }));
      fill(left, r.too_large.map((f) => el("li", { class: "problem" }, say("copy-too-large", { file: f }))), r.left_alone.map((f) => el("li", {}, say("copy-foreign", { file: f }))));
      word();
    },
  };
}
