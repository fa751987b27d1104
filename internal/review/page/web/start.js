import { el, fill, set, text, id } from "./dom.js";
import { say, speak } from "./words.js";
import { get, post } from "./server.js";

// The page of the program when it was started without a job: choose a folder that was
// used before, look for one, or make one.

const app = document.getElementById("app");

async function begin() {
  let start;
  try {
    start = await get("/api/start");
  } catch (why) {
    return fill(app, el("main", { class: "page" }, el("h1", {}, "pushcue"), el("p", { role: "alert" }, why.message)));
  }
  speak(start.words, start.language);
  document.title = say("start");
  const loud = el("p", { class: "problem", role: "alert" });
  const open = (folder) => post("/api/choose", { folder }).then(() => location.assign("/"), (why) => text(loud, [why.message, why.hint].filter(Boolean).join(" ")));
  const found = browser(open, loud, start.places || []);
  fill(app, el("main", { class: "start" }, el("h1", {}, say("start")), el("p", {}, say("start-help")), loud,
    el("div", { class: "sides" }, recent(start.recent || [], open), found.node)));
  await found.go((start.places && start.places[0] && start.places[0].path) || "");
  document.body.dataset.ready = "true";
}

function recent(jobs, open) {
  return el("section", { class: "stack", "aria-labelledby": "recent" }, el("h2", { id: "recent" }, say("recent")),
    jobs.length === 0 && el("p", { class: "soft" }, say("recent-none")),
    el("ul", { class: "list" }, jobs.map((j) => el("li", {}, el("button", { type: "button", class: "left wide", disabled: !j.there, onclick: () => open(j.folder) },
      el("span", {}, el("strong", {}, el("bdi", {}, j.name)), el("span", { class: "soft path" }, el("bdi", {}, j.folder), j.there ? "" : ` · ${say("not-there")}`)))))));
}

/** browser walks through folders; what lies in each says whether a job could be made of it. */
function browser(open, loud, places) {
  const at = el("p", { class: "path", role: "status" }), lies = el("p", { class: "soft" }), list = el("ul", { class: "list" });
  const take = el("button", { type: "button", class: "main" }), up = el("button", { type: "button" }, say("folder-up"));
  const name = el("input", { type: "text", id: id("name"), autocomplete: "off" });
  const make = el("form", { class: "row", onsubmit: (e) => { e.preventDefault(); create(); } },
    el("div", { class: "field grow" }, el("label", { for: name.id }, say("new-name")), name), el("button", { type: "submit" }, say("new-make")));
  let here = "";
  const node = el("section", { class: "stack", "aria-labelledby": "find" }, el("h2", { id: "find" }, say("find-folder")),
    el("div", { class: "row" }, places.map((p) => el("button", { type: "button", onclick: () => go(p.path) }, p.name)), up), at, lies, el("div", { class: "row" }, take), list,
    el("details", { open: places.length > 0 }, el("summary", {}, el("h3", {}, say("new-job"))), el("p", { class: "help" }, say("new-help")), make));

  async function go(path) {
    let f;
    try {
      f = await get(`/api/folders?path=${encodeURIComponent(path)}`);
    } catch (why) {
      return text(loud, why.message);
    }
    text(loud, "");
    here = f.path;
    text(at, f.path);
    const films = (f.videos || []).length, logs = (f.logs || []).length;
    text(lies, films + logs > 0 ? say("lies-here", { films, logs }) : say("lies-none"));
    text(take, say("open-job"));
    set(take, "disabled", !f.job && films === 0);
    take.onclick = () => open(f.path);
    set(up, "disabled", !f.parent);
    up.onclick = () => go(f.parent);
    fill(list, (f.folders || []).map((d) => el("li", { class: "row" },
      el("button", { type: "button", class: "left grow", onclick: () => go(d.path) }, el("bdi", {}, d.name), d.job ? ` · ${say("is-job")}` : ""),
      d.job && el("button", { type: "button", onclick: () => open(d.path), "aria-label": `${say("open-job")}: ${d.name}` }, say("open-job")))));
  }
  async function create() {
    if (!name.value.trim()) return name.focus();
    try {
      const made = await post("/api/new", { parent: here, name: name.value.trim(), values: {} });
      await go(made.folder);
      text(lies, say("new-made"));
    } catch (why) {
      text(loud, [why.message, why.hint].filter(Boolean).join(" "));
    }
  }
  return { node, go };
}

begin();
