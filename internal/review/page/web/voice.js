// What has just happened, for eyes at the foot of the page and for screen readers.

let line = null, loud = null;

/** voices are the two places: what is told when there is time, and at once. */
export function voices(polite, assertive) {
  line = polite;
  loud = assertive;
}

/** tell says what was done. */
export function tell(what) {
  loud.hidden = true;
  line.textContent = what;
}

/** alarm says what went wrong, loudly; it stays until something else is told. */
export function alarm(what) {
  loud.hidden = false;
  loud.textContent = what;
}
