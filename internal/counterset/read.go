package counterset

import (
	"math"
	"strconv"
	"strings"
)

// read turns what a sample's counter shows into metres; NaN for nothing.
func (s sample) read(shown string) float64 {
	text := strings.TrimSpace(strings.TrimPrefix(strings.TrimSuffix(shown, s.look.Unit), s.look.Before))
	v, err := strconv.ParseFloat(strings.Replace(text, ",", ".", 1), 64)
	if err != nil {
		return math.NaN()
	}
	if s.look.Feet {
		v *= 0.3048
	}
	return v
}
