package account

import (
	"fmt"
	"strings"

	"pushcue/timeline"
	"pushcue/timeline/timecode"
	"pushcue/timeline/wording"
	"pushcue/timeline/words"
)

// teller puts one push into words.
type teller struct {
	l       *words.Language
	w       *wording.Wording
	line    *timeline.Timeline
	made    Made
	base    string
	index   int
	several bool
}

func (t teller) push(p Push) PushAccount {
	v := PushAccount{
		ID:       fmt.Sprintf("push-%d", t.index+1),
		Travel:   t.w.Travel(),
		Drawing:  t.drawing(),
		Chart:    t.chart(),
		Went:     t.w.Went(),
		HowKnown: t.w.HowKnown(),
		NotSeen:  t.w.NotSeen(),
		Spoken:   t.spoken(0),
		Photos:   t.photos(0),
	}
	if t.several {
		name := p.Name
		if n := t.line.Sheet.Line.Name; n != "" {
			name = n
		}
		v.Heading = t.l.Say("page-push", t.index+1, name)
	}
	if f := t.made.Films(); len(f) > 0 {
		v.Video = t.base + f[0].File
	}
	for i := range t.line.Observations {
		o := t.observation(&t.line.Observations[i], v.Travel)
		v.Observations = append(v.Observations, o)
		if v.Poster == "" {
			v.Poster = o.Still
		}
	}
	if len(t.made.Clips) > 0 {
		v.AllClips = t.base + "clips/findings.mp4"
	}
	for _, u := range t.line.Unplaced {
		v.Unplaced = append(v.Unplaced, t.unplaced(u))
	}
	t.summary(&v)
	return v
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

func (t teller) observation(o *timeline.Observation, travel string) Observation {
	v := Observation{
		ID: t.id(o.Number), Number: o.Number, At: o.Video.Seconds(), Push: t.index, Hidden: o.Hidden,
		What: t.w.Name(o), Place: t.w.Where(o), Note: t.w.Note(o.Entry), Written: t.w.LogWords(o.Entry),
		Advice: t.w.Advice(o.Entry), Means: t.w.Means(o.Entry), Known: t.w.HowWhere(o),
		Size: t.w.Size(o.Entry), Depth: t.w.Depth(o.Entry), When: t.w.When(o), TrueTime: t.w.TrueTime(o), Also: t.w.OtherMoments(o),
		Still: t.file(t.made.Stills[o.Row].File), Clip: t.file(t.made.Clips[o.Row]),
		Spoken: t.spoken(o.Row), Photos: t.photos(o.Row),
	}
	if v.Still != "" {
		v.Thumb = thumb(v.Still)
		v.StillText = t.l.Say("page-still-of", o.Number, v.What)
	}
	if span := o.Entry.Clock; span != nil {
		v.Dial = newDial(*span)
		v.Position = t.w.ClockPosition(o)
		v.Dial.Text = t.l.Say("page-dial", v.Position)
		v.Dial.Travel = travel
	}
	return v
}

// spoken are the spoken notes of a row; of row 0, those of no row.
func (t teller) spoken(row int) []Spoken {
	var out []Spoken
	for _, n := range t.made.Spoken[row] {
		text := t.l.Say("page-spoken") + ", " + wording.Clock(timecode.Video(n.Length))
		out = append(out, Spoken{File: t.base + n.File, Text: text, Clip: t.file(n.Clip), Narrated: t.l.Say("page-narrated")})
	}
	return out
}

// photos are the photos of a row; of row 0, those of no row.
func (t teller) photos(row int) []Photo {
	var out []Photo
	all := t.made.Photos[row]
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
func (t teller) unplaced(u timeline.Unplaced) Unplaced {
	return Unplaced{What: t.w.RowName(u.Entry), Place: t.w.RowWhere(u.Entry), Known: t.w.HowRowWhere(u.Entry), Advice: t.w.Advice(u.Entry),
		Note: strings.Join(strings.Fields(t.w.Note(u.Entry)), " "), Written: t.w.LogWords(u.Entry), Spoken: t.spoken(u.Row), Photos: t.photos(u.Row)}
}

// file is where a file of this push lies, "" when it wasn't made.
func (t teller) file(name string) string {
	if name == "" {
		return ""
	}
	return t.base + name
}

func (t teller) id(number int) string { return fmt.Sprintf("p%d-o%d", t.index+1, number) }

// thumb is where the small picture beside a still lies.
func thumb(still string) string {
	i := strings.LastIndexByte(still, '/')
	return still[:i+1] + "thumbs/" + still[i+1:]
}
