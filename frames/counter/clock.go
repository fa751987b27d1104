package counter

import (
	"context"
	"math"
	"regexp"
	"slices"
	"strings"

	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// A dial is a clock on the picture: signs that each have their own place, with
// points, colons and strokes between them.
type dial struct {
	r     *reader
	form  string // as 99.99.9999 99:99:99
	clock int    // of its digits, which begins the time of day: six of them
}

// clockForm is what the form of a time of day looks like.
var clockForm = regexp.MustCompile(`99[:.]99[:.]99`)

// readClock makes out what a clock shows: the digits' labels are those with which
// it goes on by a second a second.
func (l *Line) readClock(ctx context.Context, sh *sheet) error {
	d := newDial(sh)
	if d == nil {
		return nil
	}
	views, err := d.r.viewAll(ctx, l.strips)
	if err != nil {
		return err
	}
	samples := make([]Sample, len(views))
	for i := range views {
		seen := d.r.sight(&views[i])
		samples[i].At = l.strips.At(i)
		if seen.sure() {
			samples[i].Text, samples[i].State, samples[i].Margin = d.text(&seen), AsShown, seen.margin
		}
	}
	if keepsTime(samples) {
		l.Samples, l.Kind, l.Why = samples, Time, words.Tell("it is a clock")
	}
	return nil
}

// columns are the places at which most strips have a digit, from the left.
func columns(all []instance, strips int, tall float64) []float64 {
	var centres []float64
	for _, in := range all {
		centres = append(centres, in.centre)
	}
	var places []float64
	for _, p := range commonestAtMost(centres, 0.12*tall, 24) {
		near := slices.ContainsFunc(places, func(x float64) bool { return math.Abs(x-p.at) < 0.4*tall })
		if p.count*2 > strips && !near {
			places = append(places, p.at)
		}
	}
	slices.Sort(places)
	return places
}

func newDial(sh *sheet) *dial {
	c := sh.cutUp()
	if c == nil {
		return nil
	}
	row, levels, all, groups, tall := c.row, c.levels, c.all, c.groups, c.tall
	places := columns(all, len(sh.strips), tall)
	if len(places) < 6 || len(places) > 14 {
		return nil
	}
	pitch := math.Inf(1)
	for i := 1; i < len(places); i++ {
		pitch = min(pitch, places[i]-places[i-1])
	}
	r := newReader(sh, c, grid{pitch: pitch})
	r.fixed = len(places)
	l := layout{whole: len(places)}
	for i, x := range places {
		r.places, r.centres = append(r.places, r.cellAt(x)), append(r.centres, x)
		l.places = append(l.places, i)
	}
	r.layout = []layout{l}
	d := &dial{r: r, form: sh.form(row, levels[0], places, tall)}
	at := clockForm.FindStringIndex(d.form)
	if at == nil {
		return nil
	}
	d.clock = strings.Count(d.form[:at[0]], "9")
	if !d.learn(sh, all, groups, c.alike) {
		return nil
	}
	return d
}

// learn labels the groups by how the seconds count, and makes a sign of each digit.
func (d *dial) learn(sh *sheet, all []instance, groups []group, alike float64) bool {
	sights := d.r.groupSights(sh, all)
	times := make([]sight, len(sights)) // the six digits of the time alone
	for i, s := range sights {
		times[i] = s
		if s.layout >= 0 {
			times[i].signs = s.signs[d.clock : d.clock+6]
		}
	}
	l := newLabeller(groups, runOf(func(i int) timecode.Video { return sh.at[i] }, times), 1, alike)
	l.ticking = true
	digits := l.label()
	d.r.signsOf(sh, all, groups, digits)
	for range 2 {
		d.r.refine(sh, d.r.lookAll(sh))
	}
	return len(d.r.signs) >= 6
}

// form tells what stands between the digits: a 9 for each of them, and the marks.
func (sh *sheet) form(r row, level cut, places []float64, tall float64) string {
	between := make([]map[string]int, len(places))
	var scratch partsScratch
	for _, img := range sh.larger {
		gaps := make([]string, len(places))
		for _, p := range parts(img, level, &scratch) {
			x := float64(p.box.Min.X+p.box.Max.X) / 2 / float64(sh.enlarge)
			for i := 1; i < len(places); i++ {
				if x > places[i-1]+0.35*tall && x < places[i]-0.3*tall {
					gaps[i] += sh.markOf(r, p)
				}
			}
		}
		for i, g := range gaps {
			if between[i] == nil {
				between[i] = map[string]int{}
			}
			between[i][g]++
		}
	}
	pitch := math.Inf(1)
	for i := 1; i < len(places); i++ {
		pitch = min(pitch, places[i]-places[i-1])
	}
	var form strings.Builder
	for i := range places {
		mark := ""
		for m, n := range between[i] {
			if 2*n > len(sh.larger) {
				mark = m
			}
		}
		if i > 0 && mark == "" && places[i]-places[i-1] > 1.5*pitch {
			mark = " "
		}
		form.WriteString(mark + "9")
	}
	return form.String()
}

// markOf tells a mark between digits by where it stands; "" for none.
func (sh *sheet) markOf(r row, p part) string {
	h := r.height()
	w, tall := p.box.Dx(), p.box.Dy()
	switch {
	case p.pieces == 2 && 10*tall >= 3*h:
		return ":"
	case 5*tall <= 2*h && p.box.Min.Y > r.top+h/2 && 2*w <= h:
		return "."
	case 4*tall <= h && w > tall:
		return "-"
	case 5*tall >= 4*h && p.pieces == 1:
		return "/"
	}
	return ""
}

func (d *dial) text(s *sight) string {
	text := []byte(d.form)
	k := 0
	for i, c := range text {
		if c == '9' {
			text[i] = byte('0' + d.r.signs[s.signs[k]].digit)
			k++
		}
	}
	return string(text)
}

// keepsTime tells whether what was read goes on by a second a second, and takes
// out what doesn't. Where a part ends, the clock may jump.
func keepsTime(samples []Sample) bool {
	type told struct {
		at     int
		offset float64 // of the clock from the recording, in seconds
	}
	var all []told
	for i := range samples {
		if t, ok := timeOfDay(samples[i].Text); ok {
			all = append(all, told{i, t - samples[i].At.Seconds()})
		} else {
			samples[i] = Sample{At: samples[i].At}
		}
	}
	if len(all) < 12 || 3*len(all) < len(samples) {
		return false
	}
	kept := 0
	for i, t := range all {
		var near []float64
		for _, u := range all[max(i-7, 0):min(i+8, len(all))] {
			near = append(near, u.offset)
		}
		if math.Abs(t.offset-median(near)) <= mostLate {
			kept++
		} else {
			samples[t.at] = Sample{At: samples[t.at].At}
		}
	}
	return 10*kept > 9*len(all)
}

// mostLate is how far a reading may be from those around it, in seconds: a clock
// shows whole ones.
const mostLate = 1.5

var clockDigits = regexp.MustCompile(`(\d\d)[:.](\d\d)[:.](\d\d)`)

// timeOfDay is a written time in seconds; false where there is none.
func timeOfDay(text string) (float64, bool) {
	m := clockDigits.FindStringSubmatch(text)
	if m == nil {
		return 0, false
	}
	two := func(s string) float64 { return 10*float64(s[0]-'0') + float64(s[1]-'0') }
	h, min, sec := two(m[1]), two(m[2]), two(m[3])
	return 3600*h + 60*min + sec, h < 24 && min < 60 && sec < 60
}
