package distance

import "pushcue/timeline/words"

// unit is a unit as written, finer than the two that are shown.
type unit int

const (
	noUnit unit = iota
	metre
	centimetre
	millimetre
	foot
	inch
)

// written are the units by their keys, which are those of [units] in the language files.
var written = map[Unit]unit{Metre: metre, Centimetre: centimetre, Millimetre: millimetre, Foot: foot, Inch: inch}

// unitOf is the unit that a word stands for in any of the languages.
func unitOf(word string) (u unit, known bool) {
	u, known = written[Unit(words.FindUnit(word))]
	return u, known
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

// key is the unit as ParseOptions has it.
func (u unit) key() Unit {
	for key, one := range written {
		if one == u {
			return key
		}
	}
	return ""
}
