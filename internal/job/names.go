package job

import (
	"fmt"
	"path"
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"
)

// LongestWord keeps a name short enough to be read in a file list and to stay
// below the 260 characters that some systems allow for a whole path.
const LongestWord = 40

// letters that don't fall apart into a plain letter and an accent.
var spelled = strings.NewReplacer("ß", "ss", "æ", "ae", "œ", "oe", "ø", "o", "ł", "l", "đ", "d", "ð", "d", "þ", "th", "ı", "i")

// PlainWord turns text into lower-case ASCII words joined by hyphens, of most
// characters at the longest; "" when nothing of it can be kept.
func PlainWord(text string, most int) string {
	var b strings.Builder
	gap := false
	for _, r := range spelled.Replace(norm.NFKD.String(strings.ToLower(text))) {
		switch {
		case 'a' <= r && r <= 'z', '0' <= r && r <= '9':
			if gap && b.Len() > 0 {
				b.WriteByte('-')
			}
			gap = false
			b.WriteRune(r)
		case unicode.Is(unicode.Mn, r): // the accent of the letter before
		default:
			gap = true
		}
	}
	word := b.String()
	if len(word) <= most {
		return word
	}
	word = word[:most]
	if at := strings.LastIndexByte(word, '-'); at > most/2 {
		word = word[:at]
	}
	return word
}

// SourceName makes a recording's own file name safe on FAT, NTFS and the rest,
// keeping as much of it as the user would look for.
func SourceName(name string) string {
	ext := path.Ext(name)
	stem := strings.TrimSuffix(name, ext)
	clean := func(s string) string {
		return strings.Map(func(r rune) rune {
			if r < ' ' || r == 0x7f || strings.ContainsRune(`<>:"/\|?*`, r) || unicode.Is(unicode.Cf, r) || r == unicode.ReplacementChar {
				return '_'
			}
			return r
		}, s)
	}
	stem = strings.Trim(clean(stem), " .")
	if runes := []rune(stem); len(runes) > 80 {
		stem = strings.TrimRight(string(runes[:80]), " .")
	}
	if stem == "" || IsDeviceName(stem) {
		stem = "recording_" + stem
	}
	return stem + strings.TrimRight(clean(ext), " .")
}

// IsDeviceName reports a name that Windows keeps for itself, whatever its ending
// (Microsoft, Naming Files, Paths, and Namespaces).
func IsDeviceName(stem string) bool {
	base, _, _ := strings.Cut(strings.ToUpper(stem), ".")
	switch base {
	case "CON", "PRN", "AUX", "NUL":
		return true
	}
	return len(base) == 4 && (strings.HasPrefix(base, "COM") || strings.HasPrefix(base, "LPT")) && '1' <= base[3] && base[3] <= '9'
}

// Distinct makes names differ in more than case, by a number before the ending.
func Distinct(names []string) []string {
	seen := map[string]bool{}
	out := make([]string, len(names))
	for i, name := range names {
		ext := path.Ext(name)
		stem := strings.TrimSuffix(name, ext)
		for n := 2; seen[strings.ToLower(name)]; n++ {
			name = fmt.Sprintf("%s_%d%s", stem, n, ext)
		}
		seen[strings.ToLower(name)] = true
		out[i] = name
	}
	return out
}
