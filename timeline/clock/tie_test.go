package clock

import (
	"math"
	"strings"
	"testing"
	"time"

	"pushcue/timeline/fault"
	"pushcue/timeline/timecode"
)

var morning = timecode.LogAt(time.Date(2026, 3, 2, 10, 2, 11, 0, time.UTC))

// at makes an anchor: the log clock shows its start time plus log seconds at a
// recording time, both known to ± half.
func at(name string, video, log, half float64) Anchor {
	return Anchor{Name: name, Log: morning + timecode.LogSeconds(log), LogHalf: seconds(half), Video: timecode.VideoSeconds(video), VideoHalf: 20 * time.Millisecond}
}

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
		list, _ := fault.In(err)
		t.Fatalf("%v\n%v", err, list[0].Hint)
	}
	for _, line := range f.Describe() {
		t.Log(line)
	}
	return f
}

// placed says where f puts log second s and how far that is from want.
func placed(t *testing.T, f *Fit, log, want, half, most float64) {
	t.Helper()
	v, ow, ok, cause := f.Video(morning+timecode.LogSeconds(log), seconds(half))
	if !ok {
		t.Fatalf("log second %v isn't placed: %s", log, cause)
	}
	if off := math.Abs(v.Seconds() - want); off > most {
		t.Errorf("log second %v is placed at %v, %.3f s off (± %v)", log, v, off, ow)
	}
}

func TestTwoAnchorsTellOffsetAndRate(t *testing.T) {
	clock := func(v float64) float64 { return 95 + v*(1+150e-6) }
	tenth := func(v float64) float64 { return math.Floor(clock(v)*10)/10 + 0.05 }
	parts := recording(120)
	for _, c := range []struct{ grid, most float64 }{{0.1, 0.1}, {1, 0.6}} {
		written := func(v float64) float64 { return math.Floor(clock(v)/c.grid)*c.grid + c.grid/2 }
		f := tie(t, parts, at("first", 100.033, tenth(100.033), 0.05), at("second", 7003.2, tenth(7003.2), 0.05))
		for v := 0.0; v <= 7200; v += 13.37 {
			placed(t, f, min(max(written(v), f.firstLog()), f.lastLog()), v, c.grid/2, c.most+1e-6)
		}
	}
}

func (f *Fit) firstLog() float64 { return (f.Segments[0].LogAtFrom - morning).Seconds() }
func (f *Fit) lastLog() float64 {
	l, _, _ := f.Log(f.parts[len(f.parts)-1].End)
	return (l - morning).Seconds()
}

func TestOneWrongAnchorAmongFive(t *testing.T) {
	for wrong := range 5 {
		for _, by := range []float64{-300, -20, -3, 3, 20, 300} {
			var anchors []Anchor
			names := []string{"a", "b", "c", "d", "e"}
			for i, v := range []float64{120, 900, 1700, 2600, 3500} {
				log := math.Floor(v*(1+60e-6)) + 0.5
				if i == wrong {
					log += by
				}
				anchors = append(anchors, at(names[i], v, log, 0.5))
			}
			f, err := Tie(recording(60), anchors, Options{Zone: time.UTC})
			if err != nil {
				t.Errorf("%v by %v: %v", wrong, by, err)
				continue
			}
			text := strings.Join(f.Describe(), "\n")
			t.Logf("%d by %v: aside %d pauses %d\n%s", wrong, by, len(f.SetAside), len(f.Pauses), text)
		}
	}
}
