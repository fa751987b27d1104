// Talking to the program that serves this page.

/** A Refusal is an answer that says why something can't be. */
export class Refusal extends Error {
  constructor(status, told) {
    super((told && told.text) || `${status}`);
    this.status = status;
    this.hint = (told && told.hint) || "";
    this.faults = (told && told.faults) || [];
    this.ways = (told && told.ways) || []; // in which what was asked for can be meant: {label, edits}
  }
  /** lasting: trying the same again can't help. */
  get lasting() {
    return this.status === 422 || this.status === 400;
  }
}

/** job is which push of a visit the page shows. */
export const shown = { job: Number(new URLSearchParams(location.search).get("job")) || 0 };

/** session is what this tab was given when it was let in. It lasts through a reload and is no other tab's. */
export const session = {
  get: () => JSON.parse(sessionStorage.getItem("session")),
  set: (given) => (given ? sessionStorage.setItem("session", JSON.stringify(given)) : sessionStorage.removeItem("session")),
};

/** signed are the headers of a request, with the key that the program answers to. */
function signed(headers) {
  const s = session.get();
  return s ? { ...headers, "X-Pushcue-Key": s.key } : headers;
}

/** ask fetches what belongs to the push shown. */
export function ask(path, options) {
  return fetch(address(path), { ...options, headers: signed({ ...(options && options.headers) }) });
}

/** media is where a picture or film of the push shown is for elements, which send no headers. */
export function media(path) {
  return session.get().media + address(path);
}

/** address adds the push shown to the address of what belongs to it. */
function address(path) {
  return shown.job ? `${path}${path.includes("?") ? "&" : "?"}job=${shown.job}` : path;
}

export async function get(path, signal) {
  return read(await ask(path, { signal, cache: "no-store" }));
}

export async function post(path, body) {
  const text = JSON.stringify(body || {});
  // A page that is closed still sends what it has begun to (browsers allow 64 KiB for that).
  return read(await ask(path, {
    method: "POST", headers: { "Content-Type": "application/json", "X-Pushcue": "1" }, body: text, keepalive: text.length < 16000,
  }));
}

async function read(answer) {
  const told = await answer.json().catch(() => null);
  if (!answer.ok) throw new Refusal(answer.status, told && told.error);
  return told;
}

const AGAIN = 2000; // ms before the program is tried again

/** listen calls hear[name](data) for each event of the program; gone and back tell when it can't be reached. */
export function listen(hear, gone, back) {
  let ended = new AbortController();
  const follow = async () => {
    const { signal } = ended;
    while (!signal.aborted) {
      try {
        const answer = await ask("/api/events", { signal, cache: "no-store" });
        if (!answer.ok) throw new Refusal(answer.status);
        back();
        for await (const [name, data] of events(answer.body)) if (hear[name]) hear[name](data);
      } catch {
        // what it was makes no difference
      }
      if (signal.aborted) return;
      gone();
      await new Promise((done) => setTimeout(done, AGAIN));
    }
  };
  addEventListener("pagehide", () => ended.abort());
  addEventListener("pageshow", (e) => {
    if (!e.persisted) return;
    ended = new AbortController();
    follow();
  });
  follow();
}

/** events takes a stream of server-sent events apart (WHATWG HTML, 9.2.6), as far as the program uses their form. */
async function* events(body) {
  const reader = body.pipeThrough(new TextDecoderStream()).getReader();
  let text = "";
  for (;;) {
    const { value, done } = await reader.read();
    if (done) return;
    const blocks = (text + value).split("\n\n");
    text = blocks.pop();
    for (const block of blocks) {
      const field = (name) => block.split("\n").find((line) => line.startsWith(`${name}: `));
      const name = field("event"), data = field("data");
      if (name) yield [name.slice("event: ".length), data ? JSON.parse(data.slice("data: ".length)) : {}];
    }
  }
}
