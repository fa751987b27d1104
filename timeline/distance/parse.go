package distance

import (
	"cmp"
	"math"
	"strings"

	"pushcue/timeline/fault"
	"pushcue/timeline/words"
)

// ParseOptions settle what a written length leaves open.
type ParseOptions struct {
	Unit    Unit // of a number without a unit: m, cm, mm, ft or in; "" is metres
	Decimal rune // ',' or '.' where it is known; 0 when it isn't
}

// longest is far beyond any cable: a number past it is a slip, not a length.
const longest Metres = 100_000

// Parse reads a length as people write it: "12.4 m", "12,4", "40.5 ft",
// `40'6"`, "40 ft 6 in", `6½"`, "85 cm", with unit words in four languages. The
// result holds one length, or two where the decimal mark isn't known and both
// readings make sense ("1,234"). The error is a fault.List of one fault that
// carries the value; the caller adds file and row.
func Parse(s string, o ParseOptions) ([]Length, error) {
	quantities, negative, err := scan(s)
	if err != nil {
		return nil, unreadable(s, words.Of(err))
	}
	readings, err := combine(quantities, o)
	if err != nil {
		return nil, unreadable(s, words.Of(err))
	}
	for i := range readings {
		if readings[i].Metres > longest {
			return nil, unreadable(s, words.Tell("that is longer than any cable"))
		}
		if negative && readings[i].Metres != 0 {
			readings[i].Metres = -readings[i].Metres
		}
		readings[i].Text = s
	}
	return readings, nil
}

func unreadable(s string, why words.Sentence) error {
	return fault.Of(fault.Fault{
		Value: s,
		Text:  words.Tell("this isn't a length: %s", why),
		Hint:  words.Tell(`write it like 12.4 m, 40.5 ft or 40'6", or leave it empty`),
	})
}

// combine makes lengths of one quantity (12.4 m) or of a large and a small one (40 ft 6 in).
func combine(qs []quantity, o ParseOptions) ([]Length, error) {
	switch len(qs) {
	case 0:
		return nil, words.Errorf("it holds no number")
	case 1:
		return single(qs[0], o)
	case 2:
		l, err := compound(qs[0], qs[1], o)
		return []Length{l}, err
	}
	return nil, words.Errorf("it holds more than one length")
}

func single(q quantity, o ParseOptions) ([]Length, error) {
	u := q.unit
	if u == noUnit {
		u = cmp.Or(written[o.Unit], metre)
	}
	numbers, err := q.values(o.Decimal)
	if err != nil {
		return nil, err
	}
	var ls []Length
	for _, n := range numbers {
		ls = append(ls, Length{Metres: scaled(n.value, u), Step: scaled(n.step, u), Unit: u.shown(), As: u.key()})
	}
	return ls, nil
}

// compound reads feet and inches, and metres and centimetres. The smaller unit
// may be left out: 40'6, 12 m 40.
func compound(large, small quantity, o ParseOptions) (Length, error) {
	parts := map[unit]unit{foot: inch, metre: centimetre}
	want, ok := parts[large.unit]
	if small.unit == noUnit {
		small.unit = want
	}
	if !ok || small.unit != want {
		return Length{}, words.Errorf("its units don't go together")
	}
	whole, err := large.values(o.Decimal)
	if err != nil {
		return Length{}, err
	}
	rest, err := small.values(o.Decimal)
	if err != nil {
		return Length{}, err
	}
	switch {
	case len(whole) > 1 || len(rest) > 1 || whole[0].value != math.Trunc(whole[0].value):
		return Length{}, words.Errorf("the larger unit needs a whole number")
	case scaled(rest[0].value, want) < scaled(1, large.unit)-1e-9:
	case want == inch:
		return Length{}, words.Errorf("there are too many inches")
	default:
		return Length{}, words.Errorf("there are too many centimetres")
	}
	return Length{
		Metres: scaled(whole[0].value, large.unit) + scaled(rest[0].value, want),
		Step:   scaled(rest[0].step, want),
		Unit:   large.unit.shown(),
		As:     large.unit.key(),
	}, nil
}

// ParseSpeed reads a speed along the line in metres a second: "1.5 m/s",
// "5 ft/s", "20 m/min". Faults are as for Parse.
func ParseSpeed(s string, o ParseOptions) (Metres, error) {
	text := strings.ToLower(strings.TrimSpace(s))
	length, per, found := strings.Cut(text, "/")
	if !found {
		length, per = text, "s"
	}
	seconds := map[string]Metres{"s": 1, "sec": 1, "second": 1, "min": 60, "minute": 60, "h": 3600}
	divisor, known := seconds[strings.Trim(per, " .")]
	ls, err := Parse(length, o)
	if !known || err != nil || len(ls) != 1 || ls[0].Metres <= 0 {
		return 0, fault.Of(fault.Fault{
			Value: s, Text: words.Tell("this isn't a speed"), Hint: words.Tell("write it like 1.5 m/s or 5 ft/s"),
		})
	}
	return ls[0].Metres / divisor, nil
}
