// Reads WebVTT from standard input with an independent parser and prints what it
// found as JSON: errors, and each cue's times and text. A node that isn't plain text
// is printed as its type in brackets, so that it can't pass for text.
const { WebVTTParser } = require('webvtt-parser');
// The references that W3C WebVTT names; the parser's own list leaves out their
// semicolon, which it then takes for text.
const references = { '&amp;': '&', '&lt;': '<', '&gt;': '>', '&nbsp;': '\u00a0', '&lrm;': '\u200e', '&rlm;': '\u200f' };
const input = require('fs').readFileSync(0, 'utf8');
const parsed = new WebVTTParser(references).parse(input);
const text = new WebVTTParser(references).parse(input).cues.map((cue) =>
  cue.tree.children.map((n) => (n.type === 'text' ? n.value : '[' + n.type + ']')).join(''));
console.log(JSON.stringify({
  errors: parsed.errors,
  cues: parsed.cues.map((c, i) => ({ start: c.startTime, end: c.endTime, text: text[i] })),
}));
