import { get, post, Refusal } from "./server.js";
import { speak, say } from "./words.js";
import { measures } from "./format.js";
import { tell, alarm } from "./voice.js";
import { told } from "./changes.js";

// The job as the program last told it, and the corrections that are on their way there.

const watchers = new Set();
const waiting = []; // corrections not yet saved, in order
let sending = null, stuck = null, newest = 0; // the newest revision that was heard of

/** store.job is the state as it came; store.chosen the row being looked at, or null. */
export const store = { job: null, chosen: null, waiting, get stuck() { return stuck; } };

/** watch calls f now and after each change; it returns what stops it. */
export function watch(f) {
  watchers.add(f);
  if (store.job) f(store.job);
  return () => watchers.delete(f);
}

export function changed() {
  for (const f of watchers) f(store.job);
}

let asked = 0, answered = 0; // how often it was asked how the job stands, and the latest time that an answer came to
let late = false; // something was heard since it was asked last

/** load asks how the job stands: once more where something happened while the answer was on its way, which may not tell of it. */
export async function load() {
  do {
    late = false;
    const mine = ++asked, job = await get("/api/job");
    if (mine < answered) return; // one that was asked for later was quicker
    answered = mine;
    take(job);
  } while (late);
}

/** heard is told that something has happened to the job. */
export function heard() {
  late = true;
}

/** refresh follows what another page, or a file, has changed. */
export async function refresh(revision) {
  newest = Math.max(newest, revision);
  if (sending || store.job && revision <= store.job.revision) return; // the answer that is on its way tells as much
  const before = store.job;
  await load();
  const last = (job) => JSON.stringify([job.undo, job.undo_depth, job.redo_depth]);
  if (before && !sending && last(before) !== last(store.job)) tell(say("changed-elsewhere"));
}

function take(job) {
  // An answer that was overtaken by a later one would bring back what no longer is.
  if (store.job && job.revision < store.job.revision) return;
  store.job = job;
  speak(job.words, job.language);
  measures(job.units, job.language);
  changed();
}

/**
 * correct sends a correction at once. It settles when it is saved, or refused; null when it waits to be tried again.
 * refused(why) takes a refusal to be shown beside a field; without it the foot of the page says it.
 */
export function correct(edit, refused) {
  return queue({ path: "/api/edit", body: edit, refused });
}

/** undo takes back the last correction, or a certain one. */
export function undo(edit) {
  return queue({ path: "/api/undo", body: edit ? { edit } : {} });
}

export function redo() {
  return queue({ path: "/api/redo", body: {} });
}

function queue(letter) {
  return new Promise((done) => {
    waiting.push({ ...letter, done });
    if (stuck) changed();
    send();
  });
}

/** again tries once more to save what couldn't be saved. */
export function again() {
  stuck = null;
  changed();
  return send();
}

/** drop gives up what couldn't be saved. */
export function drop() {
  for (const letter of waiting.splice(0)) letter.done(null);
  stuck = null;
  changed();
}

async function send() {
  if (sending || stuck) return;
  while (waiting.length > 0) {
    const letter = waiting[0];
    sending = letter;
    try {
      const before = store.job, answer = await post(letter.path, letter.body);
      waiting.shift();
      sending = null;
      take(answer);
      tell(outcome(letter, before, answer));
      letter.done(answer);
    } catch (why) {
      sending = null;
      if (why instanceof Refusal && why.lasting) {
        waiting.shift();
        (letter.refused || ((w) => alarm(sentencesOf(w).join(" "))))(why);
        letter.done(null);
        changed();
        continue;
      }
      stuck = why instanceof Refusal ? why : new Error(say("unreachable"));
      changed();
      return;
    }
  }
  if (newest > store.job.revision) await refresh(newest).catch(() => {}); // somebody else was at it meanwhile
}

/** sentencesOf are all that a refusal says, each once. */
export function sentencesOf(why) {
  return [why.message, why.hint, ...(why.faults || []).map((f) => f.text)].filter((t, i, all) => t && all.findIndex((other) => other && other.endsWith(t)) === i);
}

/** outcome tells what a correction did, and how many other observations moved with it. */
function outcome(letter, before, after) {
  const what = letter.path === "/api/undo" ? say("undone", { what: told(before, before.undo) })
    : letter.path === "/api/redo" ? say("redone", { what: told(before, before.redo) })
    : say("saved", { what: told(after, after.undo) });
  const n = moved(before, after);
  return n > 0 ? `${what} ${say("moved", { n })}` : what;
}

function moved(before, after) {
  if (!before.timeline || !after.timeline) return 0;
  const were = new Map(before.timeline.observations.map((o) => [keyOf(o), o.video_s]));
  return after.timeline.observations.filter((o) => were.has(keyOf(o)) && were.get(keyOf(o)) !== o.video_s).length;
}

/** keyOf names a row through all changes: a row of the log, or one that a person added. */
export function keyOf(row) {
  return row.added || `r${row.row}`;
}

let worded = null, sayings = new Map();
const NOTHING = { name: "", where: "", half: "", advice: "" };

/** saidOf is how every output words a row: its name, where it is, its ±, what is advised. */
export function saidOf(row) {
  if (worded !== store.job) {
    worded = store.job;
    sayings = new Map((worded.rows || []).map((r) => [keyOf(r), r.said]));
  }
  return sayings.get(keyOf(row)) || NOTHING;
}

/** named is how the program is told which row is meant. */
export function named(row) {
  return row.added ? { on: row.added } : { row: row.row };
}

/** choose looks at a row; null at none. */
export function choose(key) {
  store.chosen = key;
  changed();
}

export function rowOf(key) {
  return (store.job.rows || []).find((r) => keyOf(r) === key) || null;
}

export function placedOf(key) {
  return store.job.timeline ? store.job.timeline.observations.find((o) => keyOf(o) === key) || null : null;
}

// What is being typed counts as soon as the page goes out of sight: it may not come back.
addEventListener("visibilitychange", () => {
  if (document.visibilityState === "hidden" && document.activeElement) document.activeElement.blur();
});

addEventListener("beforeunload", (e) => {
  if (waiting.length > 0) e.preventDefault();
});
