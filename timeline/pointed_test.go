package timeline

import (
	"fmt"
	"strings"
	"testing"

	"pushcue/timeline/distance"
	"pushcue/timeline/jobsheet"
	"pushcue/timeline/timecode"
)

// The camera goes in to 8 m in 40 s, standing at 4 m from 20 s to 30 s, is set anew to
// zero at 60 s, and goes on to 3 m.
func setAnew(v float64) float64 {
	switch {
	case v < 20:
		return v * 0.2
	case v < 30:
		return 4
	case v < 50:
		return 4 + (v-30)*0.2
	case v < 60:
		return 8
	}
	return min((v-60)*0.2, 3)
}

func TestAWrittenDistanceIsComparedWithThePicture(t *testing.T) {
	out := func(v float64) float64 { return 8 - (v-50)*0.2 }
	thereAndBack := func(v float64) float64 {
		if v > 50 {
			return max(out(v), 0)
		}
		return setAnew(v)
	}
	cases := []struct {
		name    string
		push    func(float64) float64
		written string
		at      float64
		agrees  bool
		here    string
		when    string // seconds, * where it stood
	}{
		{"the picture shows it", setAnew, "2.0 m", 10, true, "2.0", "10.0 70.0"},
		{"within the last digit", setAnew, "2.1 m", 10.2, true, "2.0", "10.5 70.5"},
		{"elsewhere, once", setAnew, "6.0 m", 10, false, "2.0", "40.0"},
		{"elsewhere, where it stood", setAnew, "4.0 m", 10, false, "2.0", "25.0*"},
		{"never", setAnew, "9.5 m", 10, false, "2.0", ""},
		{"on both sides of a new zero", setAnew, "1.0 m", 40, false, "6.0", "5.0 65.0"},
		{"after a new zero as the counter showed it then", setAnew, "1.0 m", 65, true, "1.0", "5.0 65.0"},
		{"in and out", thereAndBack, "6.0 m", 10, false, "2.0", "40.0 60.0"},
		{"in and out, a few seconds apart", func(v float64) float64 { return 8 - max(v-40, 40-v)*0.2 }, "7.5 m", 10, false, "2.0", "37.5 42.5"},
		{"a whole metre is written to the metre", setAnew, "2 m", 12, true, "2.4", "10.0 70.0"},
	}
	for _, c := range cases {
		line := resolved(t, Input{Sheet: sheetOf(t), Recording: recordingOf(100), Readings: readingsOf(100, c.push)})
		p, ok := line.Pointed(*lengthOf(c.written), timecode.VideoSeconds(c.at))
		if !ok || p.Here == nil {
			t.Errorf("%s: %+v %v", c.name, p, ok)
			continue
		}
		var when []string
		for _, passing := range p.At {
			text := fmt.Sprintf("%.1f", passing.At.Seconds())
			if passing.Stood {
				text += "*"
			}
			when = append(when, text)
		}
		if here := fmt.Sprintf("%.1f", *p.Here); p.Agrees != c.agrees || here != c.here || strings.Join(when, " ") != c.when {
			t.Errorf("%s: agrees %v, here %s, at %v; want %v, %s, %s", c.name, p.Agrees, here, when, c.agrees, c.here, c.when)
		}
	}
}

// Behind a new zero the same reading lies farther along the line.
func TestAPassingTellsWhereAlongTheLineItWas(t *testing.T) {
	s := sheetOf(t, func(s *jobsheet.Sheet) {
		s.Distance.Resets = []distance.KnownReset{{At: timecode.VideoSeconds(60), Place: 8}}
	})
	line := resolved(t, Input{Sheet: s, Recording: recordingOf(100), Readings: readingsOf(100, setAnew)})
	p, _ := line.Pointed(*lengthOf("1.0 m"), timecode.VideoSeconds(40))
	if len(p.At) != 2 || (p.At[0].Metres-1).Abs() > 0.01 || (p.At[1].Metres-9).Abs() > 0.2 {
		t.Errorf("%+v", p.At)
	}
}

func TestTheLogsOwnDistancesContradictNoPicture(t *testing.T) {
	s := sheetOf(t, startsAt("10:00:00"))
	line := resolved(t, Input{Sheet: s, Recording: recordingOf(100), Log: logOf(s, "time=10:00:10 & at=2 m", "time=10:00:20 & at=4 m")})
	if p, ok := line.Pointed(distance.Length{Metres: 3}, timecode.VideoSeconds(50)); ok {
		t.Errorf("%+v", p)
	}
}

// What a person pointed at stays there, and what contradicts it is said.
func TestAPersonIsBelievedAgainstTheCounter(t *testing.T) {
	s := sheetOf(t, func(s *jobsheet.Sheet) { s.Counter.Confirmed = true })
	log := logOf(s, "at=6.0 m", "at=2.0 m")
	for i := range log.Rows {
		at := timecode.VideoSeconds(10)
		log.Rows[i].Seen = &at
	}
	line := resolved(t, Input{Sheet: s, Recording: recordingOf(100), Log: log, Readings: readingsOf(100, setAnew)})
	near(t, "where the person saw it", observation(t, line, 1).Video, 10, timecode.VideoSeconds(0.05).Sub(0))
	w := warning(line, "distance-disagrees")
	if w == nil || w.Row != 1 {
		t.Errorf("%+v", w)
	}
	if n := strings.Count(fmt.Sprint(line.Warnings), "distance-disagrees"); n != 1 {
		t.Errorf("%d rows are said to disagree, want 1", n)
	}
}
