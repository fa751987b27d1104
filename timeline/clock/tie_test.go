package clock

import (
	"math"
	"strings"
	"testing"
	"time"

	"pushcue/timeline/fault"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// morning is what the log's clock shows at second 0 of these tests.
var morning = timecode.LogAt(time.Date(2026, 3, 2, 10, 0, 0, 0, time.UTC))

func logAt(s float64) timecode.Log { return morning + timecode.LogSeconds(s) }

// at makes an anchor from seconds; the log's time is known to ± half, the
// recording's to a frame.
func at(name string, video, log, half float64) Anchor {
	return Anchor{Name: words.Plain("%s", name), Log: logAt(log), LogHalf: seconds(half), Video: timecode.VideoSeconds(video), VideoHalf: 20 * time.Millisecond}
}

// recording is one of parts that last so many minutes.
func recording(minutes ...float64) []Span {
	var parts []Span
	var end timecode.Video
	for _, m := range minutes {
		parts = append(parts, Span{Start: end, End: end + timecode.VideoSeconds(60*m)})
		end = parts[len(parts)-1].End
	}
	return parts
}

func tie(t *testing.T, parts []Span, anchors ...Anchor) *Fit {
	t.Helper()
	f, err := Tie(parts, anchors, Options{Zone: time.UTC})
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// placed checks where a fit puts a log second, and that its ± admits as much.
func placed(t *testing.T, f *Fit, log, half, want, most float64) {
	t.Helper()
	v, uncertainty, ok, cause := f.Video(logAt(log), seconds(half))
	if !ok {
		t.Errorf("log second %v isn't placed: %s", log, cause)
		return
	}
	if off := math.Abs(v.Seconds() - want); off > most {
		t.Errorf("log second %v is placed at %v, %.3f s off (± %v)", log, v, off, uncertainty)
	}
}

func unplaced(t *testing.T, f *Fit, log, half float64, cause string) {
	t.Helper()
	v, _, ok, got := f.Video(logAt(log), seconds(half))
	if ok {
		t.Errorf("log second %v is placed at %v, want %q", log, v, cause)
	} else if got.String() != cause {
		t.Errorf("log second %v: cause %q, want %q", log, got, cause)
	}
}

func TestTwoAnchorsTellOffsetAndRate(t *testing.T) {
	clock := func(v float64) float64 { return 95 + v*(1+150e-6) } // 1 min 35 s off, and drifting
	tenth := func(v float64) float64 { return written(clock(v), 0.1) }
	for _, c := range []struct {
		name       string
		resolution float64
		most       float64
	}{{"times to the tenth", 0.1, 0.1}, {"times to the second", 1, 0.6}} {
		t.Run(c.name, func(t *testing.T) {
			for shift := 0.0; shift < 20; shift++ { // other digits cut off
				f := tie(t, recording(120), at("first", 100.03+shift*7.7, tenth(100.03+shift*7.7), 0.05), at("second", 7003.2-shift, tenth(7003.2-shift), 0.05))
				for v := 0.7; v < 7199; v += 13.37 {
					placed(t, f, written(clock(v), c.resolution), c.resolution/2, v, c.most)
				}
				if rate := f.Segments[0].RatePPM; math.Abs(rate-150) > 30 {
					t.Errorf("rate is %.0f ppm, want about 150", rate)
				}
			}
		})
	}
}

func TestOneWrongAnchorAmongFiveIsNamed(t *testing.T) {
	names := []string{"a", "b", "c", "d", "e"}
	for wrong := range names {
		for _, by := range []float64{-300, -20, -4, 4, 20, 300} {
			var anchors []Anchor
			for i, v := range []float64{120, 900, 1700, 2600, 3500} {
				log := written(v*(1+60e-6), 1)
				if i == wrong {
					log += by
				}
				anchors = append(anchors, at(names[i], v, log, 0.5))
			}
			f := tie(t, recording(60), anchors...)
			placed(t, f, 2000.5, 0.5, 2000.38, 1)
			placed(t, f, 3400.5, 0.5, 3400.3, 1)
			if wrong == 0 && by < 0 {
				// The first of all, with log time gained after it: that may as well
				// be a pause, and both are said.
				if len(f.Pauses) != 1 || !strings.Contains(f.Pauses[0].Text.String(), "Or a is wrong") {
					t.Errorf("%s wrong by %v s: %+v", names[wrong], by, f.Pauses)
				}
				continue
			}
			if len(f.SetAside) != 1 || f.SetAside[0].Anchor.Name.String() != names[wrong] || len(f.Pauses) != 0 {
				t.Fatalf("%s wrong by %v s: set aside %+v, pauses %+v", names[wrong], by, f.SetAside, f.Pauses)
			}
			if off := f.SetAside[0].Off.Seconds(); math.Abs(off-by) > 1.2 {
				t.Errorf("%s wrong by %v s: said to be %.2f s off", names[wrong], by, off)
			}
			if !strings.HasPrefix(f.SetAside[0].Text.String(), names[wrong]+" doesn't agree") {
				t.Errorf("text %q", f.SetAside[0].Text)
			}
		}
	}
}

func TestTwoWrongAnchorsAmongFive(t *testing.T) {
	f := tie(t, recording(60), at("a", 100, 100, 0.5), at("b", 900, 990, 0.5), at("c", 1700, 1700, 0.5), at("d", 2600, 2480, 0.5), at("e", 3500, 3500, 0.5))
	if len(f.SetAside) != 2 || f.SetAside[0].Anchor.Name.String() != "b" || f.SetAside[1].Anchor.Name.String() != "d" {
		t.Errorf("set aside %+v", f.SetAside)
	}
}

func TestAnchorsToTheMinuteTellNoDriftAndNoPause(t *testing.T) {
	for _, late := range []float64{-59, -30, 0, 30, 59} {
		f := tie(t, recording(40), at("a", 600, 630, 30), at("b", 900, 930+late, 30))
		if len(f.Pauses) != 0 || len(f.SetAside) != 0 {
			t.Errorf("late %v: pauses %+v, set aside %+v", late, f.Pauses, f.SetAside)
		}
		if rate := f.Segments[0].RatePPM; math.Abs(rate) > 20 {
			t.Errorf("late %v: rate %.0f ppm out of two minutes' roundings", late, rate)
		}
	}
}

func TestPauseIsFoundAndNotBridged(t *testing.T) {
	for _, pause := range []float64{8, 95, 1800, 40000} {
		clock := func(v float64) float64 {
			if v > 1500 {
				v += pause
			}
			return v * (1 + 40e-6)
		}
		sec := func(v float64) float64 { return written(clock(v), 1) }
		for name, anchors := range map[string][]Anchor{
			"two before, two after": {at("a", 300, sec(300), 0.5), at("b", 1200, sec(1200), 0.5), at("c", 1900, sec(1900), 0.5), at("d", 2900, sec(2900), 0.5)},
			"one before, two after": {at("b", 1200, sec(1200), 0.5), at("c", 1900, sec(1900), 0.5), at("d", 2900, sec(2900), 0.5)},
		} {
			f := tie(t, recording(50), anchors...)
			if len(f.Pauses) != 1 {
				t.Fatalf("%s, %v s: pauses %+v, set aside %+v", name, pause, f.Pauses, f.SetAside)
			}
			p := f.Pauses[0]
			if off := math.Abs(p.Gained.Seconds() - pause); off > p.Half.Seconds()*1.5 || off > 1.5 {
				t.Errorf("%s: pause of %v s is told as %v ± %v", name, pause, p.Gained, p.Half)
			}
			for _, v := range []float64{30, 1100, 2000, 2950} {
				placed(t, f, sec(v), 0.5, v, 1.3)
			}
			for _, v := range []float64{1300, 1700} {
				if _, _, ok, cause := f.Video(logAt(sec(v)), 500*time.Millisecond); ok || !strings.Contains(cause.String(), "paused") {
					t.Errorf("%s, %v s: a row between the anchors that span the pause: %v, %q", name, pause, ok, cause)
				}
			}
			if _, ok := f.Elapsed(timecode.VideoSeconds(1600)); ok {
				t.Error("the time elapsed inside a pause's span can't be known")
			}
			d, ok := f.Elapsed(timecode.VideoSeconds(2500))
			if want := 2500 + pause; !ok || math.Abs(d.Seconds()-want) > 1.6 {
				t.Errorf("%s: %v elapsed at 2500 s, want %v", name, d, want)
			}
		}
	}
}

func TestLogTimeLostIsNoPause(t *testing.T) {
	f := tie(t, recording(50), at("a", 1200, 1300, 0.5), at("b", 1900, 1900, 0.5), at("c", 2900, 2900, 0.5))
	if len(f.Pauses) != 0 || len(f.SetAside) != 1 || f.SetAside[0].Anchor.Name.String() != "a" {
		t.Errorf("pauses %+v, set aside %+v", f.Pauses, f.SetAside)
	}
}

func TestAnchorsInDifferentPartsFixTheGapNotTheRate(t *testing.T) {
	f := tie(t, recording(20, 30), at("a", 600, 600.5, 0.5), at("b", 2000, 2130.5, 0.5))
	if rate := f.Segments[0].RatePPM; math.Abs(rate) > 1 {
		t.Errorf("rate %.1f ppm", rate)
	}
	placed(t, f, 1100.5, 0.5, 1100, 1.1)
	placed(t, f, 2830.5, 0.5, 2700, 1.1)
	unplaced(t, f, 1265, 0.5, "10:21:05 falls between part 1 and part 2, when nothing was recorded")
	if d, ok := f.Elapsed(timecode.VideoSeconds(1300)); !ok || math.Abs(d.Seconds()-1430) > 1 {
		t.Errorf("%v elapsed at 1300 s, want 1430 s", d)
	}
}

func TestRecorderThatDropsFrames(t *testing.T) {
	for _, rate := range []float64{0.03, -0.02, 0.004} {
		clock := func(v float64) float64 { return written(v*(1+rate), 1) }
		f := tie(t, recording(60), at("a", 200, clock(200), 0.5), at("b", 1700, clock(1700), 0.5), at("c", 3400, clock(3400), 0.5))
		if !f.Uneven || len(f.SetAside) != 0 || len(f.Pauses) != 0 {
			t.Fatalf("rate %v: uneven %v, set aside %+v, pauses %+v", rate, f.Uneven, f.SetAside, f.Pauses)
		}
		placed(t, f, clock(2500), 0.5, 2500, 1.2)
		if d, ok := f.Elapsed(timecode.VideoSeconds(3000)); !ok || math.Abs(d.Seconds()-3000*(1+rate)) > 1.5 {
			t.Errorf("rate %v: %v elapsed at 3000 s", rate, d)
		}
	}
}

func TestRowsJustOutside(t *testing.T) {
	f := tie(t, recording(10), at("a", 300, 400, 0.05))
	placed(t, f, 99.7, 0.5, 0, 0)    // 0.3 s before the first frame, written to the second
	placed(t, f, 700.3, 0.5, 600, 0) // likewise after the last
	unplaced(t, f, 88, 0.5, "10:01:28 is 12 s before the recording starts")
	unplaced(t, f, 735, 0.5, "10:12:15 is 35 s after the recording ends")
	unplaced(t, f, 2e9, 0.5, "13:33:20 is 555555 h 22 min after the recording ends")
}

func TestPartThatNothingTies(t *testing.T) {
	parts := recording(10, 10, 10)
	parts[1].Name = "part2.mp4"
	anchors := []Anchor{at("a", 300, 300, 0.5), at("c", 1500, 1700, 0.5)}
	f := tie(t, parts, anchors...)
	unplaced(t, f, 900, 0.5, "10:15:00 is 5 min after the end of part 1, and nothing ties part2.mp4 to the log: an anchor in it would")
	if _, _, ok := f.Log(timecode.VideoSeconds(800)); ok {
		t.Error("a moment in an untied part has no log time")
	}
	if _, ok := f.Elapsed(timecode.VideoSeconds(800)); ok {
		t.Error("the time elapsed in an untied part can't be known")
	}
	if d, ok := f.Elapsed(timecode.VideoSeconds(1600)); !ok || math.Abs(d.Seconds()-1800) > 1 {
		t.Errorf("%v elapsed at 1600 s, beyond the untied part, want 1800 s", d)
	}

	t.Run("but the files tell", func(t *testing.T) {
		year := time.Date(2009, 1, 1, 0, 0, 0, 0, time.UTC) // the recorder's clock was never set
		f, err := Tie(parts, anchors, Options{Zone: time.UTC, Began: []time.Time{year, year.Add(700 * time.Second), {}}})
		if err != nil {
			t.Fatal(err)
		}
		placed(t, f, 900, 0.5, 800, 1)
		_, half, _, _ := f.Video(logAt(900), seconds(0.5))
		if !f.Segments[1].Weak || f.Segments[0].Weak || half < 4*time.Second {
			t.Errorf("weak %v, ± %v", f.Segments[1].Weak, half)
		}
	})
}

func TestSetsThatCannotBeTied(t *testing.T) {
	for _, c := range []struct {
		name    string
		parts   []Span
		anchors []Anchor
		text    string
	}{
		{"no recording", nil, []Anchor{at("a", 1, 1, 0)}, "there is no recording to tie the log to"},
		{"none", recording(10), nil, "no anchor ties the log to the recording"},
		{"the same twice", recording(10), []Anchor{at("a", 100, 50, 0.5), at("b", 100, 50, 0.5)}, "a and b are the same moment twice"},
		{"one log time for two moments", recording(10), []Anchor{at("a", 100, 50, 0.5), at("b", 140, 50, 0.5)},
			"a and b name one moment twice: 40 s of recording lie between them, but 0.00 s of log time"},
		{"one moment with two log times", recording(10), []Anchor{at("a", 100, 50, 0.5), at("b", 100, 90, 0.5)},
			"a and b name one moment twice: 0.00 s of recording lie between them, but 40 s of log time"},
		{"crossing", recording(10), []Anchor{at("a", 100, 90, 0.5), at("b", 200, 50, 0.5)},
			"a and b cross: a comes first in the recording (1:40.0 before 3:20.0) but last in the log (10:01:30 after 10:00:50)"},
		{"gained", recording(20), []Anchor{at("a", 100, 100, 0.5), at("b", 1000, 1060, 0.5)},
			"between a and b 16 min of log time passed but 15 min of recording: more than any clock drifts, so either the recording was paused between them or one of them is wrong"},
		{"lost", recording(20), []Anchor{at("a", 100, 100, 0.5), at("b", 1000, 940, 0.5)},
			"between a and b only 14 min of log time passed in 15 min of recording: more than any clock drifts, so one of them is wrong"},
		{"parts that overlap", recording(10, 10), []Anchor{at("a", 100, 100, 0.5), at("b", 700, 640, 0.5)},
			"by a and b, part 2 would have begun 1 min before part 1 ended"},
		{"three that all differ", recording(60), []Anchor{at("a", 100, 100, 0.5), at("b", 1800, 1700, 0.5), at("c", 3500, 3000, 0.5)},
			"between a and b only 26 min 40 s of log time passed in 28 min 20 s of recording: more than any clock drifts, so one of them is wrong"},
		{"one of two, with a third elsewhere", recording(30, 30), []Anchor{at("a", 100, 100, 0.5), at("b", 1000, 900, 0.5), at("c", 2000, 2500, 0.5)},
			"the anchors don't agree, and nothing tells which is wrong: a or b"},
		{"beyond the end", recording(10), []Anchor{at("a", 700, 100, 0.5)}, "a lies at 11:40.0, but the recording ends at 10:00.0"},
		{"before the start", recording(10), []Anchor{at("a", -5, 100, 0.5)}, "a lies before the recording starts"},
		{"another year", recording(10), []Anchor{at("a", 5, 100, 0.5), at("b", 50, 5e7, 0.5)}, "b lies more than a year from a on the log's clock"},
	} {
		t.Run(c.name, func(t *testing.T) {
			f, err := Tie(c.parts, c.anchors, Options{Zone: time.UTC})
			if err == nil {
				t.Fatalf("tied: %q", f.Describe())
			}
			list, ok := fault.In(err)
			if !ok || list[0].Text.String() != c.text {
				t.Errorf("says %q, want %q", err, c.text)
			}
			for _, bad := range list {
				if bad.Hint.Empty() {
					t.Errorf("%q has no next step", bad.Text)
				}
			}
		})
	}
}
