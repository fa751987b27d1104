// Package account puts a resolved timeline into the reader's words, once: what was
// found, how far the camera went, what wasn't seen, where each observation lies.
// The page and the report set out the same account, so they can't disagree.
//
//	a := account.Of(account.Input{Language: en, Pushes: []account.Push{{Timeline: line, Made: made}}})
//	a.Pushes[0].Verdict // "The technician noted faults in 7 entries of the log.", "A licensed person decides what is done."
//
// It knows nothing of HTML or PDF; paths in it are plain relative paths.
package account

import (
	"slices"
	"strings"
	"time"

	"pushcue/timeline"
	"pushcue/timeline/timecode"
	"pushcue/timeline/wording"
	"pushcue/timeline/words"
)

// Input is what an account is made of.
type Input struct {
	Language *words.Language
	Pushes   []Push // one, or the pushes of a visit in order
	Report   string // the printable report beside the page; "" when it wasn't made
	Edition  *Edition
}

// An Edition is which state of the handover this is.
type Edition struct {
	Number   int
	Day      time.Time // of what it tells; zero where that isn't known
	Replaces int       // 0: none
	Left     time.Time // when that one first left the house; zero where that isn't known
	Mark     string    // all of it, for programs
}

// A Push is one run of the camera.
type Push struct {
	Name     string // of a visit's push; "" for the only one
	Base     string // where its files lie, relative to the page: "" or "kitchen/"
	Log      bool   // its log stands there as a table
	Timeline *timeline.Timeline
	Warnings []timeline.Warning // of placing and of making
	Made     Made
}

// Made is what was made of a push, by paths relative to its handover folder.
type Made struct {
	Videos    []Film   // captioned, one after the other
	AsFilmed  []Film   // the recording's parts, untouched
	Subtitles []string // of Videos
	Stills    map[int]Still
	Clips     map[int]string
	// Spoken notes and photos; those of row 0 belong to the push as a whole.
	Spoken  map[int][]Note
	Photos  map[int][]string
	LeftOut int // spoken notes and photos that a person left out
}

// A Film is a file of a video, and the moment of the recording at which it starts.
type Film struct {
	File      string
	From      timecode.Video
	Subtitles []string
}

// A Still is the picture of an observation, and the moment of the recording that it
// shows; nil when that isn't known.
type Still struct {
	File string
	At   *timecode.Video
}

// A Note is a spoken note.
type Note struct {
	File   string
	Length time.Duration
	Clip   string // the still with the note to be heard; "" without one
}

// Films are the captioned video's files, or, where none was made, the recording as
// filmed.
func (m Made) Films() []Film {
	if len(m.Videos) > 0 {
		return m.Videos
	}
	return m.AsFilmed
}

// An Account is everything that the customer is told, in words.
type Account struct {
	Language *words.Language
	Title    string
	Subtitle []string
	Firm     string
	Licence  string
	Pushes   []PushAccount
	Facts    []Fact
	Files    []File
	Cautions []string // the one that this job's reader needs most comes first
	Careful  []string // how far the record goes
	Mark     string   // Edition.Mark
}

// A Fact is a label and what it holds, over several lines where it must.
type Fact struct{ Label, Value string }

// A File is one of the handover's files and what it is.
type File struct{ Name, What string }

// PushAccount is what is told of one push.
type PushAccount struct {
	ID           string
	Heading      string // "" for the only push
	Travel       string // direction in words, "" when unknown
	Went         []string
	Verdict      []string // sentences: what was noted and how far that can be relied on
	Groups       []Group
	Noted        string
	Missing      []string // what may hide a fault
	HowKnown     []string // how distances, times and places are known
	NotSeen      []string
	Drawing      *Drawing
	Chart        *Chart
	Video        string // the first captioned video, or the recording as filmed
	Poster       string // what stands in the player before it plays
	AllClips     string
	Observations []Observation
	Unplaced     []Unplaced
	Spoken       []Spoken // that belong to no one observation
	Photos       []Photo  // likewise
}

// A Group is what was found, by what is advised.
type Group struct {
	Title   string
	Caution string // what to do before anything else; "" for most
	Items   []Item
}

// An Item is one line of a Group.
type Item struct {
	Number int    // 0 where it isn't on the recording
	ID     string // of what it leads to
	Text   string // what; never more than fits a line or two
	Place  string
}

// An Observation is what is told of one placed row.
type Observation struct {
	ID        string
	Number    int
	What      string
	Place     string // distance, or from where to where
	Known     string // how the distance is known
	Position  string // clock position in words
	Dial      *Dial
	Advice    string
	Note      string
	Written   string // what the log calls it, where that isn't What
	Means     string
	Size      string
	Depth     string
	When      string
	TrueTime  string
	Also      string // what other moment may be meant
	Still     string
	Thumb     string
	StillText string
	Clip      string
	Spoken    []Spoken
	Photos    []Photo
	Hidden    bool    // outside what the customer is shown of the recording
	At        float64 // video time in seconds
	Push      int
}

// Spoken is a spoken note: its sound, and its still with the sound.
type Spoken struct {
	File, Text string
	Clip       string // "" without one
	Narrated   string // what Clip is called
}

// Photo is a picture taken by hand.
type Photo struct{ File, Text string }

// Unplaced is a row that has no place in the recording.
type Unplaced struct {
	What, Place, Known    string // Known is how Place is known
	Advice, Note, Written string
	Spoken                []Spoken
	Photos                []Photo
}

// Of puts the pushes into words.
func Of(in Input) *Account {
	l := in.Language
	firm := in.Pushes[0].Timeline.Sheet.Firm
	a := &Account{
		Language: l,
		Title:    l.Say("page-title"),
		Subtitle: subtitle(l, in.Pushes),
		Facts:    facts(l, in.Pushes),
		Files:    files(l, in),
		Firm:     firm.Name, Licence: firm.Licence,
	}
	if e := in.Edition; e != nil {
		a.Facts = append(a.Facts, Fact{l.Say("field-edition"), wording.Edition(l, e.Number, e.Day, e.Replaces, e.Left)})
		a.Mark = e.Mark
	}
	var careful []string
	crossing, located := false, false
	for i, p := range in.Pushes {
		t := teller{l: l, w: wording.In(l, p.Timeline), line: p.Timeline, made: p.Made, base: p.Base, index: i, several: len(in.Pushes) > 1}
		a.Pushes = append(a.Pushes, t.push(p))
		careful = append(careful, t.w.Careful(p.Warnings)...)
		for _, o := range p.Timeline.Observations {
			crossing = crossing || o.Entry.What.Key == "crossing-utility"
			located = located || o.Entry.Depth != nil
		}
		for _, u := range p.Timeline.Unplaced {
			crossing = crossing || u.Entry != nil && u.Entry.What.Key == "crossing-utility"
		}
	}
	slices.Sort(careful)
	a.Careful = append(slices.Compact(careful), l.Say("caution-video"))
	a.Cautions = cautions(l, crossing, located)
	return a
}

// cautions starts with the one that the reader of this job needs most.
func cautions(l *words.Language, crossing, located bool) []string {
	keys := []string{"caution-dig", "caution-enter", "caution-gas", "caution-water"}
	if located {
		keys = slices.Insert(keys, 1, "caution-depth")
	}
	if crossing {
		keys = slices.Insert(keys, 0, "caution-crossing")
	} else {
		keys = append(keys, "caution-crossing")
	}
	var all []string
	for _, k := range keys {
		all = append(all, l.Say(k))
	}
	return all
}

func subtitle(l *words.Language, pushes []Push) []string {
	var parts []string
	for _, p := range pushes {
		if name := p.Timeline.Sheet.Line.Name; name != "" && !slices.Contains(parts, name) {
			parts = append(parts, name)
		}
	}
	first := pushes[0].Timeline
	parts = append(parts, first.Sheet.Site.Address, wording.In(l, first).Day())
	return slices.DeleteFunc(parts, func(s string) bool { return s == "" })
}

// facts are who, where and when. What isn't the same for all pushes of a visit says
// which of them it is of.
func facts(l *words.Language, pushes []Push) []Fact {
	each := make([][]Fact, len(pushes))
	for i, p := range pushes {
		each[i] = factsOf(l, p.Timeline)
	}
	shared := func(f Fact) bool {
		return !slices.ContainsFunc(each, func(fs []Fact) bool { return !slices.Contains(fs, f) })
	}
	var all []Fact
	for _, f := range each[0] {
		if shared(f) {
			all = append(all, f)
		}
	}
	for i, fs := range each {
		for _, f := range fs {
			if !shared(f) {
				all = append(all, Fact{l.Say("page-push", i+1, f.Label), f.Value})
			}
		}
	}
	return all
}

func factsOf(l *words.Language, line *timeline.Timeline) []Fact {
	var all []Fact
	add := func(key string, values ...string) {
		values = slices.DeleteFunc(values, func(s string) bool { return strings.TrimSpace(s) == "" })
		if len(values) > 0 {
			all = append(all, Fact{l.Say(key), strings.Join(values, "\n")})
		}
	}
	s, w := line.Sheet, wording.In(l, line)
	add("field-reference", s.Job.Reference)
	add("field-date", w.Day())
	add("field-customer", s.Customer.Name, s.Customer.Address, s.Customer.Phone, s.Customer.Email)
	add("field-site", s.Site.Address)
	add("field-access", s.Site.Access)
	add("line", s.Line.Name)
	add("field-from", s.Line.From)
	add("field-to", s.Line.To)
	add("field-travel", w.Travel())
	add("field-size", s.Line.Size)
	add("field-material", s.Line.Material)
	add("field-reason", s.Job.Reason)
	add("field-cleaned", s.Job.Cleaned)
	add("field-weather", s.Job.Weather)
	add("field-ended", s.Job.Ended)
	add("field-operator", s.Job.Operator)
	add("field-firm", s.Firm.Name, s.Firm.Address, s.Firm.Phone, s.Firm.Email)
	add("field-licence", s.Firm.Licence)
	return all
}

func files(l *words.Language, in Input) []File {
	var all []File
	add := func(base, name, key string) {
		if name != "" {
			all = append(all, File{base + name, l.Say(key)})
		}
	}
	add("", in.Report, "page-file-report")
	for _, p := range in.Pushes {
		for _, v := range p.Made.Videos {
			add(p.Base, v.File, "page-file-video")
		}
		for _, f := range p.Made.AsFilmed {
			add(p.Base, f.File, "page-file-filmed")
		}
		if p.Log {
			add(p.Base, "log.csv", "page-file-log")
		}
	}
	add("", "SHA256SUMS", "page-file-sums")
	return all
}
