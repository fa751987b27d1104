import { say } from "./words.js";

// Numbers as people of the job's language and units read them.

let comma = false, feet = false;
const FOOT = 0.3048; // metres, exactly: the international foot

/** measures sets the units and the decimal mark. */
export function measures(units, language) {
  feet = units === "ft";
  comma = new Intl.NumberFormat(language || "en").format(1.5).includes(",");
}

function mark(s) {
  return comma ? s.replace(".", ",") : s;
}

/** decimal is a number as the language writes it. */
export function decimal(n) {
  return mark(String(n));
}

/** time is a moment of the recording: "1:04.120", "1:02:03.400"; with fewer decimals where they say nothing. */
export function time(seconds, decimals = 3) {
  if (seconds === null || seconds === undefined) return "–";
  const unit = 10 ** decimals;
  let n = Math.round(Math.max(0, seconds) * unit);
  const rest = n % (60 * unit);
  n = (n - rest) / (60 * unit);
  const s = (rest / unit).toFixed(decimals).padStart(decimals ? decimals + 3 : 2, "0");
  const m = n % 60, h = (n - m) / 60;
  return mark(h > 0 ? `${h}:${String(m).padStart(2, "0")}:${s}` : `${m}:${s}`);
}

/** length is how far the camera was at the moment shown, written as every output writes a length. */
export function length(metres, about) {
  if (metres === null || metres === undefined) return "–";
  const shown = mark(`${(Math.round((feet ? metres / FOOT : metres) * 10) / 10).toFixed(1)} ${feet ? "ft" : "m"}`);
  return about ? say("about", { length: shown }) : shown;
}

/** scale turns metres into what the job's units count, and names them. */
export function scale() {
  return feet ? { per: FOOT, unit: "ft" } : { per: 1, unit: "m" };
}

/** percent of a share of 1. */
export function percent(share) {
  return `${Math.floor((share || 0) * 100)} %`;
}

/** bytes as people read the size of a drive. */
export function bytes(n) {
  for (const unit of ["B", "kB", "MB", "GB"]) {
    if (n < 1000) return mark(`${n < 10 && unit !== "B" ? n.toFixed(1) : Math.round(n)} ${unit}`);
    n /= 1000;
  }
  return mark(`${n.toFixed(1)} TB`);
}

/** left is a time still to wait. */
export function left(seconds) {
  return seconds < 90 ? say("left-seconds", { n: Math.max(1, Math.round(seconds)) }) : say("left-minutes", { n: Math.round(seconds / 60) });
}
