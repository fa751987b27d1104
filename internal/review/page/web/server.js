// Talking to the program that serves this page.

/** A Refusal is an answer that says why something can't be. */
export class Refusal extends Error {
  constructor(status, told) {
    super((told && told.text) || `${status}`);
    this.status = status;
    this.hint = (told && told.hint) || "";
    this.faults = (told && told.faults) || [];
  }
  /** lasting: trying the same again can't help. */
  get lasting() {
    return this.status === 422 || this.status === 400;
  }
}

/** job is which push of a visit the page shows. */
export const shown = { job: Number(new URLSearchParams(location.search).get("job")) || 0 };

/** address adds the push shown to the address of what belongs to it. */
export function address(path) {
  return shown.job ? `${path}${path.includes("?") ? "&" : "?"}job=${shown.job}` : path;
}

export async function get(path, signal) {
  return read(await fetch(address(path), { signal, cache: "no-store" }));
}

export async function post(path, body) {
  const text = JSON.stringify(body || {});
  // A page that is closed still sends what it has begun to (browsers allow 64 KiB for that).
  return read(await fetch(address(path), {
    method: "POST", headers: { "Content-Type": "application/json", "X-Pushcue": "1" }, body: text, keepalive: text.length < 16000,
  }));
}

async function read(answer) {
  const told = await answer.json().catch(() => null);
  if (!answer.ok) throw new Refusal(answer.status, told && told.error);
  return told;
}

/** listen calls hear[name](data) for each event of the program; gone and back tell when it can't be reached. */
export function listen(hear, gone, back) {
  const source = new EventSource(address("/api/events"));
  for (const name of Object.keys(hear)) source.addEventListener(name, (e) => hear[name](e.data ? JSON.parse(e.data) : {}));
  source.onerror = gone;
  source.onopen = back;
  addEventListener("pagehide", () => source.close());
  return source;
}
