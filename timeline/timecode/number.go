package timecode

import (
	"math/bits"
	"strconv"
	"strings"
	"time"
	"unicode"

	"pushcue/timeline/words"
)

// longest is more text than any time takes: beyond it nothing is tried.
const longest = 100

// century bounds every length of time read, far inside what a Duration holds.
const century = 100 * 365 * 24 * time.Hour

var errTooLong = words.Errorf("longer than a hundred years")

// tidy lowers case, makes every run of spaces (no-break ones too) one plain space,
// and turns typographic marks into typed ones.
func tidy(s string) string {
	if len(s) > longest {
		return ""
	}
	s = strings.Map(func(r rune) rune {
		switch {
		case r == '\u2212' || r == '\u2013':
			return '-'
		case r == '\u2019' || r == '\u2032':
			return '\''
		case r == '\u2033' || r == '\u201d':
			return '"'
		case r == '\u200e' || r == '\u200f' || r == '\ufeff':
			return -1
		case unicode.IsSpace(r):
			return ' '
		}
		return unicode.ToLower(r)
	}, s)
	return strings.Join(strings.Fields(s), " ")
}

// atoi reads digits that a pattern has already matched, few enough to fit.
func atoi(digits string) int {
	n, _ := strconv.Atoi(digits)
	return n
}

// scaled reads whole.fraction units exactly, to the nearest nanosecond, and the
// size of the last digit written.
func scaled(whole, fraction string, unit time.Duration) (d, step time.Duration, err error) {
	n, err := strconv.ParseInt(whole, 10, 64)
	if err != nil || n > int64(century/unit) {
		return 0, 0, errTooLong
	}
	fraction = fraction[:min(len(fraction), 9)]
	power := uint64(1)
	for range fraction {
		power *= 10
	}
	hi, lo := bits.Mul64(uint64(atoi(fraction)), uint64(unit))
	part, rest := bits.Div64(hi, lo, power)
	if rest*2 >= power {
		part++
	}
	return time.Duration(n)*unit + time.Duration(part), max(unit/time.Duration(power), 1), nil
}
