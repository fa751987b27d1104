package timeline

import (
	"context"
	"strings"
	"testing"
	"time"
	_ "time/tzdata"

	"pushcue/timeline/codes"
	"pushcue/timeline/distance"
	"pushcue/timeline/fault"
	"pushcue/timeline/fieldlog"
	"pushcue/timeline/jobsheet"
	"pushcue/timeline/timecode"
)

// A job in tests: a recording at 25 frames a second, in parts of whole seconds.
func recordingOf(seconds ...float64) Recording {
	var rec Recording
	for i, length := range seconds {
		part := Part{
			File: "part" + string(rune('1'+i)) + ".mp4", Start: rec.End, First: len(rec.Frames),
			Duration: time.Duration(length * 1e9), Rate: timecode.Rate{Num: 25, Den: 1},
		}
		for n := range int(length * 25) {
			rec.Frames = append(rec.Frames, part.Start+timecode.Video(n)*4e7)
		}
		rec.End = part.Start.Add(part.Duration)
		rec.Parts = append(rec.Parts, part)
	}
	return rec
}

func zone(t testing.TB, name string) *time.Location {
	t.Helper()
	z, err := time.LoadLocation(name)
	if err != nil {
		t.Fatal(err)
	}
	return z
}

// sheetOf is a job sheet of 2 March 2026 in Lisbon, changed as a test likes.
func sheetOf(t testing.TB, change ...func(*jobsheet.Sheet)) *jobsheet.Sheet {
	s := jobsheet.Default()
	s.File = "job.toml"
	s.Job.Date = jobsheet.Date{Year: 2026, Month: time.March, Day: 2}
	s.Job.Zone, s.Job.ZoneGiven = zone(t, "Europe/Lisbon"), true
	for _, c := range change {
		c(s)
	}
	return s
}

func startsAt(clock string) func(*jobsheet.Sheet) {
	return func(s *jobsheet.Sheet) { s.Recording.Starts = logTime(clock) }
}

func lagOf(d time.Duration) func(*jobsheet.Sheet) {
	return func(s *jobsheet.Sheet) { s.Log.Lag = d }
}

// logTime is a time of day with a resolution of a tenth of a second, "10:02:11.0",
// or of a second, "10:02:11".
func logTime(text string) *jobsheet.LogTime {
	ws, err := timecode.ParseClock(text, "")
	if err != nil || len(ws) != 1 {
		panic(text)
	}
	return &jobsheet.LogTime{Written: ws[0], Text: text}
}

// rowOf makes a row from "time=10:07:31.0 video=5:14.2 at=12.4 m to=15 m what=roots".
func rowOf(s *jobsheet.Sheet, text string) fieldlog.Row {
	var row fieldlog.Row
	for _, field := range strings.Split(text, " & ") {
		name, value, _ := strings.Cut(field, "=")
		switch name {
		case "time":
			w := logTime(value).Written
			day := timecode.Date{Year: s.Job.Date.Year, Month: s.Job.Date.Month, Day: s.Job.Date.Day}
			at := day.At(w.Middle(), s.Job.Zone)
			row.Time = &fieldlog.Moment{Log: timecode.LogAt(at[len(at)-1]), Half: w.Resolution / 2, Text: value}
		case "video":
			at, half, label, err := timecode.ParseVideo(value)
			if err != nil {
				panic(err)
			}
			row.Video = &fieldlog.VideoTime{At: at, Half: half, Timecode: label, Text: value}
		case "at":
			row.Distance = lengthOf(value)
		case "to":
			row.To = lengthOf(value)
		case "what":
			row.What = fieldlog.Kind{Key: value, Text: value}
		}
	}
	return row
}

func lengthOf(text string) *distance.Length {
	ls, err := distance.Parse(text, distance.ParseOptions{})
	if err != nil {
		panic(err)
	}
	return &ls[0]
}

func logOf(s *jobsheet.Sheet, rows ...string) *fieldlog.Log {
	log := &fieldlog.Log{File: "log.csv"}
	for i, text := range rows {
		row := rowOf(s, text)
		row.Number, row.Line = i+1, i+2
		log.Rows = append(log.Rows, row)
	}
	return log
}

func resolved(t testing.TB, in Input) *Timeline {
	t.Helper()
	line, err := Resolve(context.Background(), in)
	if err != nil {
		t.Fatalf("Resolve: %v", err)
	}
	accounted(t, line)
	return line
}

// accounted checks what holds for every timeline: each row is placed or listed
// once, observations are numbered in order of video time, each on a frame.
func accounted(t testing.TB, line *Timeline) {
	t.Helper()
	seen := map[int]int{}
	for i, o := range line.Observations {
		seen[o.Row]++
		if o.Number != i+1 || o.Entry == nil || o.Entry.Number != o.Row {
			t.Errorf("observation %d is numbered %d and is row %d", i+1, o.Number, o.Row)
		}
		if o.Frame < 0 || o.Frame >= len(line.Recording.Frames) || line.Recording.Frames[o.Frame] != o.Video {
			t.Errorf("row %d isn't on frame %d", o.Row, o.Frame)
		}
		if i > 0 && o.Video < line.Observations[i-1].Video {
			t.Errorf("row %d comes before the one ahead of it", o.Row)
		}
		if o.Uncertainty <= 0 || len(o.Why) == 0 {
			t.Errorf("row %d: ± %v, because %q", o.Row, o.Uncertainty, o.Why)
		}
	}
	for _, u := range line.Unplaced {
		seen[u.Row]++
		if u.Cause.Empty() {
			t.Errorf("row %d is left without a cause", u.Row)
		}
	}
	rows := 0
	if line.Log != nil {
		rows = len(line.Log.Rows)
	}
	if len(seen) != rows {
		t.Errorf("%d rows in, %d accounted for", rows, len(seen))
	}
	for row, n := range seen {
		if n != 1 {
			t.Errorf("row %d is there %d times", row, n)
		}
	}
}

func observation(t testing.TB, line *Timeline, row int) Observation {
	t.Helper()
	for _, o := range line.Observations {
		if o.Row == row {
			return o
		}
	}
	t.Fatalf("row %d isn't placed: %+v", row, line.Unplaced)
	return Observation{}
}

func near(t testing.TB, what string, got timecode.Video, want float64, within time.Duration) {
	t.Helper()
	if got.Sub(timecode.VideoSeconds(want)).Abs() > within {
		t.Errorf("%s at %v, want %v s ± %v", what, got.Format(3), want, within)
	}
}

func warning(line *Timeline, code codes.Code) *Warning {
	for i := range line.Warnings {
		if line.Warnings[i].Code == code {
			return &line.Warnings[i]
		}
	}
	return nil
}

func wantWarning(t testing.TB, line *Timeline, code codes.Code, part string) {
	t.Helper()
	w := warning(line, code)
	if w == nil || !strings.Contains(w.Text.String(), part) {
		t.Errorf("no warning %s that says %q; there are %+v", code, part, line.Warnings)
	}
}

func faultOf(t testing.TB, in Input) fault.Fault {
	t.Helper()
	_, err := Resolve(context.Background(), in)
	faults, ok := fault.In(err)
	if !ok || len(faults) == 0 {
		t.Fatalf("got error %v, want a fault", err)
	}
	return faults[0]
}

// readingsOf samples where the camera was, every half second to a decimetre.
func readingsOf(until float64, at func(v float64) float64) []distance.Reading {
	var rs []distance.Reading
	for v := 0.0; v <= until; v += 0.5 {
		shown := float64(int(at(v)*10+0.5)) / 10
		rs = append(rs, distance.Reading{At: timecode.VideoSeconds(v), Shown: distance.Metres(shown), Source: distance.FromFile})
	}
	return rs
}

// pushOf goes in at 0.2 m/s to 4 m (20 s), stands to 30 s, goes on to 8 m (50 s),
// stands to 60 s, and pulls back at 0.2 m/s.
func pushOf(v float64) float64 {
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
	return 8 - (v-60)*0.2
}
