package main

import (
	"context"
	"fmt"
	"math"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"pushcue/frames"
	"pushcue/frames/counter"
	"pushcue/internal/counterset"
	"pushcue/internal/ffmpeg"
	"pushcue/internal/placing/onscreen"
	"pushcue/internal/reach"
	"pushcue/timeline/timecode"
)

// counterRow: how well the on-screen counter is read, apart for what the reader knows
// of the recordings.
func counterRow(ctx context.Context, b *bench) ([]result, error) {
	var set []counterset.Recording
	var err error
	if folder := filepath.Join(b.work, "counterset"); b.drawn > 0 {
		set, err = counterset.Draw(ctx, folder, b.seed, b.drawn)
	} else {
		set, err = counterset.Make(ctx, folder)
	}
	if err != nil {
		return nil, err
	}
	tools, err := ffmpeg.Find(ctx, ffmpeg.Where{Cache: ffmpeg.UserCache()})
	if err != nil {
		return nil, err
	}
	shares := map[counterset.Group]*share{}
	for _, r := range set {
		into := shares[r.Group]
		if into == nil {
			into = &share{name: r.Group.String()}
			shares[r.Group] = into
		}
		found, rec, err := b.look(ctx, tools, r.Path)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", r.Name, err)
		}
		s := scoreOf(r, rec, found.Counter)
		fmt.Printf("  %2d %-28s %-6s %s%s\n", r.Index, r.Name, r.Kind, s, madeOf(found))
		into.add(r, found, s)
		c, err := cleanedOf(r, rec, found.Counter)
		if err != nil {
			return nil, err
		}
		into.cleaned.add(c)
	}
	var all []result
	for _, g := range counterset.Groups {
		if shares[g] != nil {
			all = append(all, shares[g].results()...)
		}
	}
	return all, nil
}

// madeOf is what was made of the lines: the counter's unit, or why none was taken.
func madeOf(f *onscreen.Found) string {
	if f.Counter != nil {
		return " " + string(f.Counter.Unit)
	}
	text := ""
	for _, l := range f.Lines {
		if l.Kind == counter.Length || l.Kind == counter.Odd || l.Kind == counter.Time {
			text += fmt.Sprintf("; %s: %s %s", l.Kind, l.Why, l.Doubt)
		}
	}
	return text
}

func (b *bench) look(ctx context.Context, tools *ffmpeg.Tools, path string) (*onscreen.Found, *frames.Recording, error) {
	rec, err := frames.Open(ctx, tools, []*reach.Source{reach.Named(path, filepath.Base(path))}, frames.Options{})
	if err != nil {
		return nil, nil, err
	}
	found, err := onscreen.Read(ctx, tools, rec, onscreen.Options{Dir: b.work})
	return found, rec, err
}

// A score counts samples: right within two frames, wrong, and not claimed though
// something was shown.
type score struct{ right, wrong, none int }

func (s score) String() string {
	n := float64(s.right+s.wrong+s.none) / 100
	if n == 0 {
		return "no counter"
	}
	return fmt.Sprintf("right %5.1f %%  wrong %4.1f %%  abstained %5.1f %%", float64(s.right)/n, float64(s.wrong)/n, float64(s.none)/n)
}

func scoreOf(r counterset.Recording, rec *frames.Recording, line *counter.Line) (s score) {
	if line == nil {
		for at := 0.0; at < counterset.Length; at += 0.2 { // as often as it would have been looked at
			if r.Shown[min(int(at*r.Rate), len(r.Shown)-1)] != "" {
				s.none++
			}
		}
		return s
	}
	for _, sample := range line.Samples {
		claimed := sample.State == counter.AsShown || sample.State == counter.Filled
		switch near := shownNear(r, rec, sample.At); {
		case !claimed && near[len(near)/2] != "":
			s.none++
		case claimed && shows(near, sample.Value):
			s.right++
		case claimed:
			s.wrong++
		}
	}
	return s
}

// shownNear is what the counter shows from two frames before a moment to two after.
func shownNear(r counterset.Recording, rec *frames.Recording, at timecode.Video) (near [5]string) {
	frame := rec.FrameAt(at).Index
	for k := range near {
		near[k] = r.Shown[min(max(frame+k-2, 0), len(r.Shown)-1)]
	}
	return near
}

func shows(near [5]string, value float64) bool {
	for _, shown := range near {
		digits := strings.TrimFunc(strings.ReplaceAll(shown, ",", "."), func(r rune) bool { return !strings.ContainsRune("-.0123456789", r) })
		if v, err := strconv.ParseFloat(digits, 64); err == nil && math.Abs(v-value) < 1e-6 {
			return true
		}
	}
	return false
}

// asked reports whether a person is asked which line is the counter.
func asked(f *onscreen.Found) bool {
	return f.Counter == nil && slices.ContainsFunc(f.Lines, func(l *counter.Line) bool { return l.Kind == counter.Length })
}

// A share of the set.
type share struct {
	name        string
	all, placed int
	asked       int // of a counter, which line it is
	invented    int
	plain, hard score
	cleaned     cleaned
}

func (h *share) add(r counterset.Recording, found *onscreen.Found, s score) {
	h.all++
	if r.Kind == counterset.None {
		if found.Counter != nil {
			h.invented++
		} else {
			h.placed++
		}
		return
	}
	if s.right > 0 && s.right > s.wrong {
		h.placed++
	} else if asked(found) {
		h.asked++
	} else if s.wrong > 0 {
		h.invented++
	}
	into := &h.plain
	if r.Kind == counterset.Hard {
		into = &h.hard
	}
	into.right, into.wrong, into.none = into.right+s.right, into.wrong+s.wrong, into.none+s.none
}

func (h *share) results() []result {
	percent := func(n int, s score) float64 { return 100 * float64(n) / float64(max(s.right+s.wrong+s.none, 1)) }
	return append([]result{
		{what: h.name + ": place found or asked, or none said", value: 100 * float64(h.placed+h.asked) / float64(h.all), unit: "%", limit: 95, least: true,
			detail: fmt.Sprintf("of %d recordings, in %d asked", h.all, h.asked)},
		{what: h.name + ": number invented, clock taken", value: float64(h.invented), limit: 0.5},
		{what: h.name + ": plain looks right", value: percent(h.plain.right, h.plain), unit: "%", limit: 98, least: true},
		{what: h.name + ": plain looks wrong", value: percent(h.plain.wrong, h.plain), unit: "%", limit: 0.1},
		{what: h.name + ": hard looks right", value: percent(h.hard.right, h.hard), unit: "%", limit: 85, least: true},
		{what: h.name + ": hard looks wrong", value: percent(h.hard.wrong, h.hard), unit: "%", limit: 0.3},
	}, h.cleaned.results(h.name)...)
}
