package distance

import (
	"strconv"
	"strings"
	"unicode"

	"pushcue/timeline/words"
)

// A quantity is a written number and the unit behind it.
type quantity struct {
	digits   string  // with its marks, as written, without blanks
	fraction float64 // ½ in 6½
	finest   float64 // the fraction's step: ½ of 6½; 0 without one
	unit     unit
}

// marks turns the many signs that people and programs put for primes, minus and blanks into one each.
var marks = strings.NewReplacer(
	"\u00a0", " ", "\u202f", " ", "\u2009", " ", "\u2007", " ", "\t", " ", "\ufeff", "",
	"\u2212", "-", "\u2013", "-", "\u2010", "-", "\u2011", "-",
	"′′", `"`, "’’", `"`, "''", `"`, "´´", `"`, "″", `"`, "”", `"`, "“", `"`, "\u201f", `"`,
	"′", "'", "’", "'", "‘", "'", "´", "'", "`", "'",
	"½", " 1/2", "¼", " 1/4", "¾", " 3/4", "⅛", " 1/8", "⅜", " 3/8", "⅝", " 5/8", "⅞", " 7/8", "⁄", "/",
)

// scan splits a text into quantities and takes a leading sign off.
func scan(s string) (qs []quantity, negative bool, err error) {
	rest := strings.TrimSpace(strings.ToLower(marks.Replace(s)))
	if rest == "" {
		return nil, false, words.Errorf("it is empty")
	}
	if sign := rest[0]; sign == '-' || sign == '+' {
		negative, rest = sign == '-', strings.TrimSpace(rest[1:])
	}
	for rest != "" {
		if len(qs) == 3 {
			return nil, false, words.Errorf("it holds more than one length")
		}
		var q quantity
		q.digits, rest = take(rest, isNumeral)
		if q.digits == "" {
			return nil, false, words.Errorf("%s isn't a number", words.Quoted(firstWord(rest)))
		}
		if q, rest, err = takeFraction(q, rest); err != nil {
			return nil, false, err
		}
		if q.unit, rest, err = takeUnit(rest); err != nil {
			return nil, false, err
		}
		qs = append(qs, q)
		rest = strings.TrimLeft(rest, " ")
		// A bare "1 234" is one number with its thousands set apart, as in French.
		if n := len(qs); n > 1 && qs[n-2].unit == noUnit && grouped(qs[n-2].digits, q.digits) {
			qs[n-2].digits += q.digits
			qs[n-2].unit, qs = q.unit, qs[:n-1]
		}
	}
	return qs, negative, nil
}

func take(s string, ok func(rune) bool) (taken, rest string) {
	end := strings.IndexFunc(s, func(r rune) bool { return !ok(r) })
	if end < 0 {
		end = len(s)
	}
	return s[:end], s[end:]
}

func isNumeral(r rune) bool { return r >= '0' && r <= '9' || r == '.' || r == ',' }

func firstWord(s string) string {
	word, _, _ := strings.Cut(strings.TrimSpace(s), " ")
	if r := []rune(word); len(r) > 20 {
		return string(r[:20]) + "…"
	}
	return word
}

// takeFraction reads the second half of 6 1/2, or of a bare 1/2.
func takeFraction(q quantity, rest string) (quantity, string, error) {
	over := strings.TrimLeft(rest, " ")
	numerator, tail := q.digits, over
	if !strings.HasPrefix(over, "/") {
		numerator, tail = take(over, isNumeral)
		if numerator == "" || !strings.HasPrefix(tail, "/") {
			return q, rest, nil
		}
	} else {
		q.digits = "0"
	}
	denominator, tail := take(tail[1:], isNumeral)
	a, errA := strconv.Atoi(numerator)
	b, errB := strconv.Atoi(denominator)
	if errA != nil || errB != nil || b == 0 || b > 64 || a >= b {
		return q, rest, words.Errorf("%s/%s isn't a fraction of a unit", numerator, denominator)
	}
	q.fraction, q.finest = float64(a)/float64(b), 1/float64(b)
	return q, tail, nil
}

// takeUnit reads the unit word behind a number, and a full stop that ends an abbreviation.
func takeUnit(rest string) (unit, string, error) {
	rest = strings.TrimLeft(rest, " ")
	if rest == "" || isNumeral(rune(rest[0])) {
		return noUnit, rest, nil
	}
	word, tail := rest[:1], rest[1:]
	if word != "'" && word != `"` {
		word, tail = take(rest, unicode.IsLetter)
		tail = strings.TrimPrefix(tail, ".")
	}
	u, known := unitOf(word)
	if !known {
		return noUnit, rest, words.Errorf("%s isn't a unit", words.Quoted(firstWord(rest)))
	}
	// 40'-6" is how plans write feet and inches.
	if u == foot && strings.HasPrefix(tail, "-") {
		tail = tail[1:]
	}
	return u, tail, nil
}

// grouped tells whether tail goes on head as a group of thousands.
func grouped(head, tail string) bool {
	if len(head) == 0 || len(head) > 3 || strings.ContainsAny(head, ".,") || head[0] == '0' {
		return false
	}
	whole := strings.FieldsFunc(tail, func(r rune) bool { return r == '.' || r == ',' })
	return len(whole) > 0 && len(whole[0]) == 3 && tail[0] != '.' && tail[0] != ','
}
