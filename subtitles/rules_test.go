package subtitles

import (
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"
	"unicode"
	"unicode/utf8"

	"pushcue/internal/soak"
	"pushcue/timeline"
	"pushcue/timeline/timecode"
)

// draw makes a timeline at random: rates of all kinds, parts of any length, crowds of
// observations and lonely ones, notes from none to a thousand words.
func draw(r *rand.Rand) *timeline.Timeline {
	rates := []timecode.Rate{{Num: 25, Den: 1}, {Num: 30000, Den: 1001}, {Num: 15, Den: 1}, {Num: 60000, Den: 1001}}
	rate := rates[r.IntN(len(rates))]
	jitter := r.IntN(3) == 0
	l := line(nil)
	for range 1 + r.IntN(3) {
		frames := 1 + r.Int64N(40*int64(rate.Float()))
		start := l.Recording.End
		first := len(l.Recording.Frames)
		for i := range frames {
			at := rate.FrameTime(i)
			if jitter && i > 0 {
				at += timecode.Video(r.Int64N(int64(rate.FrameTime(1) / 2)))
			}
			l.Recording.Frames = append(l.Recording.Frames, start+at)
		}
		l.Recording.End = start + rate.FrameTime(frames)
		l.Recording.Parts = append(l.Recording.Parts, timeline.Part{Start: start, Duration: l.Recording.End.Sub(start), First: first})
	}
	l.ShowTo = l.Recording.End
	if r.IntN(4) == 0 {
		l.ShowFrom = l.Recording.Frames[r.IntN(1+len(l.Recording.Frames)/2)]
		l.ShowTo -= (l.ShowTo - l.ShowFrom) / 4
	}
	var at []float64
	for range r.IntN(30) {
		f := l.Recording.Frames[r.IntN(len(l.Recording.Frames))].Seconds()
		for range 1 + r.IntN(3) {
			at = append(at, f)
			f += r.Float64() * 3
		}
	}
	slices.Sort(at)
	kinds := []string{"roots", "crack", "intruding-connection", "belly", ""}
	var all []seen
	for _, v := range at {
		s := seen{at: v, kind: kinds[r.IntN(len(kinds))]}
		if n := r.IntN(60) - 20; n > 0 {
			s.note = strings.TrimSpace(strings.Repeat("note ", n*n/(1+r.IntN(40))))
		}
		if r.IntN(5) == 0 {
			s.end = v + r.Float64()*20
		}
		all = append(all, s)
	}
	place(l, all...)
	for i := range l.Observations {
		o := &l.Observations[i]
		o.Hidden = o.Video < l.ShowFrom || o.Video >= l.ShowTo
	}
	return l
}

// readingWords counts what a person reads, without the package's own counting.
func readingWords(c Cue) (n int, note bool) {
	for _, w := range strings.Fields(strings.Join(c.Lines, " ")) {
		if strings.ContainsFunc(w, func(r rune) bool { return unicode.IsLetter(r) || unicode.IsDigit(r) }) {
			n++
		}
		note = note || w == "note"
	}
	return n, note
}

// Reading time is that of the BBC Subtitle Guidelines: 160 to 180 words a minute,
// 0.33 to 0.375 s a word; at most two lines. 42 characters a line and 1.5 s at least
// are common practice, no published source.
func TestRulesOfCuesHoldOnAnyTimeline(t *testing.T) {
	const seed = 20261125
	r := rand.New(rand.NewPCG(seed, 1))
	lang := english(t)
	for run := range soak.Count(400, 20_000) {
		l := draw(r)
		cues := Cues(l, lang, l.ShowFrom, l.ShowTo)
		ends := []timecode.Video{l.ShowTo}
		for _, p := range l.Recording.Parts {
			ends = append(ends, p.Start.Add(p.Duration))
		}
		fail := func(c Cue, why string) {
			t.Helper()
			t.Fatalf("run %d: %s: %v-%v %q, parts end at %v", run, why, c.From, c.To, c.Lines, ends)
		}
		last := int64(0)
		said := map[int]timecode.Video{}
		for _, c := range cues {
			from, to := c.From.FrameMillis(), c.To.FrameMillis()
			length := time.Duration(to-from) * time.Millisecond
			words, note := readingWords(c)
			if from < last {
				fail(c, "overlaps the one before")
			}
			last = to
			if c.To > l.ShowTo-l.ShowFrom {
				fail(c, "goes beyond the end")
			}
			toEnd := time.Duration(1 << 60) // from the cue's start
			for _, e := range ends {
				if at := e - l.ShowFrom; at > c.From {
					toEnd = min(toEnd, at.Sub(c.From))
				}
			}
			if c.To.Sub(c.From) > toEnd {
				fail(c, "goes beyond a part's end")
			}
			if length < 1500*time.Millisecond && toEnd-c.To.Sub(c.From) > time.Millisecond {
				fail(c, "too short, with no part's end to blame")
			}
			if length < time.Duration(words)*330*time.Millisecond && note {
				fail(c, "can't be read")
			}
			if length > max(1500*time.Millisecond, time.Duration(words)*375*time.Millisecond) {
				fail(c, "stands longer than anybody reads")
			}
			if len(c.Lines) < 1 || len(c.Lines) > 2 {
				fail(c, "lines")
			}
			for _, s := range c.Lines {
				if n := utf8.RuneCountInString(s); n == 0 || n > 42 || s != strings.TrimSpace(s) {
					fail(c, "line's length")
				}
			}
			for _, n := range c.Observations {
				if _, before := said[n]; !before {
					said[n] = c.From + l.ShowFrom
				}
			}
		}
		for _, o := range l.Observations {
			at, there := said[o.Number]
			if there == o.Hidden {
				t.Fatalf("run %d: observation %d at %v: said %v, hidden %v", run, o.Number, o.Video, there, o.Hidden)
			}
			if there && at != o.Video && (at > o.Video || o.Video.Sub(at) >= 1500*time.Millisecond) {
				t.Fatalf("run %d: observation %d at %v is said at %v", run, o.Number, o.Video, at)
			}
		}
	}
}

// A recording that is cut anywhere gives each file the cues of its own time.
func TestCuesOfFilesCutAnywhere(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 7))
	lang := english(t)
	for run := range soak.Count(150, 5000) {
		l := draw(r)
		cut := l.Recording.Frames[r.IntN(len(l.Recording.Frames))]
		if cut <= l.ShowFrom || cut >= l.ShowTo {
			continue
		}
		first, second := Cues(l, lang, l.ShowFrom, cut), Cues(l, lang, cut, l.ShowTo)
		for _, c := range first {
			if c.From < 0 || c.To > cut-l.ShowFrom {
				t.Fatalf("run %d: %v-%v lies beyond a cut at %v", run, c.From, c.To, cut-l.ShowFrom)
			}
		}
		said := map[int]bool{}
		for _, c := range slices.Concat(first, second) {
			for _, n := range c.Observations {
				said[n] = true
			}
		}
		for _, c := range second {
			if c.From < 0 || c.To > l.ShowTo-cut {
				t.Fatalf("run %d: %v-%v in a file of %v", run, c.From, c.To, l.ShowTo-cut)
			}
		}
		for _, o := range l.Observations {
			if said[o.Number] == o.Hidden {
				t.Fatalf("run %d: observation %d at %v went missing at a cut at %v", run, o.Number, o.Video, cut)
			}
		}
	}
}
