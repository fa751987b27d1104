package job

import (
	"strings"
)

// naturalLess orders names as people count: part2 before part10. Case decides
// only between names that are otherwise the same.
func naturalLess(a, b string) bool {
	if c := NaturalCompare(strings.ToLower(a), strings.ToLower(b)); c != 0 {
		return c < 0
	}
	return a < b
}

func NaturalCompare(a, b string) int {
	for a != "" && b != "" {
		if isDigit(a[0]) && isDigit(b[0]) {
			na, restA := leadingNumber(a)
			nb, restB := leadingNumber(b)
			if len(na) != len(nb) {
				return len(na) - len(nb)
			}
			if c := strings.Compare(na, nb); c != 0 {
				return c
			}
			a, b = restA, restB
			continue
		}
		if a[0] != b[0] {
			return int(a[0]) - int(b[0])
		}
		a, b = a[1:], b[1:]
	}
	return len(a) - len(b)
}

func isDigit(c byte) bool { return '0' <= c && c <= '9' }

// leadingNumber cuts the digits a name begins with, without leading zeros: two
// such numbers compare by length and then as text, however long they are.
func leadingNumber(s string) (number, rest string) {
	end := 0
	for end < len(s) && isDigit(s[end]) {
		end++
	}
	return strings.TrimLeft(s[:end], "0"), s[end:]
}
