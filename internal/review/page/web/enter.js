import { get, post, session, Refusal } from "./server.js";

// How a tab is let in: by the token in its address, which works once; by what the tab was
// given before, when it is reloaded; or by another tab of this browser that is in.

const WAIT = 60000; // ms that another tab has for its answer: on a busy computer one in the background is slow
const IN = "pushcue"; // the lock that every tab holds that was let in

/** enter settles once the program answers this tab. */
export async function enter() {
  const token = location.hash.startsWith("#enter=") ? location.hash.slice("#enter=".length) : "";
  let refused = null;
  if (token) {
    history.replaceState(null, "", location.pathname + location.search);
    refused = await exchange(token);
    if (!refused) return help();
  }
  if (session.get()) {
    try {
      await get("/api/page");
      return help();
    } catch (why) {
      if (!(why instanceof Refusal) || why.status !== 403) throw why;
      session.set(null); // of a program that has ended
    }
  }
  const lent = await ask();
  if (lent && !(await exchange(lent))) return help();
  if (refused) throw refused;
  await get("/api/page"); // the program's own words for it
}

/** exchange trades a token for a session; it returns why it can't be. */
async function exchange(token) {
  try {
    session.set(await post("/api/enter", { token }));
    return null;
  } catch (why) {
    if (why instanceof Refusal) return why;
    throw why;
  }
}

/** ask asks the other tabs for a token; "" when none has one. Where no other tab is in, it doesn't wait. */
async function ask() {
  if (!(await navigator.locks.query()).held.some((lock) => lock.name === IN)) return "";
  const tabs = new BroadcastChannel("pushcue"), mine = crypto.randomUUID();
  return new Promise((done) => {
    const end = (token) => {
      clearTimeout(late);
      tabs.close();
      done(token);
    };
    const late = setTimeout(() => end(""), WAIT);
    tabs.onmessage = (e) => { if (e.data && e.data.to === mine && typeof e.data.token === "string") end(e.data.token); };
    tabs.postMessage({ wants: mine });
  });
}

/** help lets other tabs in from now on. */
function help() {
  navigator.locks.request(IN, { mode: "shared" }, () => new Promise(() => {})); // held until the tab is closed
  const tabs = new BroadcastChannel("pushcue");
  tabs.onmessage = async (e) => {
    if (!e.data || typeof e.data.wants !== "string") return;
    const made = await post("/api/invite").catch(() => null); // it has ended, and lets nobody in
    if (made) tabs.postMessage({ to: e.data.wants, token: made.token });
  };
}
