package ffmpeg

import (
	"testing"
	"time"
)

func TestAChildHangsOnceNothingOfItChanges(t *testing.T) {
	const most, step = 2 * time.Minute, 6 * time.Second
	start := time.Unix(0, 0)
	type look struct {
		after time.Duration // the look before
		v     vitals
	}
	still := func(n int, v vitals) (all []look) {
		for range n {
			all = append(all, look{step, v})
		}
		return all
	}
	for what, c := range map[string]struct {
		looks []look
		hangs bool
	}{
		"nothing at all":                {still(21, vitals{}), true},
		"not long enough":               {still(20, vitals{}), false},
		"it says something":             {append(still(15, vitals{}), still(15, vitals{said: 1})...), false},
		"it uses the processor":         {append(still(15, vitals{}), still(15, vitals{spent: 1})...), false},
		"it reads":                      {append(still(15, vitals{}), still(15, vitals{moved: 1})...), false},
		"still after a sign":            {append(still(15, vitals{}), still(21, vitals{moved: 1})...), true},
		"the computer slept":            {append(still(15, vitals{}), look{8 * time.Hour, vitals{}}), false},
		"it slept, and still nothing":   {append(append(still(15, vitals{}), look{8 * time.Hour, vitals{}}), still(5, vitals{})...), true},
		"the clock was set back":        {append(append(still(15, vitals{}), look{-time.Hour, vitals{}}), still(2, vitals{})...), false},
		"looked at late, as under load": {[]look{{0, vitals{}}, {time.Minute, vitals{}}, {time.Minute, vitals{}}, {time.Minute, vitals{}}}, false},
	} {
		s := stillness{most: most, step: step}
		at, hangs := start, false
		for _, l := range c.looks {
			at = at.Add(l.after)
			hangs = hangs || s.hangs(at, l.v)
		}
		if hangs != c.hangs {
			t.Errorf("%s: hangs %v after %s", what, hangs, s.sum)
		}
	}
}
