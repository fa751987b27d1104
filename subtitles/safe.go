package subtitles

import (
	"fmt"
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"
)

// A format is where text is about to be put.
type format int

const (
	srt format = iota
	webVTT
	ass
	ffmetadata
)

// joiner is U+2060, which shows nothing: it parts a mark from what would make it
// act, in formats that have no escape for it.
const joiner = "\u2060"

// greater stands for > until go-astisub, which escapes every & but no >, has written
// its WebVTT. It is a noncharacter, and clean lets none through.
const greater = "\ufdd0"

// replacers hold what acts as code in each format, and what is put in its place.
// SubRip has no escapes; these were seen to be shown as written by players of both
// kinds, those built on libass and those with a parser of their own.
var replacers = map[format]*strings.Replacer{
	srt:        strings.NewReplacer("{", "\uff5b", "}", "\uff5d", "<", "<"+joiner, `\`, `\`+joiner, "-->", "--"+joiner+">"),
	webVTT:     strings.NewReplacer(">", greater), // & and < are escaped on writing
	ass:        strings.NewReplacer(`\`, `\`+joiner, "{", `\{`, "}", `\}`),
	ffmetadata: strings.NewReplacer("=", `\=`, ";", `\;`, "#", `\#`, `\`, `\\`),
}

// safe is the one way for text into a file of any format: one line, shown as written
// and acting as nothing.
func safe(text string, f format) string {
	text = replacers[f].Replace(clean(text))
	if f == ffmetadata && strings.HasSuffix(text, `\`) {
		text += joiner // ffmpeg takes a line's last backslash for one that goes on in the next
	}
	return text
}

// clean makes one line of any text: blanks of every kind become plain ones, and
// characters that show nothing but act (controls, turners of the reading direction,
// noncharacters) are named by their number: "[U+202E]".
func clean(text string) string {
	var b strings.Builder
	for _, r := range norm.NFC.String(strings.ToValidUTF8(text, "\ufffd")) {
		switch {
		case isBlank(r):
			b.WriteByte(' ')
		case isIdle(r):
		case unicode.IsControl(r) || isTurner(r) || isNone(r):
			fmt.Fprintf(&b, "[U+%04X]", r)
		default:
			b.WriteRune(r)
		}
	}
	return strings.Trim(b.String(), " ")
}

// isBlank tells blanks and line ends of any kind, but for those that hold two words
// together.
func isBlank(r rune) bool {
	return unicode.IsSpace(r) && r != '\u00a0' || unicode.In(r, unicode.Zl, unicode.Zp)
}

// isIdle tells characters that show nothing and are ours to use.
func isIdle(r rune) bool { return r == '\u2060' || r == '\ufeff' || r == '\u200b' || r == '\u00ad' }

// isTurner tells the characters that embed, override or isolate a reading direction:
// unclosed, they would turn round what stands after them.
func isTurner(r rune) bool {
	return r >= 0x202a && r <= 0x202e || r >= 0x2066 && r <= 0x2069
}

// isNone tells Unicode's noncharacters.
func isNone(r rune) bool { return r >= 0xfdd0 && r <= 0xfdef || r&0xfffe == 0xfffe }
