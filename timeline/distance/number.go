package distance

import (
	"math"
	"strconv"
	"strings"

	"pushcue/timeline/words"
)

type number struct{ value, step float64 }

// values reads the digits: one number, or two where a single mark could be a
// decimal mark or set thousands apart.
func (q quantity) values(decimal rune) ([]number, error) {
	var ns []number
	for _, plain := range plainForms(q.digits, decimal) {
		v, err := strconv.ParseFloat(plain, 64)
		if err != nil {
			return nil, words.Errorf("%s isn't a number", words.Quoted(q.digits))
		}
		step := 1.0
		if _, digits, found := strings.Cut(plain, "."); found {
			step = math.Pow10(-len(digits))
		}
		if q.finest != 0 {
			if v != math.Trunc(v) {
				return nil, words.Errorf("%s has a decimal mark and a fraction", words.Quoted(q.digits))
			}
			v, step = v+q.fraction, q.finest
		}
		ns = append(ns, number{v, step})
	}
	if len(ns) == 0 {
		return nil, words.Errorf("%s isn't a number", words.Quoted(q.digits))
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
