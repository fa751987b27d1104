package sighting

import (
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"testing"
	"time"

	"pushcue/frames"
	"pushcue/frames/counter"
	"pushcue/timeline/distance"
	"pushcue/timeline/jobsheet"
	"pushcue/timeline/timecode"
)

func TestKeptReadingsAreOfTheSameRecordingAndWishes(t *testing.T) {
	dir := t.TempDir()
	w := &Watch{Work: dir, Of: "a", Sheet: jobsheet.Default()}
	w.keep(&Seen{Key: w.Key()})
	kept := func(w *Watch) bool { s, _ := w.kept(); return s != nil }
	if !kept(w) {
		t.Error("readings of the same weren't taken")
	}
	other, wish := *w, *w
	other.Of = "b"
	wish.Sheet = jobsheet.Default()
	wish.Sheet.Counter.Unit = distance.Foot
	if kept(&other) || kept(&wish) {
		t.Error("readings of another recording or for another wish were taken")
	}
	w.keep(&Seen{Key: w.Key(), Groups: []Alike{{Parts: []int{3}}}})
	w.Recording = &frames.Recording{Parts: make([]frames.Part, 2)}
	if kept(w) {
		t.Error("readings of a part that there isn't were taken")
	}
	if err := os.WriteFile(filepath.Join(dir, keptName), []byte(`{"key":"a","groups":[`), 0o644); err != nil {
		t.Fatal(err)
	}
	if kept(w) {
		t.Error("half a file was taken")
	}
}

// In a hurry nothing is looked at, which has no ffmpeg here, and what is kept is taken.
func TestWhatWasReadBeforeIsTakenInAHurry(t *testing.T) {
	for _, quick := range []bool{true, false} {
		w := &Watch{Work: t.TempDir(), Of: "a", Sheet: jobsheet.Default(), Quick: quick}
		if quick {
			if seen, unread, err := w.Look(t.Context()); seen != nil || unread != nil || err != nil {
				t.Errorf("with nothing kept: %v, %v, %v", seen, unread, err)
			}
		}
		w.keep(&Seen{Key: w.Key()})
		if seen, unread, err := w.Look(t.Context()); seen == nil || unread != nil || err != nil {
			t.Errorf("in a hurry %v, with something kept: %v, %v, %v", quick, seen, unread, err)
		}
	}
}

func TestSheetShowsWhatTellsMost(t *testing.T) {
	var s []counter.Sample
	for i := range 200 {
		s = append(s, counter.Sample{At: timecode.VideoSeconds(float64(i) / 5), State: counter.AsShown,
			Text: strconv.FormatFloat(float64(i)/20, 'f', 1, 64), Value: float64(i) / 20, Margin: 20 - float64(i%37)/2})
	}
	looks := telling(s, []distance.Reset{{After: s[50].At}})
	var notes []string
	for i, l := range looks {
		notes = append(notes, l.why.String())
		if i > 0 && looks[i-1].At >= l.At {
			t.Errorf("looks aren't in order: %v after %v", l.At, looks[i-1].At)
		}
	}
	slices.Sort(notes)
	if want := []string{"", "farthest", "least sure", "least sure", "set anew"}; !slices.Equal(notes, want) {
		t.Errorf("the looks are shown for %q, want %q", notes, want)
	}
	if got := telling(nil, nil); got != nil {
		t.Errorf("of nothing read: %+v", got)
	}
}

func TestWhatKilledRunsLeftIsClearedAway(t *testing.T) {
	work := t.TempDir()
	old, fresh := filepath.Join(work, "reading-1"), filepath.Join(work, "reading-2")
	for _, dir := range []string{old, fresh} {
		if err := os.Mkdir(dir, 0o755); err != nil {
			t.Fatal(err)
		}
	}
	before := time.Now().Add(-48 * time.Hour)
	if err := os.Chtimes(old, before, before); err != nil {
		t.Fatal(err)
	}
	w := &Watch{Work: work}
	if _, err := w.room(); err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(old); err == nil {
		t.Error("pictures of the day before yesterday are still there")
	}
	if _, err := os.Stat(fresh); err != nil {
		t.Error("another run's pictures were taken away")
	}
}

func TestSheetSpeaksTheJobsLanguage(t *testing.T) {
	c := &Row{Decimals: 1, Samples: []counter.Sample{{State: counter.AsShown, Value: 0.4}, {State: counter.AsShown, Value: 12}, {}}}
	reset := distance.Reset{After: timecode.VideoSeconds(61.5), From: 12, To: 0}
	for language, want := range map[string][]string{
		"en": {"It runs from 0.4 to 12.0 m.", "Set anew at 1:01.5: from 12.0 m to 0.0 m."},
		"de": {"Er läuft von 0,4 bis 12,0 m.", "Neu gestellt bei 1:01,5: von 12,0 m auf 0,0 m."},
		"es": {"Va de 0,4 a 12,0 m.", "Reajustado en 1:01,5: de 12,0 m a 0,0 m."},
	} {
		sheet := jobsheet.Default()
		sheet.Job.Language, sheet.Counter.Unit = language, distance.Metre
		w := &Watch{Sheet: sheet, Recording: &frames.Recording{}}
		got := w.facts(&Alike{Counter: c}, []distance.Reset{reset})
		for _, one := range want {
			if !slices.Contains(got, one) {
				t.Errorf("%s: %q isn't among %q", language, one, got)
			}
		}
	}
}
