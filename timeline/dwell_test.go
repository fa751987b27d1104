package timeline

import (
	"fmt"
	"math"
	"math/rand"
	"strings"
	"testing"
	"time"

	"pushcue/timeline/distance"
	"pushcue/timeline/fieldlog"
	"pushcue/timeline/jobsheet"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// The recording starts at 10:00:00 on the log's clock; pushOf tells where the
// camera was: standing at 4 m from 20 s to 30 s, and at 8 m from 50 s to 60 s.
func dwelling(t *testing.T, lag time.Duration, rows ...string) *Timeline {
	t.Helper()
	s := sheetOf(t, startsAt("10:00:00.0"), lagOf(lag))
	return resolved(t, Input{Sheet: s, Recording: recordingOf(100), Log: logOf(s, rows...), Readings: readingsOf(100, pushOf)})
}

func TestWrittenLateIsMovedToWhereTheCameraStood(t *testing.T) {
	line := dwelling(t, 30*time.Second, "time=10:00:45.0 & at=4.0 m")
	o := observation(t, line, 1)
	// Within the stand the later moments are a little likelier.
	near(t, "moved to the stand", o.Video, 26, time.Second)
	if o.Basis != ByDwell || o.Uncertainty < 4*time.Second || o.Uncertainty > 7*time.Second {
		t.Errorf("basis %s ± %v, want the stand's 10 s", o.Basis, o.Uncertainty)
	}
	if o.Track == nil || (*o.Track-4).Abs() > 0.05 || o.TrueTime == nil {
		t.Errorf("track %v, true time %v", o.Track, o.TrueTime)
	}
}

func TestTimeWithinAStandIsOfIt(t *testing.T) {
	line := dwelling(t, 30*time.Second, "time=10:00:28.0 & at=4.0 m")
	o := observation(t, line, 1)
	if o.Video < timecode.VideoSeconds(24) || o.Video > timecode.VideoSeconds(28.5) || o.Latest > timecode.VideoSeconds(29.5) {
		t.Errorf("at %v, at latest %v: it was written at 28 s, and seldom at once", o.Video, o.Latest)
	}
	if o.Basis != ByStart || o.Uncertainty < 4*time.Second || o.Uncertainty > 9*time.Second || o.Earliest > timecode.VideoSeconds(21.5) {
		t.Errorf("basis %s ± %v, at earliest %v: it may have been seen since 20 s", o.Basis, o.Uncertainty, o.Earliest)
	}
}

func TestOnlyThePartOfAStandWithinTheLagCounts(t *testing.T) {
	line := dwelling(t, 4*time.Second, "time=10:00:32.0 & at=4.0 m")
	near(t, "within 28 s and 30 s", observation(t, line, 1).Video, 29, 800*time.Millisecond)
}

func TestPassingCountsWhereNoStandDoes(t *testing.T) {
	line := dwelling(t, 10*time.Second, "time=10:00:42.0 & at=6.0 m")
	o := observation(t, line, 1)
	near(t, "passing 6 m", o.Video, 40, 600*time.Millisecond)
	if o.Basis != ByDwell || o.Uncertainty > 1500*time.Millisecond {
		t.Errorf("basis %s ± %v", o.Basis, o.Uncertainty)
	}
}

func TestDisagreementIsReportedAndTheTimeBelieved(t *testing.T) {
	line := dwelling(t, 5*time.Second, "time=10:00:25.0 & at=4.0 m", "time=10:00:55.0 & at=5.5 m")
	wantWarning(t, line, "distance-disagrees", "row 2: the log says 5.5 m, the track 8.0 m at that time")
	o := observation(t, line, 2)
	near(t, "its own time, or within the lag before it", o.Video, 53, 2*time.Second)
	if o.Earliest > timecode.VideoSeconds(40) {
		t.Errorf("it may have been seen where the track shows its distance, but at earliest at %v", o.Earliest)
	}
	if o.Basis != ByStart || *o.Distance != 5.5 || (*o.Track-8).Abs() > 0.05 {
		t.Errorf("%+v", o)
	}
	line = dwelling(t, 0, "video=55.0 & at=5.5 m", "video=45.0 & at=7.0 m")
	wantWarning(t, line, "distance-disagrees", "row 1: the log says 5.5 m, the track 8.0 m")
	if n := len(line.Warnings); n != 1 {
		t.Errorf("%d warnings: %+v", n, line.Warnings)
	}
}

func TestWithoutATrackTheTimeStays(t *testing.T) {
	s := sheetOf(t, startsAt("10:00:00.0"), lagOf(30*time.Second))
	line := resolved(t, Input{Sheet: s, Recording: recordingOf(100), Log: logOf(s, "time=10:00:45.0 & at=4.0 m", "time=10:00:25.0 & at=2 m")})
	near(t, "row 1", observation(t, line, 1).Video, 45, 100*time.Millisecond)
}

func TestWrittenAfterTheRecordingEnded(t *testing.T) {
	line := dwelling(t, 30*time.Second, "time=10:01:50.0 & at=1.0 m", "time=10:43:00.0 & at=1.0 m")
	near(t, "seen pulling back", observation(t, line, 1).Video, 95, time.Second)
	if len(line.Unplaced) != 1 || line.Unplaced[0].Row != 2 {
		t.Errorf("unplaced %+v", line.Unplaced)
	}
}

func TestDistanceAlonePrefersTheStandAndSaysOfSeveralPasses(t *testing.T) {
	s := sheetOf(t)
	in := Input{Sheet: s, Recording: recordingOf(100), Readings: readingsOf(100, pushOf),
		Log: logOf(s, "at=4.0 m", "at=6.0 m", "at=20 m", "at=8 m")}
	line := resolved(t, in)
	o := observation(t, line, 1)
	near(t, "the stand at 4 m", o.Video, 25, 600*time.Millisecond)
	if o.Basis != ByDistance || o.TrueTime != nil {
		t.Errorf("%+v", o)
	}
	o = observation(t, line, 2)
	near(t, "the first pass of 6 m", o.Video, 40, time.Second)
	if o.Uncertainty < 25*time.Second {
		t.Errorf("6 m was passed twice, 30 s apart, but ± is %v", o.Uncertainty)
	}
	wantWarning(t, line, "several-passes", "row 2: the camera was at 6.0 m several times")
	if len(line.Unplaced) != 1 || !strings.Contains(line.Unplaced[0].Cause.String(), "never shows the camera at 20.0 m") {
		t.Errorf("unplaced %+v", line.Unplaced)
	}
	if o := observation(t, line, 4); o.Video < timecode.VideoSeconds(45) || o.Video > timecode.VideoSeconds(62) {
		t.Errorf("8 m is at %v", o.Video)
	}
}

func TestTrueTimeOfADistanceNeedsAClock(t *testing.T) {
	line := dwelling(t, 0, "at=4.0 m")
	if o := observation(t, line, 1); o.TrueTime == nil || o.TrueTime.Round(time.Second).Format("15:04:05") != "10:00:25" {
		t.Errorf("true time %v", o.TrueTime)
	}
}

func TestRowsInAnUntiedPartGoByTheTrack(t *testing.T) {
	s := sheetOf(t)
	s.Anchors = []jobsheet.Anchor{{Log: logTime("10:00:10.0"), Video: timecode.VideoSeconds(10), Half: 50 * time.Millisecond}}
	in := Input{Sheet: s, Recording: recordingOf(45, 55), Log: logOf(s, "time=10:30:00.0 & at=8.0 m", "time=10:30:00.0"), Readings: readingsOf(100, pushOf)}
	line := resolved(t, in)
	o := observation(t, line, 1)
	near(t, "the stand at 8 m", o.Video, 55, 1500*time.Millisecond)
	if o.Basis != ByDistance || o.TrueTime != nil {
		t.Errorf("%+v", o)
	}
	if len(line.Unplaced) != 1 || line.Unplaced[0].Row != 2 {
		t.Errorf("unplaced %+v", line.Unplaced)
	}
	wantWarning(t, line, "part-untied", "part2.mp4")
}

func TestGuessInAGapIsWideAndSaysSo(t *testing.T) {
	s := sheetOf(t)
	var rs []distance.Reading
	for _, r := range readingsOf(100, pushOf) {
		if r.At < timecode.VideoSeconds(34) || r.At > timecode.VideoSeconds(46) {
			rs = append(rs, r)
		}
	}
	line := resolved(t, Input{Sheet: s, Recording: recordingOf(65), Log: logOf(s, "at=6.0 m"), Readings: rs[:len(rs)-70]})
	o := observation(t, line, 1)
	if o.Uncertainty < 5*time.Second || o.Uncertainty > 13*time.Second || !strings.Contains(words.Join(o.Why, words.Comma).String(), "gap") {
		t.Errorf("± %v, because %q", o.Uncertainty, o.Why)
	}
	if o.Track != nil || *o.Distance != 6 {
		t.Errorf("track %v in a gap", o.Track)
	}
}

func TestUnconfirmedCounterPlacesAndLeavesOpen(t *testing.T) {
	s := sheetOf(t)
	rs := readingsOf(100, pushOf)
	for i := range rs {
		rs[i].Source = distance.FromPicture
	}
	in := Input{Sheet: s, Recording: recordingOf(100), Log: logOf(s, "at=4.0 m"), Readings: rs}
	line := resolved(t, in)
	if w := warning(line, "counter-unconfirmed"); w == nil || !w.Open() || len(line.Observations) != 1 {
		t.Errorf("warnings %+v", line.Warnings)
	}
	if why := words.Join(line.Observations[0].Why, words.Comma).String(); !strings.Contains(why, "nobody has confirmed") {
		t.Errorf("the row isn't marked: %q", why)
	}
	s.Counter.Confirmed = true
	if line := resolved(t, in); warning(line, "counter-unconfirmed") != nil {
		t.Errorf("warnings %+v", line.Warnings)
	}
}

func TestCounterSetAnewIsNamed(t *testing.T) {
	s := sheetOf(t)
	rs := readingsOf(50, pushOf)
	for _, r := range readingsOf(20, pushOf) {
		r.At += timecode.VideoSeconds(50.5)
		rs = append(rs, r)
	}
	line := resolved(t, Input{Sheet: s, Recording: recordingOf(100), Readings: rs})
	wantWarning(t, line, "counter-reset", "as if set anew")
	if p := line.DistanceAt(timecode.VideoSeconds(60)); p.State < distance.Filled || (p.Metres-distance.Metres(pushOf(9.5))).Abs() > 0.1 {
		t.Errorf("10 s after it was set anew: %+v, want what it shows", p)
	}
	if p := line.DistanceAt(timecode.VideoSeconds(50.2)); p.State != distance.Unread {
		t.Errorf("a number while it was set anew: %+v", p)
	}
}

// A person looks at something while the camera stands or, less often, passes,
// and writes it down up to half a minute later.
func TestUncertaintyHoldsWhereTheTrackPlaces(t *testing.T) {
	random := rand.New(rand.NewSource(23))
	held, all, moved := 0, 0, 0
	for range 150 {
		push := randomPush(random, 600)
		s := sheetOf(t, startsAt("10:00:00"), lagOf(30*time.Second))
		began := timecode.LogAt(time.Date(2026, 3, 2, 10, 0, 0, 0, s.Job.Zone)) + timecode.LogSeconds(random.Float64())
		log := &fieldlog.Log{}
		var truth []float64
		for i := range 8 {
			seen := push.looked(random, 590)
			late := min(random.ExpFloat64()*8, 30)
			if seen+late > 599 {
				late = 0
			}
			written := began + timecode.LogSeconds(seen+late)
			written -= written % 1e9
			text := fmt.Sprintf("at=%.1f m", math.Abs(push.at(seen)))
			row := rowOf(s, text)
			row.Number, row.Time = i+1, &fieldlog.Moment{Log: written.Add(5e8), Half: 5e8, Text: "as written"}
			log.Rows, truth = append(log.Rows, row), append(truth, seen)
		}
		line := resolved(t, Input{Sheet: s, Recording: recordingOf(600), Log: log, Readings: readingsOf(600, push.at)})
		for _, o := range line.Observations {
			all++
			if o.Basis == ByDwell {
				moved++
			}
			if o.Video.Sub(timecode.VideoSeconds(truth[o.Row-1])).Abs() <= o.Uncertainty {
				held++
			}
		}
	}
	share := float64(held) / float64(all)
	t.Logf("%d observations, %d moved, %.1f %% held", all, moved, share*100)
	if share < 0.92 || moved < all/4 {
		t.Errorf("the ± holds the truth in %.1f %% of %d cases, %d of them moved by the track", share*100, all, moved)
	}
}

// A stroll is a push of moves and stands: corners of time and place.
type stroll struct{ v, d []float64 }

func randomPush(random *rand.Rand, until float64) stroll {
	p := stroll{[]float64{0}, []float64{0}}
	v, d := 0.0, 0.0
	for v < until {
		step, speed := 0.3+random.Float64()*3, 0.1+random.Float64()*0.3
		if d > 3 && random.Intn(4) == 0 {
			step = -step / 2
		}
		v, d = v+math.Abs(step)/speed, max(0, d+step)
		p.v, p.d = append(p.v, v), append(p.d, d)
		v += 3 + random.Float64()*15
		p.v, p.d = append(p.v, v), append(p.d, d)
	}
	return p
}

func (p stroll) at(v float64) float64 {
	for i := 1; i < len(p.v); i++ {
		if v <= p.v[i] {
			return p.d[i-1] + (p.d[i]-p.d[i-1])*(v-p.v[i-1])/(p.v[i]-p.v[i-1])
		}
	}
	return p.d[len(p.d)-1]
}

// looked is a moment of a stand, or in one case of ten of a move, before until.
func (p stroll) looked(random *rand.Rand, until float64) float64 {
	for {
		i := 1 + random.Intn(len(p.v)-1)
		stood := p.d[i] == p.d[i-1]
		if stood != (random.Intn(10) > 0) || p.v[i] > until {
			continue
		}
		return p.v[i-1] + random.Float64()*(p.v[i]-p.v[i-1])
	}
}

// What a hand rounds isn't put into the counter's mouth.
func TestPlaceNearTheWrittenDistanceIsToldAsItWas(t *testing.T) {
	s := sheetOf(t)
	for written, want := range map[string]string{
		"at=4.0 m": "standing at 4.0 m from",
		"at=4.1 m": "standing at 4.0 m, near enough to 4.1 m, from",
	} {
		line := resolved(t, Input{Sheet: s, Recording: recordingOf(100), Log: logOf(s, written), Readings: readingsOf(100, pushOf)})
		if why, _ := line.Explain(1); !strings.Contains(words.Join(why, words.Plain(" ")).String(), want) {
			t.Errorf("%s: %q, want %q", written, why, want)
		}
	}
}
