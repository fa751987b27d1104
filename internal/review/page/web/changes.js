import { say, known, urgency } from "./words.js";
import { time } from "./format.js";

// Corrections told in the job's language: what undo would take back, what was saved.

/** told is a correction in few words; turn names it as the program's undo and redo do. */
export function told(job, turn) {
  if (!turn) return "";
  const e = (job.edits || []).find((one) => one.id === turn.edit);
  if (!e || !known(`edit-${e.what}`)) return turn.text;
  const names = {
    row: e.row ? say("row-n", { n: e.row }) : say("edit-added"), at: time(e.video_s), from: time(e.from_s), to: time(e.to_s),
    values: values(e), counter: e.counter, length: e.length, file: e.file, log: e.log, title: known(`warn-${e.code}`) ? say(`warn-${e.code}`) : e.code,
  };
  if (e.what === "add" && e.video_s === null) return say("edit-add-placed", names);
  if (e.what === "still" && e.video_s === null) return say("edit-still-best", names);
  if (e.what === "clip" && e.from_s === null) return say("edit-clip-auto", names);
  if (e.what === "sheet" && isConfirmation(e.values)) return say("edit-counter-confirmed");
  if (e.what === "belongs" && !e.row && !e.on) return say("edit-belongs-whole", names);
  return say(`edit-${e.what}`, names);
}

function isConfirmation(values) {
  return values["counter.confirmed"] === true && Object.keys(values).length === 1;
}

function values(e) {
  return Object.entries(e.values || {}).map(([key, v]) => {
    const name = e.what === "sheet" ? `sheet-${key.replaceAll(".", "-")}` : `field-${key}`;
    return `${known(name) ? say(name) : key}: ${v === null ? say("edit-as-before") : shown(key, v)}`;
  }).join(", ");
}

function shown(key, v) {
  if (v === "") return "–";
  if (key === "urgency") return urgency(v);
  if (Array.isArray(v)) return v.join(", ");
  return key.includes(".") && known(`choice-${v}`) ? say(`choice-${v}`) : String(v);
}
