package sighting

import (
	"context"
	"fmt"
	"image"
	"image/draw"
	"image/png"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"pushcue/frames"
	"pushcue/frames/counter"
	"pushcue/timeline/distance"
	"pushcue/timeline/words"
)

// SheetName is the sheet's, in our own folder.
const SheetName = "counter-sheet.png"

// A Job is what the sheet says of the job that it belongs to.
type Job struct {
	Name      string
	SheetName string // of the file that a yes is written into
	Resets    []distance.Reset
}

// Confirm makes the sheet by which a person confirms the counter, unless it was made
// before, and tells where it lies; "" where there is none.
func (w *Watch) Confirm(ctx context.Context, s *Seen, j Job) (path string, err error) {
	if len(s.Counters()) == 0 || w.Sheet.Counter.Confirmed {
		return "", nil
	}
	path = filepath.Join(w.Work, SheetName)
	drawnOf := fmt.Sprint(s.Key, " ", j.Name, w.Sheet.Counter, w.Sheet.Job.Units, w.Sheet.Job.Language)
	if _, err := os.Stat(path); err == nil && s.Sheet == drawnOf {
		return path, nil
	}
	if w.Quick {
		return "", nil
	}
	if err := w.drawSheet(ctx, s, j); err != nil {
		return "", err
	}
	s.Sheet = drawnOf
	w.keep(s)
	return path, nil
}

// drawSheet fetches the frames that the sheet shows, and draws it.
func (w *Watch) drawSheet(ctx context.Context, s *Seen, j Job) error {
	dir, err := w.room()
	if err != nil {
		return err
	}
	defer dir.Discard()
	var sections []section
	for _, g := range s.Counters() {
		looks := telling(g.Counter.Samples, j.Resets)
		if len(looks) == 0 {
			continue
		}
		pictures := make([]image.Image, len(looks))
		var wants []frames.Want
		for i, l := range looks {
			wants = append(wants, frames.Want{ID: i, At: l.At})
		}
		err := frames.Fetch(ctx, w.Tools, w.Recording, wants, dir.Path(), func(still frames.Still) error {
			pictures[still.ID] = still.Picture
			return nil
		})
		if err != nil {
			return err
		}
		sections = append(sections, w.section(g, j, looks, pictures))
	}
	sheet := drawn(w.say(words.Tell("%s: is this what the counter shows?", j.Name)), sections, []string{
		w.say(words.Tell("If what stands under each picture is what it shows, and the rest is right, write confirmed = true under [counter] in %s.", j.SheetName)),
		w.say(words.Tell(`If not: look = [x, y, width, height] names the place of the counter in pixels of the recording, look = "off" leaves it out.`)),
	})
	return w.write(SheetName, func(f io.Writer) error { return png.Encode(f, sheet) })
}

// say puts a sentence into the job's language.
func (w *Watch) say(s words.Sentence) string {
	if l, err := words.For(w.Sheet.Job.Language); err == nil {
		return l.Put(s)
	}
	return s.String()
}

// A look is one sample that the sheet shows, and why.
type look struct {
	counter.Sample
	why words.Sentence
}

// telling are the five looks that tell most: those that reading was least sure of,
// what was shown after the counter was set anew, the farthest, and some between.
func telling(samples []counter.Sample, resets []distance.Reset) []look {
	const most = 5
	var read []counter.Sample
	for _, s := range samples {
		if s.Text != "" && (s.State == counter.AsShown || s.State == counter.Filled) {
			read = append(read, s)
		}
	}
	var looks []look
	take := func(s counter.Sample, why words.Sentence) {
		known := func(l look) bool { return l.Text == s.Text }
		if len(looks) < most && !slices.ContainsFunc(looks, known) {
			looks = append(looks, look{s, why})
		}
	}
	if len(read) == 0 {
		return nil
	}
	unsure := slices.Clone(read)
	slices.SortStableFunc(unsure, func(a, b counter.Sample) int {
		return int(min(max((a.Margin-b.Margin)*1e6, -1), 1))
	})
	for _, s := range unsure {
		if len(looks) < 2 {
			take(s, words.Tell("least sure"))
		}
	}
	for _, r := range resets {
		for _, s := range read {
			if s.At == r.After && len(looks) < 3 {
				take(s, words.Tell("set anew"))
			}
		}
	}
	farthest := slices.MaxFunc(read, func(a, b counter.Sample) int { return int(min(max((a.Value-b.Value)*1e6, -1), 1)) })
	take(farthest, words.Tell("farthest"))
	for i := range 4 * most {
		take(read[(len(read)-1)*i/(4*most-1)], words.Sentence{})
	}
	slices.SortStableFunc(looks, func(a, b look) int { return int(min(max(a.At-b.At, -1), 1)) })
	return looks
}

func (w *Watch) section(g *Alike, j Job, looks []look, pictures []image.Image) section {
	box := w.Recording.Shown(g.Parts[0], g.Counter.Box)
	unit, _ := g.Counter.ShownIn(w.Sheet)
	s := section{Picture: pictures[len(pictures)/2], Box: box, Facts: w.facts(g, j.Resets)}
	for i, l := range looks {
		if pictures[i] == nil {
			continue
		}
		note := words.Tell("at %s", l.At)
		if !l.why.Empty() {
			note = words.Join([]words.Sentence{note, l.why}, words.Comma)
		}
		s.Crops = append(s.Crops, crop{Picture: cropped(pictures[i], box), Read: l.Text + " " + string(unit), Note: w.say(note)})
	}
	return s
}

// facts tell what was read, in short sentences.
func (w *Watch) facts(g *Alike, resets []distance.Reset) (facts []string) {
	c := g.Counter
	unit, guessed := c.ShownIn(w.Sheet)
	how := words.Tell("as the picture shows")
	switch {
	case w.Sheet.Counter.Unit != "":
		how = words.Tell("as the job sheet says")
	case guessed:
		how = words.Tell("which is a guess: no unit was made out")
	}
	read, low, high := 0, 0.0, 0.0
	for _, s := range c.Samples {
		if s.State == counter.AsShown || s.State == counter.Filled {
			if read == 0 {
				low, high = s.Value, s.Value
			}
			low, high = min(low, s.Value), max(high, s.Value)
			read++
		}
	}
	looks := words.Tell("It was read in all of %d looks, several a second.", read)
	if read < len(c.Samples) {
		looks = words.Tell("It was read in %d of %d looks, several a second; the rest wasn't clear enough, or it was hidden.", read, len(c.Samples))
	}
	told := []words.Sentence{
		words.Tell("Unit: %s, %s.", unit, how),
		words.Tell("It runs from %s to %s.", words.Plain("%.*f", c.Decimals, low), words.Plain("%.*f %s", c.Decimals, high, unit)),
		looks,
	}
	if len(g.Parts) < len(w.Recording.Parts) {
		told = append(told, words.Tell("This is %s.", w.partNames(g.Parts)))
	}
	if len(resets) == 0 {
		told = append(told, words.Tell("It was never set anew while recording."))
	}
	const most = 4
	for _, r := range resets[:min(most, len(resets))] {
		told = append(told, words.Tell("Set anew at %s: from %s to %s.", r.After, shownAs(r.From, unit, c.Decimals), shownAs(r.To, unit, c.Decimals)))
	}
	if more := len(resets) - most; more > 0 {
		told = append(told, words.Tell("And set anew %d more times.", more))
	}
	for _, one := range told {
		facts = append(facts, w.say(one))
	}
	return facts
}

func (w *Watch) partNames(parts []int) string {
	var names []string
	for _, k := range parts {
		names = append(names, w.Recording.Parts[k].Name)
	}
	return strings.Join(names, ", ")
}

// shownAs is a length as a counter shows it.
func shownAs(m distance.Metres, unit distance.Unit, decimals int) words.Sentence {
	if unit == distance.Foot {
		m /= distance.PerFoot
	}
	return words.Plain("%.*f %s", decimals, float64(m), unit)
}

// cropped is the counter with some of the picture round it.
func cropped(img image.Image, box image.Rectangle) image.Image {
	box = box.Inset(-2).Intersect(img.Bounds())
	out := image.NewNRGBA(image.Rectangle{Max: box.Size()})
	draw.Draw(out, out.Rect, img, box.Min, draw.Src)
	return out
}
