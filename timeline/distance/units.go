package distance

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
