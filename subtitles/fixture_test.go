package subtitles

import (
	"testing"
	"time"

	"pushcue/timeline"
	"pushcue/timeline/distance"
	"pushcue/timeline/fieldlog"
	"pushcue/timeline/jobsheet"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// seen is an observation as a test writes it down.
type seen struct {
	at   float64 // seconds; the frame shown then takes it
	kind string
	note string
	end  float64 // of a stretch; 0 for none
}

// line makes a timeline of parts so many seconds long, at 25 frames a second.
func line(parts []float64, all ...seen) *timeline.Timeline {
	t := &timeline.Timeline{Sheet: jobsheet.Default()}
	rate := timecode.Rate{Num: 25, Den: 1}
	for _, seconds := range parts {
		start := timecode.Video(0)
		if n := len(t.Recording.Parts); n > 0 {
			last := t.Recording.Parts[n-1]
			start = last.Start.Add(last.Duration)
		}
		frames := int64(seconds * 25)
		t.Recording.Parts = append(t.Recording.Parts, timeline.Part{Start: start, Duration: time.Duration(rate.FrameTime(frames)), First: len(t.Recording.Frames), Rate: rate})
		for i := range frames {
			t.Recording.Frames = append(t.Recording.Frames, start+rate.FrameTime(i))
		}
		t.Recording.End = start + rate.FrameTime(frames)
	}
	t.ShowTo = t.Recording.End
	place(t, all...)
	return t
}

func place(t *timeline.Timeline, all ...seen) {
	for i, s := range all {
		frame, at, _ := t.FrameAt(timecode.VideoSeconds(s.at))
		o := timeline.Observation{Number: i + 1, Row: i + 1, Frame: frame, Video: at,
			Entry: &fieldlog.Row{Number: i + 1, What: fieldlog.Kind{Key: s.kind}, Note: s.note}}
		if s.end > 0 {
			end := timecode.VideoSeconds(s.end)
			o.VideoEnd = &end
		}
		t.Observations = append(t.Observations, o)
	}
}

func english(t testing.TB) *words.Language {
	t.Helper()
	lang, err := words.For("en")
	if err != nil {
		t.Fatal(err)
	}
	return lang
}

func all(t testing.TB, line *timeline.Timeline) []Cue {
	t.Helper()
	return Cues(line, english(t), line.ShowFrom, line.ShowTo)
}

func metres(m distance.Metres) *distance.Metres { return &m }
