package handover

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
	"pushcue/internal/handover/onscreen"
	"pushcue/internal/safefile"
	"pushcue/timeline/distance"
)

const counterSheetName = "counter-sheet.png"

// confirming makes the sheet by which a person confirms the counter, and tells
// where it lies. A sheet that can't be made leaves the person without it, and the
// job as it is.
func (p *Placed) confirming(ctx context.Context, w *watcher) error {
	if len(p.seen.counters()) == 0 || p.Timeline.Sheet.Counter.Confirmed {
		return nil
	}
	path := filepath.Join(p.Job.work, counterSheetName)
	key := keyOf("sheet", p.seen.Key, p.Job.Name, p.Timeline.Sheet.Counter, p.Timeline.Sheet.Job.Units)
	if p.seen.Sheet != key || !isFile(path) {
		if w.quick {
			return nil
		}
		if err := p.drawSheet(ctx, w, path); err != nil {
			return ctx.Err()
		}
		p.seen.Sheet = key
		w.keep(p.seen)
	}
	p.CounterSheet = path
	for i := range p.Warnings {
		if p.Warnings[i].Code == "counter-unconfirmed" {
			p.Warnings[i].Hint = fmt.Sprintf("look at %s; if it shows what was read, write confirmed = true under [counter]", p.Job.fromTop(path))
		}
	}
	return nil
}

// fromTop names one of our own files as seen from the folder that ours lies in, so
// that what is written down reads the same on every computer.
func (j *Job) fromTop(path string) string {
	if rel, err := filepath.Rel(filepath.Dir(j.top), path); err == nil {
		return filepath.ToSlash(rel)
	}
	return path
}

// drawSheet fetches the frames that the sheet shows, and draws it.
func (p *Placed) drawSheet(ctx context.Context, w *watcher, path string) error {
	dir, err := w.room()
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	var sections []onscreen.Section
	for _, g := range p.seen.counters() {
		looks := telling(g.Counter.Samples, p.Timeline.Track.Resets())
		if len(looks) == 0 {
			continue
		}
		pictures := make([]image.Image, len(looks))
		var wants []frames.Want
		for i, l := range looks {
			wants = append(wants, frames.Want{ID: i, At: l.At})
		}
		err := frames.Fetch(ctx, w.tools, p.Recording, wants, dir, func(s frames.Still) error {
			pictures[s.ID] = s.Picture
			return nil
		})
		if err != nil {
			return err
		}
		sections = append(sections, p.section(g, looks, pictures))
	}
	sheet := onscreen.DrawSheet(p.Job.Name+": is this what the counter shows?", sections, []string{
		"If what stands under each picture is what it shows, and the rest is right, write confirmed = true under [counter] in " + filepath.Base(p.Job.sheetName()) + ".",
		`If not: look = [x, y, width, height] names the place of the counter in pixels of the recording, look = "off" leaves it out.`,
	})
	return safefile.Write(path, func(f io.Writer) error { return png.Encode(f, sheet) })
}

// A look is one sample that the sheet shows, and why.
type look struct {
	counter.Sample
	why string
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
	take := func(s counter.Sample, why string) {
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
			take(s, "least sure")
		}
	}
	for _, r := range resets {
		for _, s := range read {
			if s.At == r.After && len(looks) < 3 {
				take(s, "set anew")
			}
		}
	}
	farthest := slices.MaxFunc(read, func(a, b counter.Sample) int { return int(min(max((a.Value-b.Value)*1e6, -1), 1)) })
	take(farthest, "farthest")
	for i := range 4 * most {
		take(read[(len(read)-1)*i/(4*most-1)], "")
	}
	slices.SortStableFunc(looks, func(a, b look) int { return int(min(max(a.At-b.At, -1), 1)) })
	return looks
}

func (p *Placed) section(g *alike, looks []look, pictures []image.Image) onscreen.Section {
	box := p.Recording.Shown(g.Parts[0], g.Counter.Box)
	unit, _ := g.Counter.unit(p.Timeline.Sheet)
	s := onscreen.Section{Picture: pictures[len(pictures)/2], Box: box, Facts: p.facts(g)}
	for i, l := range looks {
		if pictures[i] == nil {
			continue
		}
		note := "at " + l.At.String()
		if l.why != "" {
			note += ", " + l.why
		}
		s.Crops = append(s.Crops, onscreen.Crop{Picture: cropped(pictures[i], box), Read: l.Text + " " + string(unit), Note: note})
	}
	return s
}

// facts tell what was read, in short sentences.
func (p *Placed) facts(g *alike) []string {
	c := g.Counter
	unit, guessed := c.unit(p.Timeline.Sheet)
	how := "as the picture shows"
	switch {
	case p.Timeline.Sheet.Counter.Unit != "":
		how = "as the job sheet says"
	case guessed:
		how = "which is a guess: no unit was made out"
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
	looks := fmt.Sprintf("It was read in all of %d looks, several a second.", read)
	if read < len(c.Samples) {
		looks = fmt.Sprintf("It was read in %d of %d looks, several a second; the rest wasn't clear enough, or it was hidden.", read, len(c.Samples))
	}
	facts := []string{
		fmt.Sprintf("Unit: %s, %s.", unit, how),
		fmt.Sprintf("It runs from %.*f to %.*f %s.", c.Decimals, low, c.Decimals, high, unit),
		looks,
	}
	if len(g.Parts) < len(p.Recording.Parts) {
		facts = append(facts, "This is "+p.partNames(g.Parts)+".")
	}
	resets := p.Timeline.Track.Resets()
	if len(resets) == 0 {
		return append(facts, "It was never set anew while recording.")
	}
	const most = 4
	for _, r := range resets[:min(most, len(resets))] {
		facts = append(facts, fmt.Sprintf("Set anew at %s: from %s to %s.", r.After, shownAs(r.From, unit, c.Decimals), shownAs(r.To, unit, c.Decimals)))
	}
	if more := len(resets) - most; more > 0 {
		facts = append(facts, fmt.Sprintf("And set anew %d more times.", more))
	}
	return facts
}

func (p *Placed) partNames(parts []int) string {
	var names []string
	for _, k := range parts {
		names = append(names, p.Recording.Parts[k].Name)
	}
	return strings.Join(names, ", ")
}

// shownAs is a length as a counter shows it.
func shownAs(m distance.Metres, unit distance.Unit, decimals int) string {
	if unit == distance.Foot {
		m /= distance.PerFoot
	}
	return fmt.Sprintf("%.*f %s", decimals, float64(m), unit)
}

// cropped is the counter with some of the picture round it.
func cropped(img image.Image, box image.Rectangle) image.Image {
	box = box.Inset(-2).Intersect(img.Bounds())
	out := image.NewNRGBA(image.Rectangle{Max: box.Size()})
	draw.Draw(out, out.Rect, img, box.Min, draw.Src)
	return out
}
