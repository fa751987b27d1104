package review

import (
	"fmt"
	"maps"
	"os"
	"slices"
	"strings"
	"time"

	"pushcue/timeline"
	"pushcue/timeline/distance"
	"pushcue/timeline/edits"
	"pushcue/timeline/fieldlog"
	"pushcue/timeline/jobsheet"
	"pushcue/timeline/timecode"
	"pushcue/timeline/wording"
)

// row is one row of the log, or an observation that a person added.
type row struct {
	Row     int               `json:"row"`
	Added   *string           `json:"added"`
	Line    int               `json:"line"`
	Placed  bool              `json:"placed"`
	Aside   bool              `json:"aside"`
	Written map[string]string `json:"written"` // in force, as it was written or typed
	Log     map[string]string `json:"log"`     // as the log has it; nil for an added one
	Why     []string          `json:"why"`
	Said    said              `json:"said"`
}

// said is a row as every output words it.
type said struct {
	Name   string `json:"name"`   // what it is called; "" for a row without a place that doesn't say what
	Where  string `json:"where"`  // along the line; "" when unknown
	Half   string `json:"half"`   // ± of its moment; "" without a place
	Advice string `json:"advice"` // "" where the log says nothing of it
}

var rowColumns = []string{"time", "video", "distance", "to", "what", "clock", "urgency", "note", "size", "depth"}

func rowsOf(v *view) []row {
	rows := []row{}
	t := v.placed.Timeline
	if t.Log == nil {
		return rows
	}
	why, placed := map[int][]string{}, map[int]*timeline.Observation{}
	l := v.speaks()
	w := wording.In(l, t)
	for i := range t.Observations {
		o := &t.Observations[i]
		for _, one := range o.Why {
			why[o.Row] = append(why[o.Row], l.Put(one))
		}
		placed[o.Row] = o
	}
	for _, u := range t.Unplaced {
		why[u.Row] = []string{l.Put(u.Cause)}
	}
	for i := range t.Log.Rows {
		r := &t.Log.Rows[i]
		one := row{Row: r.Number, Line: r.Line, Placed: placed[r.Number] != nil, Aside: r.Aside, Written: texts(t.Log, r), Why: why[r.Number],
			Said: said{Name: w.Kind(r), Where: w.RowWhere(r), Advice: w.Advice(r)}}
		if o := placed[r.Number]; o != nil {
			one.Said.Name, one.Said.Where, one.Said.Half = w.Name(o), w.Where(o), w.Half(o.Uncertainty)
		}
		if one.Why == nil {
			one.Why = []string{}
		}
		if r.Added != "" {
			one.Added = &r.Added
		} else if v.written != nil && i < len(v.written.Rows) {
			one.Log = texts(v.written, &v.written.Rows[i])
		}
		rows = append(rows, one)
	}
	return rows
}

// texts are a row's values as written: what can't be read too.
func texts(log *fieldlog.Log, r *fieldlog.Row) map[string]string {
	all := map[string]string{}
	for _, column := range rowColumns {
		text := r.Text(column)
		name := column
		if _, there := log.Meaning[name]; !there && name == "time" {
			name = "elapsed"
		}
		if i, there := log.Meaning[name]; text == "" && there && i < len(r.Cells) && !r.IsFromPerson(column) {
			text = strings.TrimSpace(r.Cells[i])
		}
		all[column] = text
	}
	return all
}

func stateShown(p distance.Point) int {
	if p.State >= distance.Filled {
		return 2
	}
	return 1
}

func fileTime(path string) (time.Time, error) {
	info, err := os.Stat(path)
	if err != nil {
		return time.Time{}, err
	}
	return info.ModTime(), nil
}

type taped struct {
	Counter string  `json:"counter"`
	Length  string  `json:"length"`
	Edit    *string `json:"edit"`
}

// tapedOf are the taped lengths in force: those of the sheet first.
func tapedOf(v *view) []taped {
	all := []taped{}
	w := wording.In(v.speaks(), &timeline.Timeline{Sheet: v.job.Sheet})
	for _, x := range v.job.Sheet.Distance.Taped {
		all = append(all, taped{Counter: w.Given(x.Counter), Length: w.Given(x.Length)})
	}
	if v.placed == nil {
		return all
	}
	of := v.placed.Timeline.Sheet.Distance.Taped
	n := len(all)
	unfit := map[string]bool{}
	for _, u := range v.placed.Unfit {
		unfit[u.Edit.ID] = true
	}
	for _, e := range v.job.Edits.Live() {
		if e.What == edits.Taped && !unfit[e.ID] && n < len(of) {
			all = append(all, taped{w.Given(of[n].Counter), w.Given(of[n].Length), &e.ID})
			n++
		}
	}
	return all
}

type anchor struct {
	Row   *int    `json:"row"`
	Log   *string `json:"log"`
	Video float64 `json:"video_s"`
	Edit  *string `json:"edit"`
	Aside bool    `json:"aside"`
}

func anchorsOf(v *view) []anchor {
	all := []anchor{}
	sheet := v.job.Sheet
	if v.placed != nil {
		sheet = v.placed.Timeline.Sheet
	}
	for i, a := range sheet.Anchors {
		one := anchor{Video: (a.Video + partStart(v, a)).Seconds()}
		if a.Row > 0 {
			one.Row = &a.Row
		}
		if a.Log != nil {
			one.Log = &a.Log.Text
		}
		if a.Edit != "" {
			one.Edit = &a.Edit
		}
		if v.placed != nil && v.placed.Timeline.Clock != nil {
			for _, s := range v.placed.Timeline.Clock.SetAside {
				one.Aside = one.Aside || s.Anchor.Number == i+1
			}
		}
		all = append(all, one)
	}
	return all
}

func partStart(v *view, a jobsheet.Anchor) timecode.Video {
	if v.recording == nil || a.Part == "" {
		return 0
	}
	for _, p := range v.recording.Parts {
		if p.Name == a.Part || strings.HasSuffix(p.Name, "/"+a.Part) {
			return p.Start
		}
	}
	return 0
}

// editShown is a correction as a page lists it.
type editShown struct {
	ID     string    `json:"id"`
	Time   time.Time `json:"time"`
	Author string    `json:"author"`
	What   string    `json:"what"`
	Row    *int      `json:"row"`
	Text   string    `json:"text"`
	Live   bool      `json:"live"`
	Fits   bool      `json:"fits"`

	// The same in pieces, for the page to tell in the job's language.
	Video   *float64       `json:"video_s"`
	From    *float64       `json:"from_s"`
	To      *float64       `json:"to_s"`
	Values  map[string]any `json:"values"`
	Counter string         `json:"counter"`
	Length  string         `json:"length"`
	Log     string         `json:"log"`
	Code    string         `json:"code"`
	File    string         `json:"file"`
	On      string         `json:"on"`
}

func shownEdit(v *view, e edits.Edit, live, fits bool) editShown {
	one := editShown{ID: e.ID, Time: e.Time, Author: e.Author, What: e.What, Text: sentence(v, e), Live: live, Fits: fits,
		Video: e.Video, From: e.From, To: e.To, Values: e.Values, Counter: e.Counter, Length: e.Length, Log: e.Log, Code: e.Code, File: e.File, On: e.On}
	if e.Row > 0 {
		one.Row = &e.Row
	}
	return one
}

// sentence tells a correction in few words.
func sentence(v *view, e edits.Edit) string {
	about := ""
	switch {
	case e.Row > 0:
		about = fmt.Sprintf("row %d: ", e.Row)
	case e.On != "":
		about = "added observation: "
		if v.placed != nil && v.placed.Timeline.Log != nil {
			for _, r := range v.placed.Timeline.Log.Rows {
				if r.Added == e.On {
					about = fmt.Sprintf("row %d: ", r.Number)
				}
			}
		}
	}
	at := func(s *float64) string {
		if s == nil {
			return ""
		}
		return timecode.VideoSeconds(*s).Format(3)
	}
	switch e.What {
	case edits.Anchor:
		return about + "seen at " + at(e.Video) + ", the clock tied there"
	case edits.NoAnchor:
		return about + "its anchor doesn't count"
	case edits.Seen:
		return about + "seen at " + at(e.Video)
	case edits.Aside:
		return about + "set aside"
	case edits.Restore:
		return about + "brought back"
	case edits.Still:
		if e.Video == nil {
			return about + "still chosen by itself"
		}
		return about + "still from " + at(e.Video)
	case edits.Clip:
		if e.From == nil {
			return about + "clip as usual"
		}
		return about + "clip from " + at(e.From) + " to " + at(e.To)
	case edits.Taped:
		return fmt.Sprintf("taped: counter %s is %s", e.Counter, e.Length)
	case edits.Tie:
		return fmt.Sprintf("the log's clock showed %s at %s", e.Log, at(e.Video))
	case edits.Reset:
		return fmt.Sprintf("set anew at %s, the head at %s", at(e.Video), e.Length)
	case edits.Belongs:
		if about == "" {
			return e.File + " belongs to the push as a whole"
		}
		return about + e.File + " belongs to it"
	case edits.Omit:
		return e.File + " isn't handed over"
	case edits.Noted:
		return "seen: " + e.Text
	case edits.Add:
		if e.Video == nil {
			return "added where the counter shows it: " + valuesText(e.Values)
		}
		return strings.TrimSuffix("added at "+at(e.Video)+": "+valuesText(e.Values), ": ")
	}
	return about + valuesText(e.Values)
}

func valuesText(values map[string]any) string {
	var parts []string
	for _, key := range slices.Sorted(maps.Keys(values)) {
		switch v := values[key].(type) {
		case nil:
			parts = append(parts, key+" as before")
		case string:
			if v == "" {
				v = "—"
			}
			parts = append(parts, key+" "+v)
		default:
			parts = append(parts, fmt.Sprintf("%s %v", key, v))
		}
	}
	return strings.Join(parts, ", ")
}
