package counter

import (
	"fmt"
	"image"
	"slices"
	"strings"
	"testing"

	"pushcue/timeline/distance"
	"pushcue/timeline/timecode"
)

// shown are readings five times a second; an empty text is one that wasn't read.
func shown(texts ...string) (samples []Sample) {
	for i, text := range texts {
		s := Sample{At: timecode.VideoSeconds(float64(i) / 5), Text: text}
		if _, err := fmt.Sscan(text, &s.Value); err == nil {
			s.State = AsShown
		}
		samples = append(samples, s)
	}
	return samples
}

func states(samples []Sample) (all string) {
	for _, s := range samples {
		all += [...]string{"-", "r", "f", "x"}[s.State]
	}
	return all
}

// pushed is a number that goes on by a tenth from one look to the next.
func pushed(from float64, looks int) (texts []string) {
	for i := range looks {
		texts = append(texts, fmt.Sprintf("%.1f", from+float64(i)/10))
	}
	return texts
}

func TestReadingsNoCableReachedAreThrownOut(t *testing.T) {
	r := &reader{grid: grid{decimals: 1}}
	for name, c := range map[string]struct {
		texts []string
		want  string
	}{
		"all in reach":                 {[]string{"1.0", "1.1", "1.2"}, "rrr"},
		"one misread":                  {[]string{"1.0", "1.1", "7.2", "1.2", "1.3"}, "rrxrr"},
		"a digit ahead lost a while":   {[]string{"19.8", "19.9", "10.0", "10.1", "20.2", "20.3", "20.4"}, "rrxxrrr"},
		"set to zero and gone on":      {[]string{"8.1", "8.2", "0.0", "0.1", "0.2"}, "rrrrr"},
		"a zero alone is no new zero":  {[]string{"8.1", "8.2", "0.0", "8.3", "8.4"}, "rrxrr"},
		"paused and gone on elsewhere": {slices.Concat(pushed(1, 40), pushed(7.4, 30)), strings.Repeat("r", 70)},
		"elsewhere, but not for long":  {slices.Concat(pushed(1, 40), pushed(7.4, 20)), strings.Repeat("r", 40) + strings.Repeat("x", 20)},
		"elsewhere by whole tens":      {slices.Concat(pushed(11, 40), pushed(5, 30)), strings.Repeat("r", 40) + strings.Repeat("x", 30)},
		"elsewhere, where it stands":   {slices.Concat(pushed(1, 40), slices.Repeat([]string{"7.4"}, 30)), strings.Repeat("r", 40) + strings.Repeat("x", 30)},
	} {
		samples := shown(c.texts...)
		r.throwOut(samples, Options{Unit: distance.Metre})
		if got := states(samples); got != c.want {
			t.Errorf("%s: %s, want %s", name, got, c.want)
		}
	}
}

func TestSignIsDoubtedWhereTheNumberTurnsAtZero(t *testing.T) {
	r := &reader{grid: grid{decimals: 1}}
	for name, c := range map[string]struct {
		texts []string
		want  string
	}{
		"down to zero and straight up": {[]string{"0.3", "0.2", "0.1", "0.0", "0.1", "0.2", "0.3", "0.4"}, "-" + "--rrrrr"},
		"down to zero, and the end":    {[]string{"0.3", "0.2", "0.1", "0.0"}, "rrrr"},
		"a stand at zero":              {[]string{"0.4", "0.3", "0.0", "0.0", "0.0", "0.0", "0.0", "0.0", "0.0", "0.0", "0.0", "0.3"}, "rrrrrrrrrrrr"},
		"never near zero":              {[]string{"1.3", "1.2", "1.3"}, "rrr"},
	} {
		samples := shown(c.texts...)
		r.doubtSigns(samples)
		if got := states(samples); got != c.want {
			t.Errorf("%s: %s, want %s", name, got, c.want)
		}
	}
}

func TestSixtiesAreTimes(t *testing.T) {
	for name, c := range map[string]struct {
		texts []string
		want  bool
	}{
		"from 59 on at 00": {[]string{"58.57", "58.58", "58.59", "59.00", "59.01"}, true},
		"through 60":       {[]string{"58.57", "58.60", "58.99", "59.00"}, false},
		"never that far":   {[]string{"3.10", "3.20", "3.30"}, false},
	} {
		if got := sixties(shown(c.texts...), 2); got != c.want {
			t.Errorf("%s: %v", name, got)
		}
	}
}

func TestPitchOfDigitsAsWideAsTheyAreTall(t *testing.T) {
	many := func(v float64) (all []float64) {
		for range 40 {
			all = append(all, v)
		}
		return all
	}
	for name, c := range map[string]struct {
		near, apart       []float64
		alone, tall, want float64
	}{
		"bold and wide":                 {many(24), many(36), 23, 25, 24},
		"slim":                          {many(15), many(22), 14, 25, 15},
		"a point between all there are": {nil, many(27), 16, 25, 16},
	} {
		if got := pitchOf(c.near, c.apart, c.alone, c.tall); got < c.want-0.1 || got > c.want+0.1 {
			t.Errorf("%s: %.1f, want %.1f", name, got, c.want)
		}
	}
}

func TestABrightWallIsNoPartOfALetter(t *testing.T) {
	letter := part{box: image.Rect(20, 10, 32, 30), area: 100, pieces: 1}
	for name, c := range map[string]struct {
		other part
		want  int
	}{
		"wall beside and above":    {part{box: image.Rect(18, 0, 90, 40), pieces: 1}, 2},
		"upper half of the letter": {part{box: image.Rect(20, 2, 32, 9), pieces: 1}, 1},
		"next letter":              {part{box: image.Rect(34, 10, 46, 30), pieces: 1}, 2},
	} {
		if got := stacked([]part{letter, c.other}); len(got) != c.want {
			t.Errorf("%s: %d parts, want %d", name, len(got), c.want)
		}
	}
}
