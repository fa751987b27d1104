package timeline

import (
	"math"
	"math/rand"
	"strings"
	"testing"
	"time"

	"pushcue/timeline/fieldlog"
	"pushcue/timeline/jobsheet"
	"pushcue/timeline/timecode"
)

// A log clock an hour and 35 s ahead that runs 150 ppm fast, two anchors, two hours.
func TestWrongAndDriftingClockOverTwoHours(t *testing.T) {
	for _, test := range []struct {
		resolution, within time.Duration
	}{{100 * time.Millisecond, 100 * time.Millisecond}, {time.Second, 600 * time.Millisecond}} {
		random := rand.New(rand.NewSource(11))
		s := sheetOf(t)
		ahead := time.Hour + 35*time.Second
		s.Log.Ahead = &ahead
		began := time.Date(2026, 3, 2, 10, 2, 11, 0, s.Job.Zone)
		shows := func(v float64, resolution time.Duration) timecode.Log {
			l := timecode.LogAt(began.Add(ahead)) + timecode.LogSeconds(v*(1+150e-6))
			return l - l%timecode.Log(resolution)
		}
		for _, v := range []float64{100, 7100} {
			at := shows(v, 100*time.Millisecond).Time(s.Job.Zone)
			s.Anchors = append(s.Anchors, jobsheet.Anchor{
				Log: logTime(at.Format("15:04:05.0")), Video: timecode.VideoSeconds(v - 0.005), Half: 5 * time.Millisecond})
		}
		var truth []float64
		log := &fieldlog.Log{}
		for i := range 200 {
			truth = append(truth, 7200*random.Float64())
			log.Rows = append(log.Rows, fieldlog.Row{Number: i + 1, Time: &fieldlog.Moment{
				Log:  shows(truth[i], test.resolution).Add(test.resolution / 2),
				Half: test.resolution / 2, Text: "as shown"}})
		}
		line := resolved(t, Input{Sheet: s, Recording: recordingOf(7200), Log: log})
		for _, o := range line.Observations {
			_, shown, _ := line.FrameAt(timecode.VideoSeconds(truth[o.Row-1]))
			if off := o.Video.Sub(shown).Abs(); off > test.within+40*time.Millisecond {
				t.Errorf("times to %v: row %d is off by %v", test.resolution, o.Row, off)
			}
			want := began.Add(time.Duration(truth[o.Row-1] * 1e9))
			if o.TrueTime == nil || o.TrueTime.Sub(want).Abs() > 2*test.resolution+test.within {
				t.Errorf("row %d: true time %v, want %v", o.Row, o.TrueTime, want)
			}
		}
	}
}

func TestBadAnchorIsNamedAndLeftOut(t *testing.T) {
	s := sheetOf(t)
	for i, log := range []string{"10:01:00.0", "10:03:00.0", "10:05:40.0", "10:07:00.0", "10:09:00.0"} {
		s.Anchors = append(s.Anchors, jobsheet.Anchor{Log: logTime(log), Video: timecode.VideoSeconds(float64(60 + 120*i)), Half: 50 * time.Millisecond})
	}
	line := resolved(t, Input{Sheet: s, Recording: recordingOf(600), Log: logOf(s, "time=10:05:00.0")})
	wantWarning(t, line, "anchor-set-aside", "anchor 3")
	near(t, "the row", observation(t, line, 1).Video, 300, 150*time.Millisecond)
}

func TestAnchorsToTheMinuteFiveMinutesApartTellNoDriftAndNoPause(t *testing.T) {
	for _, second := range []string{"10:14", "10:15", "10:16"} {
		line := resolved(t, inputOf(t, `
			[job]
			date = 2026-03-02
			zone = "Europe/Lisbon"
			[[anchor]]
			log = "10:10"
			video = "10:00"
			[[anchor]]
			log = "`+second+`"
			video = "15:00"`, "time,what\n10:30:30,roots\n", recordingOf(2400)))
		fit := line.Clock
		if len(fit.Pauses) > 0 || len(fit.SetAside) > 0 || fit.Uneven || math.Abs(fit.Segments[0].RatePPM) > 20 {
			t.Errorf("%s: pauses %v, set aside %v, rate %.0f ppm", second, fit.Pauses, fit.SetAside, fit.Segments[0].RatePPM)
		}
		near(t, second, observation(t, line, 1).Video, 1800, time.Minute)
	}
}

func TestRowInAPauseGoesByTheTrackElseIsListed(t *testing.T) {
	s := sheetOf(t)
	// Five minutes passed on the log's clock between 30 s and 60 s of recording.
	for _, a := range [][2]string{{"10:00:10.0", "10"}, {"10:00:30.0", "30"}, {"10:06:00.0", "60"}, {"10:06:30.0", "90"}} {
		at, half, _, _ := timecode.ParseVideo(a[1] + ".0")
		s.Anchors = append(s.Anchors, jobsheet.Anchor{Log: logTime(a[0]), Video: at, Half: half})
	}
	in := Input{Sheet: s, Recording: recordingOf(100), Log: logOf(s, "time=10:03:00.0 & at=6.0 m", "time=10:06:10.0", "time=10:00:20.0")}
	line := resolved(t, in)
	if warning(line, "pause-found") == nil || len(line.Unplaced) != 1 || line.Unplaced[0].Row != 1 {
		t.Fatalf("warnings %+v, unplaced %+v", line.Warnings, line.Unplaced)
	}
	near(t, "after the pause", observation(t, line, 2).Video, 70, 300*time.Millisecond)
	in.Readings = readingsOf(100, pushOf)
	line = resolved(t, in)
	if o := observation(t, line, 1); o.Basis != ByDistance {
		t.Errorf("basis %s", o.Basis)
	} else {
		near(t, "passing 6 m between the anchors", o.Video, 40, time.Second)
	}
	before, _ := line.TrueTime(timecode.VideoSeconds(20))
	after, ok := line.TrueTime(timecode.VideoSeconds(80))
	if gained := after.Sub(before); !ok || (gained-6*time.Minute).Abs() > time.Second {
		t.Errorf("true time gained %v over the pause, want 6 min", gained)
	}
}

// Europe/Lisbon's clocks went from 01:00 to 02:00 on 29 March 2026, and go from
// 02:00 back to 01:00 on 25 October 2026 (IANA time zone database).
func TestBothSidesOfAChangeOfSummerTime(t *testing.T) {
	for _, change := range []struct{ date, starts, log, before, after string }{
		{"2026-03-29", "00:59:30.0", "00:59:40.0,roots\n02:00:10.0,roots\n", "2026-03-29T00:59:40Z", "2026-03-29T02:00:10+01:00"},
		{"2026-10-25", "2026-10-25T01:59:30.0+01:00", "01:59:40.0,roots\n01:00:10.0,roots\n", "2026-10-25T01:59:40+01:00", "2026-10-25T01:00:10Z"},
	} {
		line := resolved(t, inputOf(t, `
			[job]
			date = `+change.date+`
			zone = "Europe/Lisbon"
			[recording]
			starts = "`+change.starts+`"`, "time,what\n"+change.log, recordingOf(120)))
		for row, want := range map[int]struct {
			video float64
			true  string
		}{1: {10, change.before}, 2: {40, change.after}} {
			o := observation(t, line, row)
			near(t, change.date, o.Video, want.video, 100*time.Millisecond)
			if o.TrueTime == nil || o.TrueTime.Round(time.Second).Format(time.RFC3339) != want.true {
				t.Errorf("%s, row %d: true time %v, want %s", change.date, row, o.TrueTime, want.true)
			}
		}
	}
}

func TestHourThatComesTwice(t *testing.T) {
	s := sheetOf(t)
	s.Job.Date = jobsheet.Date{Year: 2026, Month: time.October, Day: 25}
	day := timecode.Date{Year: 2026, Month: time.October, Day: 25}
	both := day.At(time.Hour+30*time.Minute, s.Job.Zone)
	if len(both) != 2 {
		t.Fatalf("01:30 is there %d times", len(both))
	}
	for i, want := range []string{"2026-10-25T01:30:00+01:00", "2026-10-25T01:30:00Z"} {
		startsAt("01:29:50.0")(s)
		log := &fieldlog.Log{Rows: []fieldlog.Row{{Number: 1, Time: &fieldlog.Moment{
			Log: timecode.LogAt(both[i]), Half: 50 * time.Millisecond, Text: "01:30:00.0"}}}}
		line := resolved(t, Input{Sheet: s, Recording: recordingOf(60), Log: log})
		o := observation(t, line, 1)
		near(t, "the row", o.Video, 10, 200*time.Millisecond)
		if got := o.TrueTime.Round(time.Second).Format(time.RFC3339); got != want {
			t.Errorf("true time %s, want %s", got, want)
		}
	}
}

func TestRecordingOverMidnight(t *testing.T) {
	line := resolved(t, inputOf(t, `
		[job]
		date = 2026-03-02
		zone = "Europe/Lisbon"
		[recording]
		starts = "23:59:30.0"`, "time,what\n23:59:40.0,roots\n00:00:10.0,roots\n", recordingOf(60)))
	near(t, "before midnight", observation(t, line, 1).Video, 10, 100*time.Millisecond)
	o := observation(t, line, 2)
	near(t, "after midnight", o.Video, 40, 100*time.Millisecond)
	if o.TrueTime.Day() != 3 {
		t.Errorf("true time %v", o.TrueTime)
	}
}

func TestRecorderClockYearsOffTiesNothing(t *testing.T) {
	s := sheetOf(t)
	rec := recordingOf(600)
	rec.Parts[0].Began = time.Date(2011, 1, 1, 0, 0, 13, 0, time.UTC)
	line := resolved(t, Input{Sheet: s, Recording: rec, Log: logOf(s, "time=10:05:00.0")})
	wantWarning(t, line, "filetime-unusable", "2011-01-01 at 00:00:13")
	if len(line.Unplaced) != 1 || line.Clock != nil {
		t.Errorf("placed by a clock 15 years off: %+v", line.Observations)
	}
	ahead := rec.Parts[0].Began.Sub(time.Date(2026, 3, 2, 10, 2, 0, 0, s.Job.Zone))
	s.Recording.Ahead = &ahead
	line = resolved(t, Input{Sheet: s, Recording: rec, Log: logOf(s, "time=10:05:00.0")})
	o := observation(t, line, 1)
	near(t, "the row, its error being known", o.Video, 180, time.Second)
	if o.Basis != ByFileTime || warning(line, "clock-weak") == nil {
		t.Errorf("basis %s, warnings %+v", o.Basis, line.Warnings)
	}
}

func TestFileTimesAreWeak(t *testing.T) {
	s := sheetOf(t)
	logAhead := 95 * time.Second
	s.Log.Ahead = &logAhead
	rec := recordingOf(600, 300)
	rec.Parts[0].Began = time.Date(2026, 3, 2, 10, 0, 0, 0, s.Job.Zone)
	rec.Parts[1].Began = time.Date(2026, 3, 2, 10, 20, 0, 0, s.Job.Zone)
	line := resolved(t, Input{Sheet: s, Recording: rec, Log: logOf(s, "time=10:06:35.0", "time=10:23:35.0")})
	near(t, "in part 1", observation(t, line, 1).Video, 300, time.Second)
	o := observation(t, line, 2)
	near(t, "in part 2", o.Video, 720, time.Second)
	if o.Uncertainty < 30*time.Second || o.Basis != ByFileTime {
		t.Errorf("basis %s ± %v", o.Basis, o.Uncertainty)
	}
	if got := o.TrueTime.Round(time.Second).Format("15:04:05"); got != "10:22:00" {
		t.Errorf("true time %s, want 10:22:00", got)
	}
	wantWarning(t, line, "clock-weak", "often wrong")
}

// Some recorders write local time and mark it as UTC.
func TestLocalFileTimeMarkedAsUTC(t *testing.T) {
	s := sheetOf(t)
	s.Job.Zone = zone(t, "America/Denver")
	rec := recordingOf(600)
	rec.Parts[0].Began = time.Date(2026, 3, 2, 10, 0, 0, 0, time.UTC)
	line := resolved(t, Input{Sheet: s, Recording: rec, Log: logOf(s, "time=10:05:00.0")})
	near(t, "the row", observation(t, line, 1).Video, 300, time.Second)
}

func TestUndatedLogIsPlacedWithoutTrueTime(t *testing.T) {
	s := sheetOf(t, startsAt("10:02:11.0"))
	s.Job.Date = jobsheet.Date{}
	log := &fieldlog.Log{Undated: true, Rows: []fieldlog.Row{{Number: 1, Time: &fieldlog.Moment{
		Log: timecode.LogAt(time.Date(1970, 1, 1, 10, 3, 11, 0, time.UTC)), Half: 50 * time.Millisecond, Text: "10:03:11.0"}}}}
	line := resolved(t, Input{Sheet: s, Recording: recordingOf(600), Log: log})
	o := observation(t, line, 1)
	near(t, "the row", o.Video, 60, 200*time.Millisecond)
	if o.TrueTime != nil {
		t.Errorf("true time %v although no day is known", o.TrueTime)
	}
	wantWarning(t, line, "date-unknown", "tells the day")

	s.Recording.Starts = nil
	rec := recordingOf(600)
	rec.Parts[0].Began = time.Date(2026, 3, 2, 10, 2, 0, 0, s.Job.Zone)
	line = resolved(t, Input{Sheet: s, Recording: rec, Log: log})
	near(t, "by the files' time of day", observation(t, line, 1).Video, 71, time.Second)
}

func TestElapsedLog(t *testing.T) {
	s := sheetOf(t, startsAt("0:01:00"))
	log := &fieldlog.Log{Elapsed: true, Rows: []fieldlog.Row{{Number: 1, Time: &fieldlog.Moment{
		Log: timecode.LogSeconds(100), Half: 500 * time.Millisecond, Text: "1:40"}}}}
	line := resolved(t, Input{Sheet: s, Recording: recordingOf(600), Log: log})
	o := observation(t, line, 1)
	near(t, "the row", o.Video, 39.5, 200*time.Millisecond)
	if o.TrueTime != nil {
		t.Errorf("true time %v of a log that counts from its own zero", o.TrueTime)
	}
}

func TestTimesWithoutADayAreRefusedWithTheNextStep(t *testing.T) {
	s := sheetOf(t, startsAt("10:02:11.0"))
	s.Job.Date = jobsheet.Date{}
	f := faultOf(t, Input{Sheet: s, Recording: recordingOf(60)})
	if f.Column != "recording.starts" || !strings.Contains(f.Hint.String(), "[job]") {
		t.Errorf("%+v", f)
	}
}

func TestAssumedZoneIsSaid(t *testing.T) {
	s := sheetOf(t, startsAt("10:02:11.0"))
	s.Job.ZoneGiven = false
	line := resolved(t, Input{Sheet: s, Recording: recordingOf(60)})
	wantWarning(t, line, "zone-assumed", "Europe/Lisbon")
}

func TestElapsedLogTakesTrueTimeFromTheRecorder(t *testing.T) {
	s := sheetOf(t, startsAt("0:01:00"))
	rec := recordingOf(600)
	rec.Parts[0].Began = time.Date(2026, 3, 2, 11, 0, 0, 0, time.UTC)
	ahead := time.Hour
	s.Recording.Ahead = &ahead
	log := &fieldlog.Log{Elapsed: true, Rows: []fieldlog.Row{{Number: 1, Time: &fieldlog.Moment{
		Log: timecode.LogSeconds(100.5), Half: 500 * time.Millisecond, Text: "1:40"}}}}
	line := resolved(t, Input{Sheet: s, Recording: rec, Log: log})
	if o := observation(t, line, 1); o.TrueTime == nil || o.TrueTime.Round(time.Second).Format(time.RFC3339) != "2026-03-02T10:00:40Z" {
		t.Errorf("true time %v", o.TrueTime)
	}
}

func TestRecordersDayMustBeBorneOut(t *testing.T) {
	s := sheetOf(t)
	rec := recordingOf(600)
	rec.Parts[0].Began = time.Date(2026, 3, 2, 10, 0, 0, 0, time.UTC)
	line := resolved(t, Input{Sheet: s, Recording: rec})
	if at, ok := line.TrueTime(timecode.VideoSeconds(30)); !ok || at.Format("15:04:05") != "10:00:30" {
		t.Errorf("on the job's day: %v, %v", at, ok)
	}
	s.Job.Date = jobsheet.Date{}
	line = resolved(t, Input{Sheet: s, Recording: rec})
	if at, ok := line.TrueTime(0); ok {
		t.Errorf("nothing bears the day out, but true time is %v", at)
	}
	wantWarning(t, line, "filetime-unusable", "nothing else supports")
}

func TestTimesThatDisagreeAreSaid(t *testing.T) {
	s := sheetOf(t, startsAt("10:00:00.0"), lagOf(10*time.Second))
	line := resolved(t, Input{Sheet: s, Recording: recordingOf(100), Log: logOf(s,
		"video=30.0 & time=10:00:38.0", "video=40.0 & time=10:00:55.0", "video=50.0 & time=10:00:45.0", "video=60.0 & time=10:01:00.0")})
	var rows []int
	for _, w := range line.Warnings {
		if w.Code == "times-disagree" {
			rows = append(rows, w.Row)
		}
	}
	if len(rows) != 2 || rows[0] != 2 || rows[1] != 3 {
		t.Errorf("rows %v disagree, want 2 and 3", rows)
	}
}

func TestLastMomentOfAPartStaysInIt(t *testing.T) {
	s := sheetOf(t)
	s.Anchors = []jobsheet.Anchor{
		{Log: logTime("10:00:10.0"), Video: timecode.VideoSeconds(10), Half: 50 * time.Millisecond},
		{Log: logTime("10:20:10.0"), Video: timecode.VideoSeconds(60), Half: 50 * time.Millisecond},
	}
	line := resolved(t, Input{Sheet: s, Recording: recordingOf(50, 50), Log: logOf(s, "time=10:00:50.0", "time=10:19:59.9")})
	for row, want := range map[int]int{1: 1249, 2: 1250} {
		if o := observation(t, line, row); o.Frame != want {
			t.Errorf("row %d is on frame %d, want %d", row, o.Frame, want)
		}
	}
}

func TestPartsWhoseFilesTellAnotherOrderAreNamed(t *testing.T) {
	at := func(minute int) time.Time { return time.Date(2009, 1, 1, 0, minute, 0, 0, time.UTC) }
	for name, c := range map[string]struct {
		began []time.Time
		files []string
		want  bool
	}{
		"the second was filmed first":         {[]time.Time{at(9), at(2)}, nil, true},
		"as their names stand":                {[]time.Time{at(2), at(9)}, nil, false},
		"at the same time":                    {[]time.Time{at(2), at(2)}, nil, false},
		"one tells nothing":                   {[]time.Time{at(2), at(9), {}}, nil, false},
		"a person has said what the order is": {[]time.Time{at(9), at(2)}, []string{"one.mp4", "two.mp4"}, false},
	} {
		s, rec := sheetOf(t), recordingOf(60, 60, 60)
		rec.Parts = rec.Parts[:len(c.began)]
		for i, began := range c.began {
			rec.Parts[i].Began = began
		}
		s.Recording.Files = c.files
		line := resolved(t, Input{Sheet: s, Recording: rec})
		w := warning(line, "recording-order")
		if c.want != (w != nil) {
			t.Errorf("%s: %+v", name, w)
		}
		if second := `files = ["` + rec.Parts[1].File; w != nil && (!w.Open() || !strings.Contains(w.Hint.String(), second)) {
			t.Errorf("%s: %+v", name, w)
		}
	}
}
