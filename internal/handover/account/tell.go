package account

import (
	"fmt"
	"math"
	"strings"

	"pushcue/timeline"
	"pushcue/timeline/codes"
	"pushcue/timeline/distance"
	"pushcue/timeline/document"
	"pushcue/timeline/fieldlog"
	"pushcue/timeline/wording"
	"pushcue/timeline/words"
)

// teller puts one push into words.
type teller struct {
	l       *words.Language
	w       *wording.Wording
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
	for i, o := range d.Observations {
		v.Observations = append(v.Observations, t.observation(o, &t.w.Timeline().Observations[i], v.Travel))
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
	for i, u := range d.Unplaced {
		v.Unplaced = append(v.Unplaced, t.unplaced(u, t.w.Timeline().Unplaced[i].Entry))
	}
	if h := d.Handover; h != nil {
		v.Spoken = t.spoken(h.Spoken)
		v.Photos = t.photos(h.Photos)
	}
	v.Went = t.went(d)
	t.summary(&v)
	v.HowKnown = t.w.HowKnown()
	v.NotSeen = t.notSeen(d)
	return v
}

// went tells how far the camera went, from where to where, and why it ended.
func (t teller) went(d *document.Document) []string {
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
func seen(d *document.Document) (from, to float64, known bool) {
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

// summary sets out what the wording sums up, each entry leading to where it stands.
func (t teller) summary(v *PushAccount) {
	s := t.w.Summary()
	v.Verdict, v.Noted, v.Missing = s.Verdict, s.Noted, s.Missing
	for _, g := range s.Groups {
		group := Group{Title: g.Title, Caution: g.Caution}
		for _, item := range g.Items {
			id := v.ID + "-unplaced"
			if item.Number > 0 {
				id = t.id(item.Number)
			}
			group.Items = append(group.Items, Item{item.Number, id, shortened(item.What), item.Where})
		}
		v.Groups = append(v.Groups, group)
	}
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
func (t teller) notSeen(d *document.Document) []string {
	var all []string
	for i, o := range d.Observations {
		switch text(o.Kind) {
		case "could-go-no-further":
			if o.Distance != nil {
				why := t.w.Name(&t.w.Timeline().Observations[i])
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

func (t teller) observation(o document.Observation, placed *timeline.Observation, travel string) Observation {
	v := Observation{
		ID: t.id(o.Number), Number: o.Number, At: o.Video, Push: t.index, Hidden: o.Hidden,
		What: t.w.Name(placed), Place: t.w.Where(placed), Note: t.w.Note(placed.Entry), Written: t.w.LogWords(placed.Entry),
		Advice: t.w.Advice(placed.Entry), Means: t.w.Means(placed.Entry), Known: t.w.HowWhere(placed),
		Still: t.file(o.Still), Clip: t.file(o.Clip),
		When: t.l.Say("page-in-video", Clock(o.Video)),
	}
	if v.Still != "" {
		v.Thumb = thumb(v.Still)
		v.StillText = t.l.Say("page-still-of", o.Number, v.What)
	}
	if o.Uncertainty >= 1 {
		v.When += ", " + t.l.Say("page-plus-minus", t.l.Say("page-seconds", fmt.Sprint(math.Round(o.Uncertainty))))
	}
	if o.ClockFrom != nil {
		v.Dial = newDial(*o.ClockFrom, o.ClockTo)
		v.Position = t.w.ClockPosition(placed)
		v.Dial.Text = t.l.Say("page-dial", v.Position)
		v.Dial.Travel = travel
	}
	if s := text(o.Size); s != "" {
		v.Size = t.l.Say("size", s)
	}
	if o.Depth != nil {
		v.Depth = t.l.Say("depth", t.length(*o.Depth))
	}
	if o.TrueTime != nil {
		v.TrueTime = t.w.TimeAt(placed.Video)
	}
	v.Spoken, v.Photos = t.spoken(o.Spoken), t.photos(o.Photos)
	return v
}

func (t teller) spoken(all []document.Spoken) []Spoken {
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
func (t teller) unplaced(u document.Unplaced, row *fieldlog.Row) Unplaced {
	v := Unplaced{What: t.w.RowName(row), Place: t.w.RowWhere(row), Note: strings.Join(strings.Fields(t.w.Note(row)), " "), Spoken: t.spoken(u.Spoken), Photos: t.photos(u.Photos)}
	if advice := t.w.Advice(row); advice != "" {
		v.Note = strings.TrimSpace(t.l.Say("page-advice") + t.l.Say("page-colon") + " " + advice + ". " + v.Note)
	}
	return v
}

func (t teller) careful(d *document.Document) []string {
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
		if info, _ := codes.Code(w.Code).Info(); info.Customer != "" {
			all = append(all, t.l.Say(info.Customer))
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
