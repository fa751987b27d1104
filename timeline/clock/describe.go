package clock

import (
	"math"
	"time"

	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// Describe tells the fit in plain sentences, for a person who wants to know what
// the placing rests on.
func (f *Fit) Describe() []words.Sentence {
	var out []words.Sentence
	first := true
	for i, s := range f.Segments {
		switch {
		case s.Tied && first:
			first = false
			out = append(out, f.sayOffset(i), f.sayRate(i))
		case s.Tied && s.Part != f.Segments[max(0, i-1)].Part:
			out = append(out, f.sayPart(i))
		case !s.Tied && f.whole(s):
			out = append(out, words.Tell("Nothing ties %s to the log.", partName(f.parts, s.Part)))
		}
	}
	for _, p := range f.Pauses {
		out = append(out, p.Text)
	}
	for _, a := range f.SetAside {
		out = append(out, a.Text)
	}
	if r := f.residual(); r >= 5*time.Millisecond {
		out = append(out, words.Tell("The anchors used lie within %s of it (root mean square).", saySpan(r)))
	}
	return out
}

func (f *Fit) sayOffset(i int) words.Sentence {
	said, _ := f.DescribeAt(f.Segments[i].From)
	return said
}

// DescribeAt tells in a sentence what the log's clock showed at a moment of the recording;
// false where nothing ties that moment.
func (f *Fit) DescribeAt(v timecode.Video) (words.Sentence, bool) {
	l, half, ok := f.Log(v)
	if !ok {
		return words.Sentence{}, false
	}
	s, _ := f.SegmentAt(v)
	where := words.Tell("the recording's first frame")
	if v != f.parts[0].Start {
		where = words.Tell("%s of the recording", v)
	}
	return words.Tell("At %s the log's clock showed %s (± %s), by %s.", where, f.options.sayLogTo(l, worth(half)), saySpan(half), f.by(s)), true
}

func (f *Fit) by(s Segment) words.Sentence {
	switch {
	case s.Weak:
		return f.options.weak()
	case f.Basis == Starts:
		return words.Tell("the start that the job sheet gives")
	case f.Basis == Track:
		return words.Tell("the log's agreement with the distance track")
	}
	return words.Tell("the anchors")
}

// sayRate tells the drift, or that none can be told from what is known.
func (f *Fit) sayRate(i int) words.Sentence {
	b := f.beliefs[i]
	deviations := make([]float64, len(b.lines))
	for k, l := range b.lines {
		deviations[k] = l.rate - b.mean.rate
	}
	rate, half := b.mean.rate/ppm, halfWidth(deviations, 0)/ppm
	switch {
	case f.Uneven:
		if rate > 0 {
			return words.Tell("The recording runs %.1f %% too fast: the recorder dropped frames or stretched time, so the log's clock is taken for the better one.", rate/1e4)
		}
		return words.Tell("The recording runs %.1f %% too slow: the recorder dropped frames or stretched time, so the log's clock is taken for the better one.", -rate/1e4)
	case half > math.Abs(rate):
		return words.Tell("No drift can be told: the two clocks run alike to ± %.0f ppm (%s an hour).", half, saySpan(seconds(half*ppm*3600)))
	case rate > 0:
		return words.Tell("The log's clock gains %.0f ± %.0f ppm on the recording (%s an hour).", rate, half, saySpan(seconds(rate*ppm*3600)))
	}
	return words.Tell("The log's clock loses %.0f ± %.0f ppm on the recording (%s an hour).", -rate, half, saySpan(seconds(rate*ppm*3600)))
}

func (f *Fit) sayPart(i int) words.Sentence {
	s := f.Segments[i]
	name := partName(f.parts, s.Part)
	l, half, _ := f.Log(s.From)
	if before := f.Segments[i-1]; before.Tied {
		return words.Tell("%s starts at %s on the log's clock (± %s), by %s; %s after %s ended.", name, f.options.sayLogTo(l, worth(half)), saySpan(half), f.by(s),
			saySpan(max(0, f.gained(i-1, i))), partName(f.parts, before.Part))
	}
	return words.Tell("%s starts at %s on the log's clock (± %s), by %s.", name, f.options.sayLogTo(l, worth(half)), saySpan(half), f.by(s))
}

func (f *Fit) whole(s Segment) bool {
	return s.From == f.parts[s.Part].Start && s.To == f.parts[s.Part].End
}

// residual is the root mean square over all segments that can tell it.
func (f *Fit) residual() time.Duration {
	var sum float64
	var n int
	for _, s := range f.Segments {
		if s.Residual > 0 {
			sum += s.Residual.Seconds() * s.Residual.Seconds()
			n++
		}
	}
	if n == 0 {
		return 0
	}
	return seconds(math.Sqrt(sum / float64(n)))
}

// namePauses lists the pauses between groups of anchors.
func (f *Fit) namePauses(anchors []Anchor, groups [][]sighting) {
	g := 0
	for i := 1; i+1 < len(f.Segments); i++ {
		before, gap, after := f.Segments[i-1], f.Segments[i], f.Segments[i+1]
		if gap.Tied || !before.Tied || !after.Tied || before.Part != after.Part {
			continue
		}
		for groups[g][0].x < before.From.Seconds() || groups[g][len(groups[g])-1].x > after.From.Seconds() {
			g++
		}
		p := Pause{From: gap.From, To: gap.To, LogFrom: f.logAt(f.beliefs[i-1], gap.From), LogTo: after.LogAtFrom, Gained: f.gained(i-1, i+1)}
		p.Half = f.gainedHalf(i-1, i+1)
		p.Text = f.sayPause(p)
		if len(groups[g]) == 1 {
			p.Text = words.Tell("%s Or %s is wrong: nothing else ties what comes before.", p.Text, anchors[groups[g][0].anchor].Name)
		}
		f.Pauses = append(f.Pauses, p)
	}
}

func (f *Fit) sayPause(p Pause) words.Sentence {
	return words.Tell("The recording was paused for %s (± %s) somewhere between %s and %s: rows written from %s to %s can't be placed by the log's clock.", saySpan(p.Gained), saySpan(p.Half), p.From, p.To, f.options.sayLog(p.LogFrom), f.options.sayLog(p.LogTo))
}

// gainedHalf is the ± of gained: lines of two stretches are matched at random
// (one list read in mirrored order), which leaves out only the shared rate.
func (f *Fit) gainedHalf(i, j int) time.Duration {
	x := (f.Segments[i].To.Seconds() + f.Segments[j].From.Seconds()) / 2
	before, after := f.beliefs[i], f.beliefs[j]
	n := min(len(before.lines), len(after.lines))
	mean := after.mean.at(x-after.middle) - before.mean.at(x-before.middle)
	deviations := make([]float64, n)
	for k := range deviations {
		other := int(vanDerCorput(k, 2) * float64(n))
		deviations[k] = after.lines[k].at(x-after.middle) - before.lines[other].at(x-before.middle) - mean
	}
	return seconds(halfWidth(deviations, 0))
}

// nameSetAside lists the anchors that weren't believed.
func (f *Fit) nameSetAside(anchors []Anchor, ss []sighting, aside []bool) {
	for i, s := range ss {
		if !aside[i] {
			continue
		}
		a := anchors[s.anchor]
		out := SetAside{Anchor: a}
		near := f.nearestInPart(s.part, a.Video)
		if near < 0 {
			out.Text = words.Tell("%s doesn't agree with the others and was set aside: look it up again in the recording.", a.Name)
		} else {
			b := f.beliefs[near]
			out.Off = seconds(s.y - b.mean.at(s.x-b.middle))
			off, them := saySpan(out.Off), f.options.sayLog(f.logAt(b, a.Video))
			if out.Off > 0 {
				out.Text = words.Tell("%s doesn't agree with the others and was set aside: its log time is %s too late (by them %s). Look it up again in the recording.", a.Name, off, them)
			} else {
				out.Text = words.Tell("%s doesn't agree with the others and was set aside: its log time is %s too early (by them %s). Look it up again in the recording.", a.Name, off, them)
			}
			if last := i == len(ss)-1 || ss[i+1].part != s.part; last && out.Off > 0 {
				out.Text = words.Tell("%s If the recording was paused before it, a second anchor after it will show that.", out.Text)
			}
		}
		f.SetAside = append(f.SetAside, out)
	}
}

// nearestInPart is the tied segment of a part nearest to v; −1 where none is tied.
func (f *Fit) nearestInPart(part int, v timecode.Video) int {
	best, least := -1, time.Duration(math.MaxInt64)
	for i, s := range f.Segments {
		if d := max(0, v.Sub(s.To), s.From.Sub(v)); s.Tied && s.Part == part && d < least {
			best, least = i, d
		}
	}
	return best
}
