package distance

import (
	"bufio"
	"math"
	"math/rand"
	"os"
	"strconv"
	"strings"
	"testing"
	"time"

	"pushcue/timeline/timecode"
)

// at makes readings from pairs of seconds and metres.
func at(pairs ...float64) []Reading {
	var rs []Reading
	for i := 0; i < len(pairs); i += 2 {
		rs = append(rs, Reading{At: timecode.VideoSeconds(pairs[i]), Shown: Metres(pairs[i+1]), Source: FromFile, Row: i/2 + 1})
	}
	return rs
}

func mustTrack(t testing.TB, rs []Reading, o TrackOptions) *Track {
	t.Helper()
	track, aside, err := NewTrack(rs, o)
	if err != nil || len(aside) > 0 {
		t.Fatalf("NewTrack: set aside %+v, error %v", aside, err)
	}
	return track
}

func seconds(s float64) timecode.Video { return timecode.VideoSeconds(s) }

// The radiochemical data set RPN 14 of F. N. Fritsch and R. E. Carlson, Monotone
// piecewise cubic interpolation, SIAM J. Numer. Anal. 17 (1980), with the
// interpolant as NAG's e01bec example prints it, to four places.
func TestInterpolationAgreesWithPublishedValues(t *testing.T) {
	data, published := readRPN14(t)
	track := mustTrack(t, data, TrackOptions{Fastest: 100, Gap: time.Hour})
	for _, p := range published {
		got := track.At(p.At)
		if math.Abs(float64(got.Metres-p.Shown)) > 5e-5 {
			t.Errorf("at %v: %v, published %v", p.At.Seconds(), got.Metres, p.Shown)
		}
	}
	for i := 1; i < len(data); i++ {
		low, high := data[i-1].Shown, data[i].Shown
		for k := range 1000 {
			v := data[i-1].At + (data[i].At-data[i-1].At)*timecode.Video(k)/1000
			if m := track.At(v).Metres; m < low || m > high {
				t.Fatalf("at %v: %v overshoots %v … %v", v.Seconds(), m, low, high)
			}
		}
	}
}

func readRPN14(t *testing.T) (data, published []Reading) {
	t.Helper()
	f, err := os.Open("../../testdata/reference/rpn14.tsv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	into := &data
	for lines := bufio.NewScanner(f); lines.Scan(); {
		if strings.HasPrefix(lines.Text(), "# published") {
			into = &published
		}
		fields := strings.Fields(lines.Text())
		if len(fields) != 2 {
			continue
		}
		x, errX := strconv.ParseFloat(fields[0], 64)
		y, errY := strconv.ParseFloat(fields[1], 64)
		if errX == nil && errY == nil {
			*into = append(*into, Reading{At: seconds(x), Shown: Metres(y)})
		}
	}
	if len(data) != 9 || len(published) != 11 {
		t.Fatalf("read %d points and %d published values, want 9 and 11", len(data), len(published))
	}
	return data, published
}

func TestTrackNeverOvershootsAndStaysFlatWhereItStood(t *testing.T) {
	random := rand.New(rand.NewSource(7))
	for range 200 {
		var rs []Reading
		v, d := 0.0, 0.0
		for range 30 {
			rs = append(rs, at(v, d)...)
			v += 0.5 + random.Float64()
			if random.Intn(3) > 0 {
				d += (random.Float64()*2 - 1) * 0.6
			}
		}
		track := mustTrack(t, rs, TrackOptions{})
		for i := 1; i < len(rs); i++ {
			for k := range 20 {
				p := track.At(rs[i-1].At + (rs[i].At-rs[i-1].At)*timecode.Video(k)/20)
				low, high := min(rs[i-1].Shown, rs[i].Shown), max(rs[i-1].Shown, rs[i].Shown)
				if p.Metres < low || p.Metres > high {
					t.Fatalf("%v lies outside %v … %v", p.Metres, low, high)
				}
			}
		}
	}
}

func TestHowWellAMomentIsKnown(t *testing.T) {
	rs := at(10, 1, 11, 1.2, 12, 1.4, 60, 5, 61, 5.2)
	rs[4].Unsure = true
	track := mustTrack(t, rs, TrackOptions{})
	tests := []struct {
		name   string
		at     float64
		state  State
		unsure bool
	}{
		{"before the first reading", 9.9, Unread, false},
		{"at the first", 10, Read, false},
		{"between two", 10.5, Filled, false},
		{"across a long gap", 30, About, false},
		{"beside an unsure one", 60.5, Filled, true},
		{"at the unsure last", 61, Read, true},
		{"after it", 61.1, Unread, false},
	}
	for _, test := range tests {
		p := track.At(seconds(test.at))
		if p.State != test.state || p.Unsure != test.unsure {
			t.Errorf("%s: %+v, want state %v, unsure %v", test.name, p, test.state, test.unsure)
		}
		if p.State == Unread && p.Metres != 0 {
			t.Errorf("%s: a number was invented: %v", test.name, p.Metres)
		}
	}
}

func TestTrackWithoutReadingsKnowsNothing(t *testing.T) {
	track := mustTrack(t, at(1, math.NaN(), 2, math.Inf(1)), TrackOptions{})
	if track != nil {
		t.Fatalf("got %v, want no track", track)
	}
	if p := track.At(0); p != (Point{}) {
		t.Errorf("At: %+v", p)
	}
	if track.When(1, 1) != nil || track.Stands() != nil || track.Readings() != nil || track.Sources() != nil || track.Step() != 0 {
		t.Error("a nil track should answer with nothing")
	}
}

func TestOneReadingIsKnownAtItsMomentOnly(t *testing.T) {
	track := mustTrack(t, at(5, 3), TrackOptions{})
	if p := track.At(seconds(5)); p.State != Read || p.Metres != 3 {
		t.Errorf("at it: %+v", p)
	}
	if p := track.At(seconds(6)); p.State != Unread {
		t.Errorf("a second later: %+v", p)
	}
	if ps := track.When(3.05, 0.1); len(ps) != 1 || ps[0].At != seconds(5) {
		t.Errorf("When: %+v", ps)
	}
}

// steady is a push at speed m/s with readings every 0.25 s to 0.1 m.
func steady(from, to, start, speed float64) []Reading {
	var rs []Reading
	for v := from; v < to; v += 0.25 {
		d := math.Round((start+speed*(v-from))*10) / 10
		rs = append(rs, at(v, d)...)
	}
	return rs
}

func TestOnlyTheBadReadingIsSetAside(t *testing.T) {
	rs := steady(0, 30, 0, 0.4)
	for _, bad := range []int{0, 40, 41, 80, len(rs) - 1} {
		rs[bad].Shown += 60
	}
	rs[60].Shown -= 2
	track, aside, err := NewTrack(rs, TrackOptions{})
	if err != nil {
		t.Fatal(err)
	}
	wantFirst := []int{0, 40, 60, 80, len(rs) - 1}
	wantCount := []int{1, 2, 1, 1, 1}
	if len(aside) != len(wantFirst) {
		t.Fatalf("set aside %+v", aside)
	}
	for i, a := range aside {
		if a.First != rs[wantFirst[i]] || a.Count != wantCount[i] || a.Rezeroed || a.Speed < DefaultFastest {
			t.Errorf("set aside %+v, want %d from %+v", a, wantCount[i], rs[wantFirst[i]])
		}
	}
	if jump := aside[1].Jump; (jump - 60).Abs() > 0.2 {
		t.Errorf("jump %v, want about 60 m", jump)
	}
	if len(track.Readings()) != len(rs)-6 {
		t.Errorf("%d of %d readings kept", len(track.Readings()), len(rs))
	}
}

// A slip that the next reading could have followed must not take all after it along.
func TestSlipNearItsNeighbourIsSetAsideAlone(t *testing.T) {
	for name, slip := range map[string]Metres{"the next could follow it": 0.5, "it could follow the last": -0.5} {
		for _, count := range []int{1, 2} {
			rs := steady(0, 30, 0, 0.4)
			for i := range count {
				rs[40+i].Shown += slip
			}
			track, aside, err := NewTrack(rs, TrackOptions{})
			if err != nil || len(aside) != 1 || aside[0].Count != count || aside[0].First != rs[40] {
				t.Errorf("%s, %d: set aside %+v, %v", name, count, aside, err)
			}
			if len(track.Readings()) != len(rs)-count || len(track.Resets()) > 0 {
				t.Errorf("%s, %d: %d of %d readings kept, resets %+v", name, count, len(track.Readings()), len(rs), track.Resets())
			}
		}
	}
}

// Little is needed to set a counter to zero that shows little.
func TestCounterSetToZeroNearTheBeginning(t *testing.T) {
	for _, from := range []float64{0.6, 0.9, 1.4} {
		rs := append(append(steady(0, 10, 0, from/10), steady(10, 20, from, 0)...), steady(20, 60, 0, 0.2)...)
		track := mustTrack(t, rs, TrackOptions{})
		if r := track.Resets(); len(r) != 1 || r[0].After != seconds(20) {
			t.Errorf("from %v m: resets %+v, want one at 20 s", from, r)
		}
	}
}

func TestCounterSetToZeroGoesOnFromThere(t *testing.T) {
	rs := append(steady(0, 60, 0, 0.2), steady(60, 90, 0, 0.2)...)
	track := mustTrack(t, rs, TrackOptions{})
	resets := track.Resets()
	if len(resets) != 1 || resets[0].After != seconds(60) || resets[0].From != 12 || resets[0].To != 0 {
		t.Fatalf("resets %+v, want one from 12 m to 0 at 60 s", resets)
	}
	for v, want := range map[float64]Metres{30: 6, 59.5: 11.9, 60.5: 0.1, 75: 3} {
		if p := track.At(seconds(v)); p.State == Unread || (p.Metres-want).Abs() > 0.1 {
			t.Errorf("at %v s: %+v, want %v m", v, p, want)
		}
		if p := track.At(seconds(v)); p.Direction != In {
			t.Errorf("at %v s: direction %v, want in", v, p.Direction)
		}
	}
	if p := track.At(seconds(59.9)); p.State != Unread {
		t.Errorf("while it was set: %+v, want no number", p)
	}
	if ps := track.When(3, 0.1); len(ps) != 2 {
		t.Errorf("3 m: %+v, want a pass before and one after", ps)
	}
	if ps := track.When(11.95, 0.01); len(ps) != 1 {
		t.Errorf("11.95 m: %+v, want the way there only, not the jump", ps)
	}
}

func TestDistancesGoOnFromWhereTheHeadWas(t *testing.T) {
	rs := append(steady(0, 60, 0, 0.2), steady(60, 90, 0, 0.2)...)
	track := mustTrack(t, rs, TrackOptions{Correction: Correction{Zero: 0.4}, Resets: []KnownReset{{seconds(58), 11.5}, {seconds(20), 3}}})
	if r := track.Resets(); len(r) != 1 || r[0].Place == nil || *r[0].Place != 11.5 {
		t.Fatalf("resets %+v, want one at 11.5 m", r)
	}
	for v, want := range map[float64]Metres{30: 5.6, 75: 14.5} {
		if p := track.At(seconds(v)); (p.Metres - want).Abs() > 0.1 {
			t.Errorf("at %v s: %+v, want %v m", v, p, want)
		}
	}
	if ps := track.When(2.6, 0.05); len(ps) != 2 {
		t.Errorf("what the counter showed as 3 m: %+v, want a pass before and one after", ps)
	}
	if off := track.Offset(seconds(75)); (off-11.9).Abs() > 1e-9 || track.Offset(seconds(30)) != 0 {
		t.Errorf("offset %v after, %v before", off, track.Offset(seconds(30)))
	}
}

func TestCounterSetTwiceAndMisreadBetween(t *testing.T) {
	rs := append(steady(0, 20, 1, 0.3), steady(20, 50, 0, 0.3)...)
	rs = append(rs, steady(50, 80, 0, 0.3)...)
	rs[30].Shown += 4
	rs[31].Shown += 4
	track, aside, err := NewTrack(rs, TrackOptions{})
	if err != nil || len(aside) != 1 || aside[0].Count != 2 {
		t.Errorf("set aside %+v, %v", aside, err)
	}
	if resets := track.Resets(); len(resets) != 2 || resets[0].After != seconds(20) || resets[1].After != seconds(50) {
		t.Errorf("resets %+v, want at 20 s and 50 s", resets)
	}
}

func TestLostFirstDigitIsNoReset(t *testing.T) {
	rs := append(steady(0, 50, 0, 0.2), steady(50, 90, 0, 0.2)...)
	track, aside, err := NewTrack(rs, TrackOptions{})
	if err != nil || len(track.Resets()) > 0 || len(aside) != 1 {
		t.Errorf("9.9 m, then 0.0 m: resets %+v, set aside %+v, %v", track.Resets(), aside, err)
	}
}

// A digit that is taken for another one looks like a counter set anew, twice.
func TestJumpThereAndBackIsNoReset(t *testing.T) {
	for name, back := range map[string][]Reading{
		"by the same length": steady(90, 120, 18, 0.2),
		"to the same place":  steady(90, 150, 12, -0.1),
	} {
		rs := append(append(steady(0, 60, 0, 0.2), steady(60, 90, 0, 0.2)...), back...)
		if name == "by the same length" {
			for i := range rs[240:360] {
				rs[240+i].Shown += 7
			}
		}
		track, aside, err := NewTrack(rs, TrackOptions{})
		if err != nil || len(track.Resets()) > 0 || len(aside) != 1 || !aside[0].Rezeroed {
			t.Fatalf("%s: resets %+v, set aside %+v, %v; want one run that agrees with itself", name, track.Resets(), aside, err)
		}
		if p := track.At(seconds(75)); p.State != Unread {
			t.Errorf("%s: between two believable stretches: %+v, want no number", name, p)
		}
	}
}

func TestCounterStepIsNoJump(t *testing.T) {
	// Read from every frame, a step of 0.1 m comes in one frame: 6 m/s at 60 a second.
	var rs []Reading
	for i := range 3600 {
		v := float64(i) / 60
		rs = append(rs, at(v, math.Floor(v*10*0.4)/10)...)
	}
	mustTrack(t, rs, TrackOptions{})
}

// pushStopPull goes in at 0.25 m/s to 5 m, stands 10 s there, goes on to 7.5 m, pulls back to 2.5 m.
func pushStopPull() []Reading {
	place := func(v float64) float64 {
		switch {
		case v < 20:
			return v * 0.25
		case v < 30:
			return 5
		case v < 40:
			return 5 + (v-30)*0.25
		}
		return 7.5 - (v-40)*0.25
	}
	var rs []Reading
	for v := 0.0; v <= 60; v += 0.2 {
		rs = append(rs, at(v, math.Round(place(v)*10)/10)...)
	}
	return rs
}

func TestStandsAndDirections(t *testing.T) {
	track := mustTrack(t, pushStopPull(), TrackOptions{})
	stands := track.Stands()
	if len(stands) != 1 || stands[0].Metres != 5 || stands[0].From.Sub(seconds(20)).Abs() > time.Second || stands[0].To.Sub(seconds(30)).Abs() > time.Second {
		t.Fatalf("stands %+v, want one at 5 m from 20 s to 30 s", stands)
	}
	for v, want := range map[float64]Direction{10: In, 25: Still, 35: In, 50: Out} {
		if p := track.At(seconds(v)); p.Direction != want || p.Standing != (v == 25) {
			t.Errorf("at %v s: %+v, want direction %v", v, p, want)
		}
	}
}

func TestFlickeringCounterStillStands(t *testing.T) {
	rs := at()
	for v := 0.0; v < 8; v += 0.25 {
		rs = append(rs, at(v, 12.4+0.1*float64(int(v*4)%3%2))...)
	}
	if stands := mustTrack(t, rs, TrackOptions{}).Stands(); len(stands) != 1 || stands[0].To.Sub(stands[0].From) < 7*time.Second {
		t.Errorf("stands %+v, want one of 8 s", stands)
	}
}

func TestSlowPushIsNoStand(t *testing.T) {
	if stands := mustTrack(t, steady(0, 60, 0, 0.1), TrackOptions{}).Stands(); len(stands) != 0 {
		t.Errorf("stands %+v in a steady push", stands)
	}
}

func TestWhenGivesEveryPassAndPrefersTheStand(t *testing.T) {
	track := mustTrack(t, pushStopPull(), TrackOptions{})
	passes := track.When(5, 0.05)
	if len(passes) != 2 {
		t.Fatalf("passes at 5 m: %+v, want two", passes)
	}
	if p := passes[0]; !p.Stood || p.At.Sub(seconds(25)).Abs() > 500*time.Millisecond {
		t.Errorf("first pass %+v, want the stand's middle at 25 s", p)
	}
	if p := passes[1]; p.Stood || p.At.Sub(seconds(50)).Abs() > 500*time.Millisecond {
		t.Errorf("second pass %+v, want passing at 50 s", p)
	}
	if passes := track.When(9, 0.1); len(passes) != 0 {
		t.Errorf("never at 9 m: %+v", passes)
	}
	if passes := track.When(7.5, 0.05); len(passes) != 1 || passes[0].At.Sub(seconds(40)).Abs() > 500*time.Millisecond {
		t.Errorf("turning point: %+v", passes)
	}
}

func TestWhenAgreesWithWalkingTheTrack(t *testing.T) {
	track := mustTrack(t, pushStopPull(), TrackOptions{})
	for d := Metres(-1); d < 9; d += 0.13 {
		passes := track.When(d, 0.2)
		for v := seconds(0); v <= seconds(59.8); v += timecode.Video(10 * time.Millisecond) {
			miss := (track.At(v).Metres - d).Abs() - 0.2
			inside := false
			for _, p := range passes {
				inside = inside || v >= p.From && v <= p.To
			}
			if miss < -0.001 && !inside || miss > 0.001 && inside {
				t.Fatalf("%v m: at %v s the track shows %v, inside a pass: %v", d, v.Seconds(), track.At(v).Metres, inside)
			}
		}
		for _, p := range passes {
			if p.At < p.From || p.At > p.To {
				t.Fatalf("%v m: moment outside its pass: %+v", d, p)
			}
		}
	}
}

func TestPassInAGapIsAGuess(t *testing.T) {
	track := mustTrack(t, at(0, 0, 1, 0.2, 2, 0.4, 60, 8, 61, 8.2), TrackOptions{})
	if passes := track.When(4, 0.1); len(passes) != 1 || !passes[0].About {
		t.Errorf("passes %+v, want one guess", passes)
	}
}

func TestCorrectionReachesTheTrack(t *testing.T) {
	track := mustTrack(t, at(0, 0.6, 10, 5.6), TrackOptions{Correction: Correction{Zero: 0.6, Taped: []Taped{{10.6, 11}}}})
	if p := track.At(seconds(10)); (p.Metres - 5.5).Abs() > 1e-9 {
		t.Errorf("got %v, want 5.5 m", p.Metres)
	}
	if r := track.Readings()[1]; r.Shown != 5.6 || (track.Place(1)-5.5).Abs() > 1e-9 {
		t.Errorf("reading %v placed at %v", r.Shown, track.Place(1))
	}
}

func FuzzTrack(f *testing.F) {
	f.Add([]byte{1, 2, 3, 4, 5, 6, 7, 8, 9, 200})
	f.Fuzz(func(t *testing.T, data []byte) {
		var rs []Reading
		for i := 0; i+1 < len(data); i += 2 {
			rs = append(rs, Reading{At: timecode.Video(data[i]) * 1e8, Shown: Metres(data[i+1]) / 16, Unsure: data[i]%7 == 0})
		}
		track, aside, err := NewTrack(rs, TrackOptions{})
		if err != nil {
			t.Fatal(err)
		}
		count := len(track.Readings())
		for _, a := range aside {
			count += a.Count
		}
		if count != len(rs) {
			t.Fatalf("%d readings in, %d accounted for", len(rs), count)
		}
		for v := timecode.Video(-1e8); v < 27e9; v += 3e8 {
			p := track.At(v)
			if math.IsNaN(float64(p.Metres)) || p.Metres < 0 || p.Metres > 16 {
				t.Fatalf("at %v: %+v", v, p)
			}
		}
		last := timecode.Video(math.MinInt64)
		for _, p := range track.When(5, 0.2) {
			if p.From < last || p.To < p.From || p.At < p.From || p.At > p.To {
				t.Fatalf("pass %+v after %v", p, last)
			}
			last = p.To
		}
	})
}

func longTrack() []Reading {
	var rs []Reading
	for i := range 4 * 3600 * 5 {
		v := float64(i) / 5
		rs = append(rs, at(v, math.Round(20*(1+math.Sin(v/300))*10)/10)...)
	}
	return rs
}

func BenchmarkFourHoursOfReadings(b *testing.B) {
	rs := longTrack()
	b.ResetTimer()
	for range b.N {
		NewTrack(rs, TrackOptions{})
	}
}

func BenchmarkTwoThousandQuestions(b *testing.B) {
	track := mustTrack(b, longTrack(), TrackOptions{})
	b.ResetTimer()
	for range b.N {
		for i := range 2000 {
			track.When(Metres(i)/50, 0.1)
		}
	}
}
