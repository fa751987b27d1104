package overlay

import (
	"fmt"
	"slices"
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"
)

// mostMarks is how many marks a letter may carry: more than any language needs,
// and few enough that they don't pile up out of the strip.
const mostMarks = 4

// clean makes text fit to be shown as written: one line, every blank a plain one,
// what can't be shown named by its number in brackets: "[U+4E2D]". missing holds
// those characters, each once, in the order met.
func clean(s string) (shown string, missing []rune) {
	var b strings.Builder
	blank, marks := false, 0
	for _, r := range norm.NFC.String(strings.ToValidUTF8(s, "\ufffd")) {
		if isBlank(r) {
			blank = b.Len() > 0
			continue
		}
		if isIdle(r) {
			continue
		}
		if blank {
			b.WriteByte(' ')
			blank = false
		}
		if marks++; !isMark(r) {
			marks = 0
		}
		if isShown(r) && marks <= mostMarks {
			b.WriteRune(r)
			continue
		}
		fmt.Fprintf(&b, "[U+%04X]", r)
		if !isShown(r) && !slices.Contains(missing, r) {
			missing = append(missing, r)
		}
	}
	return b.String(), missing
}

// isShown reports whether r can stand in a caption: the font has it, and it
// doesn't turn round the text after it, which would let a remark read as
// something else than was written.
func isShown(r rune) bool {
	_, ok := advance(r)
	return ok && !unicode.IsControl(r) && !isTurner(r)
}

// isTurner reports the characters that embed, override or isolate a direction of
// writing. The plain marks U+200E and U+200F are left: they turn nothing.
func isTurner(r rune) bool { return r >= 0x202a && r <= 0x202e || r >= 0x2066 && r <= 0x2069 }

// isBlank reports blanks of any kind but those that hold two words together.
func isBlank(r rune) bool {
	return r != '\u00a0' && unicode.IsSpace(r) || unicode.Is(unicode.Zl, r) || unicode.Is(unicode.Zp, r) ||
		unicode.Is(unicode.Zs, r) && r != '\u00a0' && r != '\u202f' && r != '\u2007'
}

// isIdle reports characters that only choose how another is drawn, or where a
// line may break: nothing is lost without them.
func isIdle(r rune) bool {
	return r >= 0xfe00 && r <= 0xfe0f || r == '\u00ad' || r == '\u200b' || r == '\u2060' || r == '\ufeff'
}

func isMark(r rune) bool { return unicode.Is(unicode.Mn, r) || unicode.Is(unicode.Me, r) }
