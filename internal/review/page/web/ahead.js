import { el, set, fill, id } from "./dom.js";
import { say } from "./words.js";

// A field in which a kind is typed ahead: what has been typed so far offers the kinds
// that hold it. Anything else may be written too. (ARIA's editable combobox.)

const OFFERED = 8;

/** plain leaves case and accents aside. */
export function plain(s) {
  return s.toLowerCase().normalize("NFD").replace(/\p{Diacritic}/gu, "");
}

/** offers are the kinds for what was typed, those that begin with it first. */
export function offers(kinds, typed) {
  const t = plain(typed.trim());
  if (t === "") return kinds.slice(0, OFFERED);
  const rank = (k) => {
    const words = plain(k.text), code = plain(k.code || "");
    if (code === t || words === t) return 0;
    if (code.startsWith(t)) return 1;
    if (words.startsWith(t)) return 2;
    if (words.split(/[\s(]+/).some((w) => w.startsWith(t))) return 3;
    return words.includes(t) ? 4 : 9;
  };
  return kinds.map((k, i) => [rank(k), i, k]).filter((r) => r[0] < 9).sort((a, b) => a[0] - b[0] || a[1] - b[1]).slice(0, OFFERED).map((r) => r[2]);
}

/** ahead is the field; given(text, kind or null) is called with what was chosen or written. */
export function ahead(label, given) {
  const list = el("ul", { role: "listbox", id: id("kinds"), "aria-label": label, hidden: true });
  const input = el("input", {
    type: "text", id: id("what"), role: "combobox", autocomplete: "off", "aria-autocomplete": "list", "aria-expanded": "false", "aria-controls": list.id,
  });
  let kinds = [], shown = [], at = -1, before = "";
  const node = el("div", { class: "field" }, el("label", { for: input.id }, label), el("div", { class: "ahead" }, input, list));

  function open() {
    shown = offers(kinds, input.value === before ? "" : input.value);
    at = -1;
    fill(list, shown.map((k, i) => el("li", { role: "option", id: `${list.id}-${i}`, "aria-selected": "false", onpointerdown: (e) => { e.preventDefault(); take(k); } }, k.code ? `${k.code} · ${k.text}` : k.text)));
    set(list, "hidden", shown.length === 0);
    set(input, "aria-expanded", String(shown.length > 0));
    set(input, "aria-activedescendant", null);
  }
  function close() {
    set(list, "hidden", true);
    set(input, "aria-expanded", "false");
    set(input, "aria-activedescendant", null);
    at = -1;
  }
  function light(i) {
    at = (i + shown.length) % shown.length;
    [...list.children].forEach((li, n) => set(li, "aria-selected", String(n === at)));
    set(input, "aria-activedescendant", `${list.id}-${at}`);
    list.children[at].scrollIntoView({ block: "nearest" });
  }
  function take(k) {
    input.value = k.text;
    close();
    done(k);
  }
  function done(k) {
    const t = input.value.trim();
    if (!k && t === before) return;
    before = t;
    given(t, k || kinds.find((other) => plain(other.text) === plain(t)) || null);
  }
  input.oninput = open;
  input.onclick = () => (list.hidden ? open() : close());
  input.onkeydown = (e) => {
    if (e.key === "ArrowDown" || e.key === "ArrowUp") {
      e.preventDefault();
      if (list.hidden) open();
      if (shown.length > 0) light(e.key === "ArrowDown" ? at + 1 : at < 0 ? -1 : at - 1);
    } else if (e.key === "Enter") {
      e.preventDefault();
      if (at >= 0) take(shown[at]);
      else { close(); done(null); }
    } else if (e.key === "Escape" && !list.hidden) {
      e.preventDefault();
      e.stopPropagation();
      close();
    }
  };
  input.onblur = () => { close(); if (node.leave !== false) done(null); };
  node.input = input;
  node.offer = (k) => (kinds = k || []);
  /** value shows a text that stands already, unless another is being typed. */
  node.value = (v) => {
    if (document.activeElement === input && input.value !== before) return;
    input.value = before = v || "";
  };
  return node;
}
