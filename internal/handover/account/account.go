// Package account puts a resolved timeline into the reader's words, once: what was
// found, how far the camera went, what wasn't seen, where each observation lies.
// The page and the report set out the same account, so they can't disagree.
//
//	a := account.Of(account.Input{Language: en, Pushes: []account.Push{{Document: doc}}})
//	a.Pushes[0].Verdict // "The technician noted 7 faults.", "A licensed person decides what is done."
//
// It knows nothing of HTML or PDF; paths in it are plain relative paths.
package account

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"pushcue/timeline"
	"pushcue/timeline/distance"
	"pushcue/timeline/document"
	"pushcue/timeline/timecode"
	"pushcue/timeline/wording"
	"pushcue/timeline/words"
)

// Input is what an account is made of.
type Input struct {
	Language *words.Language
	Pushes   []Push // one, or the pushes of a visit in order
	Report   string // the printable report beside the page; "" when it wasn't made
}

// A Push is one run of the camera.
type Push struct {
	Name     string // of a visit's push; "" for the only one
	Base     string // where its files lie, relative to the page: "" or "kitchen/"
	Log      bool   // its log stands there as a table
	Timeline *timeline.Timeline
	Document *document.Document // Timeline as timeline.json has it, with what was made
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
	What, Place, Note string
	Spoken            []Spoken
	Photos            []Photo
}

// Of puts the pushes into words.
func Of(in Input) *Account {
	l := in.Language
	first := in.Pushes[0].Document
	a := &Account{
		Language: l,
		Title:    l.Say("page-title"),
		Subtitle: subtitle(l, in.Pushes),
		Facts:    facts(l, in.Pushes),
		Files:    files(l, in),
	}
	if f := first.Job.Firm; f != nil {
		a.Firm, a.Licence = text(f.Name), text(f.Licence)
	}
	var careful []string
	crossing, located := false, false
	for i, p := range in.Pushes {
		t := teller{l: l, w: wording.In(l, p.Timeline), unit: distance.Unit(p.Document.Job.Units), base: p.Base, index: i, several: len(in.Pushes) > 1}
		a.Pushes = append(a.Pushes, t.push(p))
		careful = append(careful, t.careful(p.Document)...)
		for _, o := range p.Document.Observations {
			crossing = crossing || text(o.Kind) == "crossing-utility"
			located = located || o.Depth != nil
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
	job := pushes[0].Document.Job
	var parts []string
	for _, p := range pushes {
		if name := text(p.Document.Job.Line.Name); name != "" && !slices.Contains(parts, name) {
			parts = append(parts, name)
		}
	}
	if job.Site != nil {
		parts = append(parts, text(job.Site.Address))
	}
	parts = append(parts, day(l, job.Date))
	return slices.DeleteFunc(parts, func(s string) bool { return s == "" })
}

// facts are who, where and when. What isn't the same for all pushes of a visit says
// which of them it is of.
func facts(l *words.Language, pushes []Push) []Fact {
	each := make([][]Fact, len(pushes))
	for i, p := range pushes {
		each[i] = factsOf(l, p.Document.Job)
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

func factsOf(l *words.Language, j document.Job) []Fact {
	var all []Fact
	add := func(key string, values ...string) {
		values = slices.DeleteFunc(values, func(s string) bool { return strings.TrimSpace(s) == "" })
		if len(values) > 0 {
			all = append(all, Fact{l.Say(key), strings.Join(values, "\n")})
		}
	}
	add("field-reference", text(j.Reference))
	add("field-date", day(l, j.Date))
	if j.Customer != nil {
		add("field-customer", text(j.Customer.Name), text(j.Customer.Address), text(j.Customer.Phone), text(j.Customer.Email))
	}
	if j.Site != nil {
		add("field-site", text(j.Site.Address))
		add("field-access", text(j.Site.Access))
	}
	add("line", text(j.Line.Name))
	add("field-from", text(j.Line.From))
	add("field-to", text(j.Line.To))
	add("field-travel", travel(l, j.Line))
	add("field-size", text(j.Line.Size))
	add("field-material", text(j.Line.Material))
	add("field-reason", text(j.Reason))
	add("field-cleaned", text(j.Cleaned))
	add("field-weather", text(j.Weather))
	add("field-ended", text(j.Ended))
	add("field-operator", text(j.Operator))
	if f := j.Firm; f != nil {
		add("field-firm", text(f.Name), text(f.Address), text(f.Phone), text(f.Email))
		add("field-licence", text(f.Licence))
	}
	return all
}

// day is a civil date with its month in letters, as everywhere else in the handover.
func day(l *words.Language, date *string) string {
	t, err := time.Parse(time.DateOnly, text(date))
	if err != nil {
		return text(date)
	}
	return l.Date(t)
}

func travel(l *words.Language, line document.Line) string {
	if t := text(line.Travel); t != "" {
		return l.Say(t)
	}
	return ""
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
		if h := p.Document.Handover; h != nil {
			for _, v := range h.Videos {
				add(p.Base, v.File, "page-file-video")
			}
			for _, f := range h.AsFilmed {
				add(p.Base, f.File, "page-file-filmed")
			}
		}
		if p.Log {
			add(p.Base, "log.csv", "page-file-log")
		}
	}
	add("", "SHA256SUMS", "page-file-sums")
	return all
}

// Films is the captioned video's files, or, where none was made, the recording as
// filmed.
func Films(d *document.Document) []document.Video {
	if d.Handover == nil {
		return nil
	}
	if len(d.Handover.Videos) > 0 {
		return d.Handover.Videos
	}
	var all []document.Video
	for _, f := range d.Handover.AsFilmed {
		all = append(all, document.Video{File: f.File, From: f.From})
	}
	return all
}

func text(s *string) string {
	if s == nil {
		return ""
	}
	return *s
}

// Clock writes a number of seconds as minutes and seconds, with hours where there are any.
func Clock(seconds float64) string {
	s := int(timecode.VideoSeconds(seconds) / 1e9)
	if s >= 3600 {
		return fmt.Sprintf("%d:%02d:%02d", s/3600, s/60%60, s%60)
	}
	return fmt.Sprintf("%d:%02d", s/60, s%60)
}
