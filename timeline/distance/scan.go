package distance

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode"
)

// unit is a written unit, finer than the two that are shown.
type unit int

const (
	noUnit unit = iota
	metre
	centimetre
	millimetre
	foot
	inch
)

var unitWords = map[string]unit{
	"m": metre, "mt": metre, "mts": metre, "mtr": metre, "mtrs": metre,
	"meter": metre, "meters": metre, "metre": metre, "metres": metre, "metern": metre,
	"metro": metre, "metros": metre, "mètre": metre, "mètres": metre,
	"cm": centimetre, "cms": centimetre, "centimeter": centimetre, "centimeters": centimetre,
	"centimetre": centimetre, "centimetres": centimetre, "centimètre": centimetre, "centimètres": centimetre,
	"centímetro": centimetre, "centímetros": centimetre, "centimetro": centimetre, "centimetros": centimetre,
	"zentimeter": centimetre,
	"mm":         millimetre, "millimeter": millimetre, "millimeters": millimetre, "millimetre": millimetre,
	"millimetres": millimetre, "millimètre": millimetre, "millimètres": millimetre,
	"milímetro": millimetre, "milímetros": millimetre, "milimetro": millimetre, "milimetros": millimetre,
	"ft": foot, "foot": foot, "feet": foot, "lf": foot, "'": foot,
	"pie": foot, "pies": foot, "pied": foot, "pieds": foot, "fuß": foot, "fuss": foot,
	"in": inch, "ins": inch, "inch": inch, "inches": inch, `"`: inch,
	"pulgada": inch, "pulgadas": inch, "pulg": inch, "pouce": inch, "pouces": inch, "zoll": inch,
}

// scaled is n units in metres. Whole divisions keep 85 cm from becoming 0.8500000000000001 m.
func scaled(n float64, u unit) Metres {
	switch u {
	case centimetre:
		return Metres(n / 100)
	case millimetre:
		return Metres(n / 1000)
	case foot:
		return Metres(n) * PerFoot
	case inch:
		return Metres(n) * PerFoot / 12
	}
	return Metres(n)
}

func (u unit) shown() Unit {
	if u == foot || u == inch {
		return Foot
	}
	return Metre
}

func (u unit) plural() string {
	if u == inch {
		return "inches"
	}
	return "centimetres"
}

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
		return nil, false, fmt.Errorf("it is empty")
	}
	if sign := rest[0]; sign == '-' || sign == '+' {
		negative, rest = sign == '-', strings.TrimSpace(rest[1:])
	}
	for rest != "" {
		if len(qs) == 3 {
			return nil, false, fmt.Errorf("it holds more than one length")
		}
		var q quantity
		q.digits, rest = take(rest, isNumeral)
		if q.digits == "" {
			return nil, false, fmt.Errorf("%q isn't a number", firstWord(rest))
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
		return q, rest, fmt.Errorf("%s/%s isn't a fraction of a unit", numerator, denominator)
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
	u, known := unitWords[word]
	if !known {
		return noUnit, rest, fmt.Errorf("%q isn't a unit", firstWord(rest))
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

type number struct{ value, step float64 }

// values reads the digits: one number, or two where a single mark could be a
// decimal mark or set thousands apart.
func (q quantity) values(decimal rune) ([]number, error) {
	var ns []number
	for _, plain := range plainForms(q.digits, decimal) {
		v, err := strconv.ParseFloat(plain, 64)
		if err != nil {
			return nil, fmt.Errorf("%q isn't a number", q.digits)
		}
		step := 1.0
		if _, digits, found := strings.Cut(plain, "."); found {
			step = math.Pow10(-len(digits))
		}
		if q.finest != 0 {
			if v != math.Trunc(v) {
				return nil, fmt.Errorf("%q has a decimal mark and a fraction", q.digits)
			}
			v, step = v+q.fraction, q.finest
		}
		ns = append(ns, number{v, step})
	}
	if len(ns) == 0 {
		return nil, fmt.Errorf("%q isn't a number", q.digits)
	}
	return ns, nil
}

// plainForms rewrites written digits as Go reads them: no thousands, a point as decimal mark.
func plainForms(digits string, decimal rune) []string {
	points, commas := strings.Count(digits, "."), strings.Count(digits, ",")
	switch {
	case points+commas == 0:
		return []string{digits}
	case points > 0 && commas > 0:
		last := strings.LastIndexAny(digits, ".,")
		return asDecimal(digits, rune(digits[last]))
	case points+commas > 1:
		return asThousands(digits)
	}
	mark := '.'
	if commas == 1 {
		mark = ','
	}
	thousands := asThousands(digits)
	switch {
	case len(thousands) == 0 || decimal == mark:
		return asDecimal(digits, mark)
	case decimal != 0:
		return thousands
	}
	return append(asDecimal(digits, mark), thousands...)
}

func asDecimal(digits string, mark rune) []string {
	at := strings.LastIndexByte(digits, byte(mark))
	whole, part := digits[:at], digits[at+1:]
	if strings.ContainsRune(whole, mark) {
		return nil
	}
	if strings.ContainsAny(whole, ".,") {
		groups := asThousands(whole)
		if len(groups) == 0 {
			return nil
		}
		whole = groups[0]
	}
	if whole+part == "" {
		return nil
	}
	if part == "" {
		return []string{whole}
	}
	return []string{"0" + whole + "." + part}
}

// asThousands joins groups of three behind a head of one to three digits.
func asThousands(digits string) []string {
	groups := strings.FieldsFunc(digits, func(r rune) bool { return r == '.' || r == ',' })
	if len(groups) < 2 || len(groups) != strings.Count(digits, ".")+strings.Count(digits, ",")+1 {
		return nil
	}
	if strings.Contains(digits, ".") && strings.Contains(digits, ",") {
		return nil
	}
	if len(groups[0]) > 3 || groups[0][0] == '0' {
		return nil
	}
	for _, g := range groups[1:] {
		if len(g) != 3 {
			return nil
		}
	}
	return []string{strings.Join(groups, "")}
}
