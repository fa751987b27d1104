package account

import (
	"fmt"
	"math"
	"strings"
	"time"

	"pushcue/timeline"
	"pushcue/timeline/distance"
	"pushcue/timeline/words"
)

// teller puts one push into words.
type teller struct {
	l       *words.Language
	unit    distance.Unit
	base    string
	index   int
	several bool
}

func (t teller) push(p Push) PushAccount {
	d := p.Document
	v := PushAccount{
		ID:      fmt.Sprintf("push-%d", t.index+1),
		Travel:  travel(t.l, d.Job.Line),
		Drawing: t.drawing(d),
		Chart:   t.chart(d),
	}
	if t.several {
		name := p.Name
		if n := text(d.Job.Line.Name); n != "" {
			name = n
		}
		v.Heading = t.l.Say("page-push", t.index+1, name)
	}
	if f := Films(d); len(f) > 0 {
		v.Video = t.base + f[0].File
	}
	clips := 0
	for _, o := range d.Observations {
		v.Observations = append(v.Observations, t.observation(o, v.Travel))
		if o.Clip != nil {
			clips++
		}
		if v.Poster == "" {
			v.Poster = t.file(o.Still)
		}
	}
	if clips > 0 {
		v.AllClips = t.base + "clips/findings.mp4"
	}
	for _, u := range d.Unplaced {
		v.Unplaced = append(v.Unplaced, t.unplaced(u))
	}
	if h := d.Handover; h != nil {
		v.Spoken = t.spoken(h.Spoken)
		v.Photos = t.photos(h.Photos)
	}
	v.Went = t.went(d)
	v.Found, v.Groups, v.Noted = t.found(d)
	v.NotSeen = t.notSeen(d)
	return v
}

// went tells how far the camera went, from where to where, and why it ended.
func (t teller) went(d *timeline.Document) []string {
	var all []string
	from, to, known := seen(d)
	line := d.Job.Line
	if known {
		way := t.length(to)
		if dir := travel(t.l, line); dir != "" {
			way += " " + dir
		}
		if end := text(line.To); end != "" {
			way = t.l.Say("page-towards", way, end)
		}
		if start := text(line.From); start != "" {
			all = append(all, t.l.Say("page-went", start, way))
		} else {
			all = append(all, t.l.Say("page-went-unknown", way))
		}
		if from > 0.05 {
			all = append(all, t.l.Say("page-length", t.length(to), t.length(from), t.length(to)))
		}
	}
	if end := text(d.Job.Ended); end != "" {
		all = append(all, t.l.Say("page-ended", strings.TrimRight(end, ". ")))
	}
	return all
}

// seen is the nearest and the farthest length that the camera is known to have
// been at.
func seen(d *timeline.Document) (from, to float64, known bool) {
	from, to = math.Inf(1), math.Inf(-1)
	take := func(m *float64) {
		if m != nil {
			from, to, known = math.Min(from, *m), math.Max(to, *m), true
		}
	}
	for _, r := range d.Distance.Readings {
		take(&r.Distance)
	}
	if d.Distance.Basis == nil || *d.Distance.Basis == string(distance.FromLog) {
		zero := 0.0 // the log names only what was found; the push began at the access point
		take(&zero)
	}
	for _, o := range d.Observations {
		take(o.Distance)
		take(o.DistanceTo)
	}
	return math.Max(from, 0), to, known && to > 0
}

// harmless kinds are parts of a sound line; without an urgency they need no decision.
var harmless = map[string]bool{
	"connection": true, "bend": true, "size-change": true, "material-change": true, "lining": true, "patch": true,
	"line-start": true, "line-end": true, "remark": true,
}

func (t teller) found(d *timeline.Document) (string, []Group, string) {
	groups := []Group{{Title: t.l.Say("page-at-once")}, {Title: t.l.Say("page-repair")}, {Title: t.l.Say("page-open")}, {Title: t.l.Say("page-watch")}}
	place := map[string]int{"at once": 0, "repair": 1, "": 2, "watch": 3}
	found, noted := 0, 0
	for _, o := range d.Observations {
		u := text(o.Urgency)
		at, listed := place[u]
		if !listed || (u == "" && harmless[text(o.Kind)]) {
			noted++
			continue
		}
		found++
		groups[at].Items = append(groups[at].Items, Item{o.Number, t.id(o.Number), shortened(t.what(o)), t.place(o)})
	}
	kept := groups[:0]
	for _, g := range groups {
		if len(g.Items) > 0 {
			kept = append(kept, g)
		}
	}
	sentence := t.l.Say("page-found", found)
	switch found {
	case 0:
		sentence = t.l.Say("page-found-none")
	case 1:
		sentence = t.l.Say("page-found-one")
	}
	if noted == 0 {
		return sentence, kept, ""
	}
	return sentence, kept, t.l.Say("page-noted", noted)
}

// shortened is the beginning of a text where it is long: all of it stands with its
// observation.
func shortened(s string) string {
	const most = 120
	if r := []rune(s); len(r) > most {
		return strings.TrimSpace(string(r[:most])) + " …"
	}
	return s
}

// notSeen tells what the camera couldn't see: what lies beyond, and under water.
func (t teller) notSeen(d *timeline.Document) []string {
	var all []string
	for _, o := range d.Observations {
		switch text(o.Kind) {
		case "could-go-no-further":
			if o.Distance != nil {
				why := t.what(o)
				if n := text(o.Note); n != "" {
					why = strings.TrimRight(n, ". ")
				}
				all = append(all, t.l.Say("page-beyond", t.length(*o.Distance), why))
			}
		case "standing-water", "belly":
			if o.Distance != nil && o.DistanceTo != nil {
				all = append(all, t.l.Say("page-under-water", t.length(*o.Distance), t.length(*o.DistanceTo)))
			}
		}
	}
	return all
}

func (t teller) observation(o timeline.DocumentObservation, travel string) Observation {
	v := Observation{
		ID: t.id(o.Number), Number: o.Number, At: o.Video, Push: t.index, Hidden: o.Hidden,
		What: t.what(o), Place: t.place(o), Note: text(o.Note), Written: t.written(o), Means: t.l.Means(text(o.Kind)),
		Still: t.file(o.Still), Clip: t.file(o.Clip),
		When: t.l.Say("page-in-video", Clock(o.Video)),
	}
	if v.Still != "" {
		v.Thumb = thumb(v.Still)
		v.StillText = t.l.Say("page-still-of", o.Number, v.What)
	}
	switch u := text(o.Urgency); u {
	case "":
	case "none":
		v.Advice = t.l.Say("page-none")
	default:
		v.Advice = t.l.Urgency(u)
	}
	if o.Uncertainty >= 1 {
		v.When += ", " + t.l.Say("page-plus-minus", t.l.Say("page-seconds", fmt.Sprint(math.Round(o.Uncertainty))))
	}
	if o.ClockFrom != nil {
		v.Dial = newDial(*o.ClockFrom, o.ClockTo)
		v.Position = t.position(o)
		v.Dial.Text = t.l.Say("page-dial", v.Position)
		v.Dial.Travel = travel
	}
	if s := text(o.Size); s != "" {
		v.Size = t.l.Say("size", s)
	}
	if o.Depth != nil {
		v.Depth = t.l.Say("depth", t.length(*o.Depth))
	}
	if at, err := time.Parse(time.RFC3339Nano, text(o.TrueTime)); err == nil {
		v.TrueTime = t.l.DateTime(at)
	}
	v.Spoken, v.Photos = t.spoken(o.Spoken), t.photos(o.Photos)
	return v
}

func (t teller) spoken(all []timeline.DocumentSpoken) []Spoken {
	var out []Spoken
	for _, s := range all {
		out = append(out, Spoken{File: t.base + s.File, Text: t.l.Say("page-spoken") + ", " + Clock(s.Duration), Clip: t.file(s.Clip), Narrated: t.l.Say("page-narrated")})
	}
	return out
}

func (t teller) photos(all []string) []Photo {
	var out []Photo
	for i, p := range all {
		text := t.l.Say("page-photo")
		if len(all) > 1 {
			text += fmt.Sprintf(" %d", i+1)
		}
		out = append(out, Photo{File: t.base + p, Text: text})
	}
	return out
}

// unplaced is what was noted, as far as it is known, and the row it stands in.
func (t teller) unplaced(u timeline.DocumentUnplaced) Unplaced {
	v := Unplaced{What: text(u.What), Note: strings.Join(strings.Fields(text(u.Note)), " "), Spoken: t.spoken(u.Spoken), Photos: t.photos(u.Photos)}
	if text(u.Kind) != "" {
		v.What = t.l.Kind(text(u.Kind))
	}
	if row := t.l.Say("page-row", u.Row); v.What == "" {
		v.What = row
	} else {
		v.What += " (" + row + ")"
	}
	if u.Distance != nil {
		v.Place = t.length(*u.Distance)
	}
	if urgency := text(u.Urgency); urgency != "" && urgency != "none" {
		v.Note = strings.TrimSpace(t.l.Urgency(urgency) + ". " + v.Note)
	}
	return v
}

// what is the word for what was seen: ours where the kind is known, as the captions
// and the notes on the picture have it; else as the log has it.
func (t teller) what(o timeline.DocumentObservation) string {
	if k := text(o.Kind); k != "" {
		return t.l.Kind(k)
	}
	if w := text(o.What); w != "" {
		return w
	}
	return t.l.Say("observation", o.Number)
}

// written is what the log calls it, where that isn't the word shown.
func (t teller) written(o timeline.DocumentObservation) string {
	w := text(o.What)
	if w == "" || strings.EqualFold(strings.TrimSpace(w), t.what(o)) {
		return ""
	}
	return t.l.Say("page-written", w)
}

func (t teller) place(o timeline.DocumentObservation) string {
	switch {
	case o.Distance == nil:
		return ""
	case o.DistanceTo != nil:
		return t.l.Say("between", t.length(*o.Distance), t.length(*o.DistanceTo))
	}
	return t.length(*o.Distance)
}

func (t teller) position(o timeline.DocumentObservation) string {
	if o.ClockTo == nil || *o.ClockTo == *o.ClockFrom {
		return t.l.Say("clock", hour(*o.ClockFrom))
	}
	return t.l.Say("clock-span", hour(*o.ClockFrom), hour(*o.ClockTo))
}

func hour(h float64) string {
	if h == math.Trunc(h) {
		return fmt.Sprint(int(h))
	}
	return fmt.Sprintf("%d:30", int(h))
}

func (t teller) careful(d *timeline.Document) []string {
	var all []string
	hidden := 0
	for _, o := range d.Observations {
		if o.Hidden {
			hidden++
		}
	}
	if hidden > 0 {
		all = append(all, t.l.Say("warn-hidden", hidden))
	}
	for _, w := range d.Warnings {
		switch {
		case strings.HasPrefix(w.Code, "recording-ends-early"):
			all = append(all, t.l.Say("warn-ends-early"))
		case strings.HasPrefix(w.Code, "recording-"):
			all = append(all, t.l.Say("warn-damaged"))
		case w.Code == "counter-unconfirmed":
			all = append(all, t.l.Say("warn-unconfirmed"))
		case w.Code == "clock-weak", w.Code == "clock-unsure":
			all = append(all, t.l.Say("warn-time-unsure"))
		}
	}
	return all
}

func (t teller) length(m float64) string { return distance.Metres(m).Format(t.unit, t.l.Decimal) }

// file is where a file of this push lies, "" when it wasn't made.
func (t teller) file(name *string) string {
	if name == nil {
		return ""
	}
	return t.base + *name
}

func (t teller) id(number int) string { return fmt.Sprintf("p%d-o%d", t.index+1, number) }

// thumb is where the small picture beside a still lies.
func thumb(still string) string {
	i := strings.LastIndexByte(still, '/')
	return still[:i+1] + "thumbs/" + still[i+1:]
}
