package main

import (
	"context"
	"fmt"
	"io"
	"time"

	"github.com/vbauerster/mpb/v8"
	"github.com/vbauerster/mpb/v8/decor"

	"pushcue/internal/progress"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// shownProgress is a handover.Progress that has to be ended.
type shownProgress interface {
	progress.Progress
	end(done bool)
}

func newProgress(ctx context.Context, v voice) shownProgress {
	switch {
	case v.quiet || v.json:
		return silent{}
	case isTerminal(v.errs):
		return &bars{all: newBars(ctx, v), v: v}
	}
	return newLines(v.errs, v)
}

func newBars(ctx context.Context, v voice) *mpb.Progress {
	return mpb.NewWithContext(ctx, mpb.WithOutput(v.errs), mpb.WithWidth(48))
}

func newLines(w io.Writer, v voice) *lines { return &lines{w: w, v: v, now: time.Now} }

type silent struct{}

func (silent) Step(words.Sentence, float64) {}
func (silent) Advance(float64)              {}
func (silent) Say(words.Sentence)           {}
func (silent) end(bool)                     {}

// fine is how many ticks a bar has: steps count in seconds, bytes or files.
const fine = 1000

// bars draws one bar a step, with the time left.
type bars struct {
	all   *mpb.Progress
	bar   *mpb.Bar
	total float64
	v     voice
}

func (b *bars) Step(name words.Sentence, total float64) {
	b.finish()
	b.total = total
	b.bar = b.all.AddBar(fine,
		mpb.PrependDecorators(decor.Name(name.String(), decor.WCSyncSpaceR)),
		mpb.AppendDecorators(decor.Percentage(decor.WC{W: 5}), decor.OnComplete(decor.AverageETA(decor.ET_STYLE_MMSS, decor.WC{W: 7}), "")),
	)
}

func (b *bars) Advance(done float64) {
	if b.bar != nil && b.total > 0 {
		b.bar.SetCurrent(int64(min(done/b.total, 1) * fine))
	}
}

func (b *bars) Say(sentence words.Sentence) {
	if b.v.verbose {
		fmt.Fprintln(b.all, printable(sentence.String()))
	}
}

func (b *bars) finish() {
	if b.bar != nil {
		b.bar.SetCurrent(fine)
	}
	b.bar = nil
}

func (b *bars) end(done bool) {
	b.close(done)
	b.all.Wait()
}

// close ends the last bar, where others may still be drawn.
func (b *bars) close(done bool) {
	if done {
		b.finish()
	} else if b.bar != nil {
		b.bar.Abort(false)
	}
}

// between is the time from one plain line to the next.
const between = 10 * time.Second

// lines writes a line a step, and now and then how far it has come.
type lines struct {
	w     io.Writer
	v     voice
	now   func() time.Time
	name  string
	total float64
	begun time.Time
	said  time.Time
}

func (l *lines) Step(name words.Sentence, total float64) {
	l.name, l.total, l.begun = name.String(), total, l.now()
	l.said = l.begun
	fmt.Fprintln(l.w, l.name)
}

func (l *lines) Advance(done float64) {
	now := l.now()
	if l.total <= 0 || done <= 0 || now.Sub(l.said) < between {
		return
	}
	l.said = now
	share := min(done/l.total, 1)
	left := time.Duration(float64(now.Sub(l.begun)) * (1 - share) / share)
	fmt.Fprintf(l.w, "%s: %.0f %%, about %s left\n", l.name, 100*share, timecode.FormatSpan(left.Round(time.Second)))
}

func (l *lines) Say(sentence words.Sentence) {
	if l.v.verbose {
		fmt.Fprintln(l.w, printable(sentence.String()))
	}
}

func (l *lines) end(bool) {}
