package sighting

import (
	"cmp"
	"context"
	crand "crypto/rand"
	"crypto/sha256"
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"strconv"

	"pushcue/frames/counter"
	"pushcue/internal/placing/onscreen"
	"pushcue/timeline"
	"pushcue/timeline/codes"
	"pushcue/timeline/distance"
	"pushcue/timeline/jobsheet"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// A reading without our seal may be another computer's honest work or a forgery. What it
// claims is compared with a sample of the pictures, read anew by the same reader:
//
//   - twelve stretches of four seconds, one at a random place in each twelfth of the
//     recording. The places come from a hash of the recording's sum and a fresh random
//     number, so that who writes the file can't know them;
//   - both ends of each part, and up to eight places where the number jumps.
//
// The reader learns the digits from these pictures alone and finds the counter by a survey
// of its own. No model of the digits is kept, so none can be forged.
//
// Found for certain is a false number on any stretch longer than a sixth of the recording,
// as long as its pictures can be read, and a jump that isn't on the picture while there are
// no more than eight. A shorter stretch that sets in without a jump is found with the share
// of the recording that it covers.
//
// What isn't checked: Margin, which only chooses what the sheet shows. What isn't taken over:
// standstills (found anew where they help) and the sheet (drawn anew from the pictures).
// A box that a person drew and their yes stand in the job sheet and its edits, not here; a
// reading for another box has another Key. A file that claims no counter, one for a short
// recording, or one for a container that can't be sought in is read anew as a whole.
const (
	sampledStretches = 12
	stretchLooks     = 20 // four seconds
	endLooks         = 8
	mostJumps        = 8
	worthLooks       = 3    // a check that takes more than one look of so many isn't worth making
	leastAgreeing    = 0.75 // share of a stretch's looks that must come out as claimed
)

// errUncheckable says that a reading can't be compared with the pictures.
var errUncheckable = errors.New("the kept reading can't be checked")

// A contradiction is a look at which a picture doesn't show what is claimed.
type contradiction struct {
	at             timecode.Video
	claimed, shown string
}

func (c *contradiction) Error() string { return "the kept reading is contradicted by a picture" }

// warning tells of it.
func (c *contradiction) warning() timeline.Warning {
	return timeline.Warning{Code: codes.CounterReread,
		Text: words.Tell("the counter's reading that lay with the job wasn't made on this computer, and it's wrong: at %s it says %s, where the picture shows %s; all pictures were read anew", c.at, c.claimed, c.shown),
		Hint: words.Tell("distances that were handed over before may rest on that reading; compare them with these")}
}

// check compares a reading that bears no seal of ours with a sample of the pictures. nil
// says that it may be taken.
func (w *Watch) check(ctx context.Context, s *Seen) error {
	alike := onscreen.Alike(w.Recording)
	if !slices.EqualFunc(s.Groups, alike, func(g Alike, parts []int) bool { return slices.Equal(g.Parts, parts) }) {
		return errUncheckable
	}
	fresh := w.fresh
	if fresh == nil {
		fresh = make([]byte, 32)
		_, _ = crand.Read(fresh) // never fails
	}
	random := rand.New(rand.NewChaCha8(sha256.Sum256(append([]byte(w.Of), fresh...))))
	plans := make([]sample, len(s.Groups))
	for i := range s.Groups {
		var err error
		if plans[i], err = w.plan(&s.Groups[i], random); err != nil {
			return err
		}
	}
	dir, err := w.room()
	if err != nil {
		return err
	}
	defer dir.Discard()
	w.Progress.Step(words.Tell("checking the counter's reading"), w.Recording.End.Seconds())
	for i := range s.Groups {
		found, err := onscreen.Read(ctx, w.Tools, w.Recording, w.reading(alike[i], dir.Path(), plans[i].stretches))
		if err != nil {
			return err
		}
		w.lookedAt += len(plans[i].numbers)
		if err := plans[i].compare(&s.Groups[i], kept(found, w.Sheet.Counter.Look == "box")); err != nil {
			return err
		}
	}
	return nil
}

// A sample is the looks at a group's parts that are read anew.
type sample struct {
	stretches []onscreen.Stretch
	numbers   []int // of the looks, among all of the group
}

// plan chooses the sample. It fails where a reading isn't one of this recording, or checking
// would spare little.
func (w *Watch) plan(g *Alike, random *rand.Rand) (p sample, err error) {
	looks := onscreen.Looks(w.Recording, g.Parts)
	if g.Counter == nil || len(g.Rivals) > 0 || !g.Why.Empty() || !g.Counter.plausible(looks, false) || g.Clock != nil && !g.Clock.plausible(looks, true) {
		return p, errUncheckable
	}
	for _, k := range g.Parts {
		if w.Sheet.Counter.Look != "box" && onscreen.FewKeys(w.Recording, k) {
			return p, errUncheckable
		}
	}
	chosen := make([]bool, len(looks))
	choose := func(from, to int) {
		for i := max(from, 0); i < min(to, len(looks)); i++ {
			chosen[i] = true
		}
	}
	for n := range sampledStretches {
		from, to := n*len(looks)/sampledStretches, (n+1)*len(looks)/sampledStretches
		at := from + random.IntN(max(to-from-stretchLooks, 0)+1)
		choose(at, at+stretchLooks)
	}
	for i := range looks {
		if i == 0 || looks[i-1].Part != looks[i].Part {
			choose(i-endLooks, i+endLooks)
		}
	}
	choose(len(looks)-endLooks, len(looks))
	jumps := g.Counter.jumps(w.Sheet)
	random.Shuffle(len(jumps), func(a, b int) { jumps[a], jumps[b] = jumps[b], jumps[a] })
	for _, i := range jumps[:min(len(jumps), mostJumps)] {
		choose(i-endLooks/2, i+endLooks/2)
	}
	for i, l := range looks {
		if !chosen[i] {
			continue
		}
		p.numbers = append(p.numbers, i)
		if last := len(p.stretches) - 1; last >= 0 && chosen[i-1] && looks[i-1].Part == l.Part {
			p.stretches[last].Count++
		} else {
			p.stretches = append(p.stretches, onscreen.Stretch{Part: l.Part, From: l.Number, Count: 1})
		}
	}
	if len(p.numbers)*worthLooks > len(looks) {
		return p, errUncheckable
	}
	return p, nil
}

// plausible tells whether a row has one sample for each look, whose number is its text's;
// a clock's text has none.
func (r *Row) plausible(looks []onscreen.Look, clock bool) bool {
	return slices.EqualFunc(r.Samples, looks, func(s counter.Sample, l onscreen.Look) bool {
		if s.At != l.At || s.State > counter.Thrown {
			return false
		}
		if s.State == counter.Unread {
			return true
		}
		if clock {
			return s.Value == 0
		}
		value, err := strconv.ParseFloat(s.Text, 64)
		return err == nil && math.Abs(s.Value-value) < 1e-9
	})
}

// jumps are the samples at which the number isn't where a cable could have got to since the
// sample before: where the counter was set anew, or digits were misread.
func (r *Row) jumps(sheet *jobsheet.Sheet) (all []int) {
	unit, _ := r.ShownIn(sheet)
	cable := distance.Cable{Fastest: cmp.Or(sheet.Distance.Fastest, distance.DefaultFastest), Step: distance.Metres(math.Pow10(-r.Decimals))}
	if unit == distance.Foot {
		cable.Fastest /= distance.PerFoot
	}
	last := -1
	for i, s := range r.Samples {
		if s.State == counter.Unread {
			continue
		}
		if last >= 0 && math.Abs(s.Value-r.Samples[last].Value) > float64(cable.Reach(s.At.Sub(r.Samples[last].At))) {
			all = append(all, i)
		}
		last = i
	}
	return all
}

// compare holds what was claimed of a group against what its sample shows.
func (p *sample) compare(claimed *Alike, shown Alike) error {
	if shown.Counter == nil || !slices.Equal(claimed.Written, shown.Written) || (claimed.Clock == nil) != (shown.Clock == nil) {
		return errUncheckable
	}
	err := p.compareRow(claimed.Counter, shown.Counter)
	if err == nil && claimed.Clock != nil {
		err = p.compareRow(claimed.Clock, shown.Clock)
	}
	return err
}

func (p *sample) compareRow(claimed, shown *Row) error {
	if claimed.Box != shown.Box || len(shown.Samples) != len(p.numbers) {
		return errUncheckable
	}
	for k, s := range shown.Samples {
		// A look that isn't clear by itself is no evidence.
		if c := claimed.Samples[p.numbers[k]]; s.State == counter.AsShown && c.State != counter.Unread && c.Text != s.Text {
			return &contradiction{c.At, c.Text, s.Text}
		}
	}
	if claimed.Unit != shown.Unit || claimed.Decimals != shown.Decimals {
		return errUncheckable
	}
	at := 0
	for _, one := range p.stretches {
		agreeing := 0
		for k := at; k < at+one.Count; k++ {
			if told(claimed.Samples[p.numbers[k]]) == told(shown.Samples[k]) {
				agreeing++
			}
		}
		at += one.Count
		if float64(agreeing) < leastAgreeing*float64(one.Count) {
			return errUncheckable
		}
	}
	return nil
}

// told is what a sample tells of its look.
func told(s counter.Sample) string {
	switch s.State {
	case counter.Unread:
		return ""
	case counter.Thrown:
		return "thrown " + s.Text
	}
	return s.Text
}
