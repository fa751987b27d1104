// The page's words, in the job's language. They come with the job's state.

let book = {};

/** speak takes the words to speak with from here on. */
export function speak(words, language) {
  book = words ? { ...words.review, urgency: words.urgency, kind: words.kind } : {};
  document.documentElement.lang = language || "en";
}

/** say is the text of a key, its {names} filled in. A key without a text shows in brackets, so that it is seen. */
export function say(key, names) {
  const form = book[key];
  if (typeof form !== "string") return `[${key}]`;
  return names ? form.replace(/\{([a-z]+)\}/g, (all, name) => (name in names ? String(names[name]) : all)) : form;
}

/** begin is say where nothing stands before it. */
export function begin(key, names) {
  return upper(say(key, names));
}

/** upper begins a sentence of the program's with a capital. */
export function upper(text) {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

/** known tells whether there is a text of that key. */
export function known(key) {
  return typeof book[key] === "string";
}

/** urgency is the word for one of the urgencies. */
export function urgency(u) {
  return (book.urgency && book.urgency[u]) || u || "";
}

/** kind is the word for a built-in kind. */
export function kind(key) {
  return (book.kind && book.kind[key]) || key || "";
}
