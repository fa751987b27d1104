package timeline

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"pushcue/timeline/distance"
	"pushcue/timeline/fieldlog"
	"pushcue/timeline/jobsheet"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// counterFile is a readings file with a row each second, by whatever clock.
func counterFile(until float64, stamp func(v float64) fieldlog.Reading) *fieldlog.Readings {
	file := &fieldlog.Readings{File: "counter.csv"}
	for v := 0.0; v <= until; v++ {
		row := stamp(v)
		row.Number, row.Distance = int(v)+1, distance.Length{Metres: distance.Metres(pushOf(v)), Step: 0.1}
		file.Rows = append(file.Rows, row)
	}
	return file
}

func TestReadingsFileGoesByTheLogsClock(t *testing.T) {
	s := sheetOf(t, startsAt("10:00:00"))
	began := timecode.LogAt(time.Date(2026, 3, 2, 10, 0, 0, 5e8, s.Job.Zone))
	in := Input{Sheet: s, Recording: recordingOf(100), Log: logOf(s, "at=4.0 m"),
		ReadingsFile: counterFile(120, func(v float64) fieldlog.Reading {
			return fieldlog.Reading{Time: &fieldlog.Moment{Log: began.Add(time.Duration(v * 1e9)), Half: 5e8}}
		})}
	line := resolved(t, in)
	near(t, "the stand at 4 m", observation(t, line, 1).Video, 25, time.Second)
	wantWarning(t, line, "reading-unplaced", "counter.csv: 20 of 121 readings")
	if got := line.Track.Sources(); !slices.Equal(got, []distance.Source{distance.FromFile}) {
		t.Errorf("sources %v", got)
	}

	s.Recording.Starts = nil
	line = resolved(t, in)
	wantWarning(t, line, "reading-unplaced", "121 of 121")
	if line.Track != nil || len(line.Unplaced) != 1 {
		t.Errorf("nothing ties the readings, but there is a track, and %+v", line.Observations)
	}
}

func TestReadingsFileByRecordingTimeOrFromZero(t *testing.T) {
	s := sheetOf(t)
	byVideo := counterFile(99, func(v float64) fieldlog.Reading {
		return fieldlog.Reading{Video: &fieldlog.VideoTime{At: timecode.VideoSeconds(v)}}
	})
	fromZero := counterFile(99, func(v float64) fieldlog.Reading {
		return fieldlog.Reading{Time: &fieldlog.Moment{Log: timecode.LogSeconds(v)}}
	})
	fromZero.Elapsed = true
	for _, file := range []*fieldlog.Readings{byVideo, fromZero} {
		line := resolved(t, Input{Sheet: s, Recording: recordingOf(100), Log: logOf(s, "at=8.0 m"), ReadingsFile: file})
		near(t, "the stand at 8 m", observation(t, line, 1).Video, 55, time.Second)
		if said := warning(line, "readings-from-zero") != nil; said != file.Elapsed {
			t.Errorf("taken to count from the first picture: said %v", said)
		}
	}
}

func TestUnusableTapedLengthIsAFaultOfTheSheet(t *testing.T) {
	s := sheetOf(t, func(s *jobsheet.Sheet) { s.Distance.Taped = []distance.Taped{{Counter: 10, Length: 100}} })
	f := faultOf(t, Input{Sheet: s, Recording: recordingOf(100), Readings: readingsOf(100, pushOf)})
	if f.File != "job.toml" || !strings.Contains(f.Text.String(), "can't be used") {
		t.Errorf("%+v", f)
	}
}

func TestCorrectionHoldsForTrackAndLogAlike(t *testing.T) {
	s := sheetOf(t, startsAt("10:00:00.0"), lagOf(30*time.Second))
	s.Distance.Zero, s.Distance.Taped = 1, []distance.Taped{{Counter: 9, Length: 10}}
	line := resolved(t, Input{Sheet: s, Recording: recordingOf(100), Log: logOf(s, "time=10:00:45.0 & at=4.0 m"), Readings: readingsOf(100, pushOf)})
	o := observation(t, line, 1)
	near(t, "moved to the stand", o.Video, 26, time.Second)
	if want := distance.Metres(3.75); (*o.Distance-want).Abs() > 1e-9 || (*o.Track-want).Abs() > 0.05 {
		t.Errorf("distance %v, track %v, want %v", *o.Distance, *o.Track, want)
	}
}

func TestMisreadingsOfThePictureAreToldTogether(t *testing.T) {
	s := sheetOf(t)
	rs := readingsOf(60, pushOf)
	for i := range rs {
		rs[i].Source = distance.FromPicture
	}
	rs[40].Shown += 30
	rs[90].Shown -= 8
	rs[120].Shown, rs[120].Thrown = 70, true
	line := resolved(t, Input{Sheet: s, Recording: recordingOf(60), Readings: rs})
	wantWarning(t, line, "counter-misread", "in 2 looks")
	if warning(line, "counter-misread").Open() {
		t.Error("two looks misread are asked about")
	}
	many := slices.Clone(rs)
	for i := 10; i < 34; i += 2 {
		many[i].Shown += 30
	}
	if w := warning(resolved(t, Input{Sheet: s, Recording: recordingOf(60), Readings: many}), "counter-misread"); w == nil || !w.Open() {
		t.Errorf("many looks misread aren't asked about: %+v", w)
	}
	if warning(line, "reading-impossible") != nil {
		t.Errorf("each by itself: %+v", line.Warnings)
	}
	aside, kept := line.Track.Thrown(), line.Track.Readings()
	if len(aside) != 3 || aside[2].Shown != 70 || len(kept) != len(rs)-3 {
		t.Errorf("set aside %+v, %d of %d readings kept", aside, len(kept), len(rs))
	}
}

func TestRowsAfterTheCounterWasSetAnew(t *testing.T) {
	s := sheetOf(t)
	rs := readingsOf(40, pushOf)
	from := rs[len(rs)-1].Shown
	for _, r := range readingsOf(40, pushOf) {
		r.At += timecode.VideoSeconds(40.5)
		rs = append(rs, r)
	}
	in := Input{Sheet: s, Recording: recordingOf(90), Log: logOf(s, fmt.Sprintf("video=1:10.5 & at=%.1f m", pushOf(30))), Readings: rs}
	w := warning(resolved(t, in), "counter-reset")
	if w == nil || !w.Open() || !strings.Contains(w.Hint.String(), `[[distance.reset]], video = "0:40.5", place = "`) {
		t.Fatalf("warned %+v", w)
	}
	s.Distance.Resets = []distance.KnownReset{{At: timecode.VideoSeconds(40.5), Place: from}, {At: timecode.VideoSeconds(80), Place: 1}}
	line := resolved(t, in)
	if w := warning(line, "counter-reset"); w == nil || w.Open() {
		t.Errorf("warned %+v although the sheet says where it was", w)
	}
	wantWarning(t, line, "reset-not-found", "1:20")
	o := observation(t, line, 1)
	if want := from + distance.Metres(pushOf(30)); (*o.Distance-want).Abs() > 0.11 || (*o.Track-want).Abs() > 0.11 {
		t.Errorf("at %v, by the track %v; want %v", *o.Distance, *o.Track, want)
	}
	if why, _ := line.Explain(1); !strings.Contains(words.Join(why, words.Comma).String(), "counted on from where the counter was set anew") {
		t.Errorf("explained as %q", why)
	}
	if r := line.Track.Resets(); len(r) != 1 || r[0].Place == nil {
		t.Errorf("known as %+v", r)
	}
}
