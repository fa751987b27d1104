package wording

import (
	"context"
	"strings"
	"testing"
	"time"

	"pushcue/timeline"
	"pushcue/timeline/distance"
	"pushcue/timeline/fieldlog"
	"pushcue/timeline/jobsheet"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

func TestAnUncertaintyIsNeverShownTooSmall(t *testing.T) {
	tl, _ := push(t, timeline.Observation{})
	w := In(words.English(), tl)
	for d, want := range map[time.Duration]string{
		0: "0.0 s", 10 * time.Millisecond: "0.1 s", 2500 * time.Millisecond: "2.5 s", 2501 * time.Millisecond: "2.6 s",
		31 * time.Second: "31 s", 30100 * time.Millisecond: "31 s", 20 * time.Minute: "20 min", 1201 * time.Second: "21 min",
	} {
		if got := w.Half(d); got != want {
			t.Errorf("%v: got %q, want %q", d, got, want)
		}
	}
}

// A time from a clock that nobody has checked says so wherever it stands.
func TestUncheckedTimesSaySo(t *testing.T) {
	began := time.Date(2026, 3, 2, 10, 0, 0, 0, time.UTC)
	sheet := jobsheet.Default()
	sheet.Job.Zone, sheet.Job.Date = time.UTC, jobsheet.Date{Year: 2026, Month: time.March, Day: 2}
	row := fieldlog.Row{Number: 1, What: fieldlog.Kind{Key: "roots"}, Time: &fieldlog.Moment{Log: timecode.LogAt(began.Add(30500 * time.Millisecond))}}
	worded := func(change func(*jobsheet.Sheet, *timeline.Part)) (*Wording, *timeline.Observation) {
		s, part := *sheet, timeline.Part{File: "a.mp4", Duration: time.Minute, Began: began}
		change(&s, &part)
		rec := timeline.Recording{Parts: []timeline.Part{part}, End: timecode.VideoSeconds(60)}
		for n := range 60 * 25 {
			rec.Frames = append(rec.Frames, timecode.Video(n)*4e7)
		}
		line, err := timeline.Resolve(context.Background(), timeline.Input{Sheet: &s, Recording: rec, Log: &fieldlog.Log{Rows: []fieldlog.Row{row}}})
		if err != nil {
			t.Fatal(err)
		}
		return In(words.English(), line), &line.Observations[0]
	}
	none := time.Duration(0)
	for _, c := range []struct {
		what                      string
		change                    func(*jobsheet.Sheet, *timeline.Part)
		strip, table, header, day string
		known                     string // how dates and times are known
	}{
		{"the file's own time", func(*jobsheet.Sheet, *timeline.Part) {},
			"2 Mar 2026 10:00:30 UTC (clock not checked)", "10:00:30?", "true time (clock not checked)", "2026-03-02 UTC (clock not checked)",
			"Dates and times come from the recorder's own clock or from the files. Nobody has checked that clock, so they may be wrong, by years too."},
		{"the recorder's clock in the picture", func(_ *jobsheet.Sheet, p *timeline.Part) { p.Shown = &timeline.Shown{At: began, Dated: true} },
			"2 Mar 2026 10:00:30 UTC (clock not checked)", "10:00:30?", "true time (clock not checked)", "2026-03-02 UTC (clock not checked)",
			"Dates and times come from the recorder's own clock or from the files. Nobody has checked that clock, so they may be wrong, by years too."},
		{"a recorder's clock that somebody compared", func(s *jobsheet.Sheet, _ *timeline.Part) { s.Recording.Ahead = &none },
			"2 Mar 2026 10:00:30 UTC ± 5 s", "10:00:30", "true time", "2026-03-02 UTC",
			"Dates and times come from the recorder's own clock, put right by what the job sheet says it was off."},
		{"the job sheet's start", func(s *jobsheet.Sheet, _ *timeline.Part) {
			written, err := timecode.ParseClock("10:00:00.0", "")
			if err != nil {
				t.Fatal(err)
			}
			s.Recording.Starts = &jobsheet.LogTime{Written: written[0]}
		}, "2 Mar 2026 10:00:30 UTC", "10:00:30", "true time", "2026-03-02 UTC",
			"The times of the log were tied to the recording by the time at which it began, as the job sheet gives it."},
	} {
		w, o := worded(c.change)
		got := []string{w.TimeAt(timecode.VideoSeconds(30)), w.ClockTime(o), w.LogHeader()[2], w.DayAt(0), w.HowKnown()[0]}
		for i, want := range []string{c.strip, c.table, c.header, c.day, c.known} {
			if got[i] != want {
				t.Errorf("%s: %q, want %q", c.what, got[i], want)
			}
		}
	}
}

func TestAGivenLengthKeepsItsDigits(t *testing.T) {
	tl, _ := push(t, timeline.Observation{})
	for m, want := range map[distance.Metres]string{10.25: "10.25 m", 10: "10 m", 0.8500000000000001: "0.85 m"} {
		if got := In(words.English(), tl).Given(m); got != want {
			t.Errorf("%v: %q, want %q", m, got, want)
		}
	}
	tl.Sheet.Job.Units = distance.Foot
	if got := In(words.English(), tl).Given(40.5 * distance.PerFoot); got != "40.5 ft" {
		t.Errorf("got %q", got)
	}
}

func TestCellsOfTheAlignedLog(t *testing.T) {
	at := timecode.VideoSeconds(50)
	for _, c := range []struct {
		what    string
		o       timeline.Observation
		decimal rune
		want    string
	}{
		{"its own distance", timeline.Observation{Video: at, Uncertainty: 1240 * time.Millisecond, Distance: metres(7), Entry: &fieldlog.Row{Distance: &distance.Length{Metres: 7}}}, ',', "3|0:50.0||7,0|1,3"},
		{"the track's across a gap", timeline.Observation{Video: at, Distance: metres(7), Entry: &fieldlog.Row{}}, '.', "3|0:50.0||about 7.0|0.0"},
		{"no distance", timeline.Observation{Video: at, Entry: &fieldlog.Row{}}, '.', "3|0:50.0|||0.0"},
	} {
		tl, o := push(t, c.o)
		if got := strings.Join(In(words.English(), tl).LogCells(o, c.decimal), "|"); got != c.want {
			t.Errorf("%s: %q, want %q", c.what, got, c.want)
		}
	}
}
