package review

import (
	"fmt"
	"path/filepath"
	"pushcue/internal/handover"
	"slices"

	"pushcue/timeline"
	"pushcue/timeline/distance"
	"pushcue/timeline/document"
	"pushcue/timeline/edits"
	"pushcue/timeline/words"
)

// state is everything that a page knows of a job.
type state struct {
	Revision int64              `json:"revision"`
	Jobs     []named            `json:"jobs"`
	Job      int                `json:"job"`
	Many     bool               `json:"many"`
	Name     string             `json:"name"`
	Folder   string             `json:"folder"`
	Author   string             `json:"author"`
	State    string             `json:"state"`
	Reading  bool               `json:"reading"` // the recording is looked through: more may turn up
	Trouble  *complaint         `json:"trouble"`
	Language string             `json:"language"`
	Units    string             `json:"units"`
	Typed    string             `json:"typed_unit"` // of a typed length that names none
	Words    wordsShown         `json:"words"`
	Kinds    []kind             `json:"kinds"`
	Sheet    []sheetValue       `json:"sheet"`
	Taped    []taped            `json:"taped"`
	Anchors  []anchor           `json:"anchors"`
	Film     *film              `json:"recording"`
	Timeline *document.Document `json:"timeline"`
	Track    [][3]any           `json:"track"`
	Rows     []row              `json:"rows"`
	Header   []string           `json:"header"`
	Log      *string            `json:"log"`
	Warnings []warning          `json:"warnings"`
	Asked    []question         `json:"questions"`
	Edits    []editShown        `json:"edits"`
	Undo     *turn              `json:"undo"`
	Redo     *turn              `json:"redo"`
	Undos    int                `json:"undo_depth"`
	Redos    int                `json:"redo_depth"`
	Counter  *counterShown      `json:"counter"`
	Beside   []beside           `json:"beside"`
	Handover made               `json:"handover"`
	Task     *task              `json:"task"`
	Added    string             `json:"added,omitempty"` // the observation just added
}

type named struct {
	Index int    `json:"index"`
	Name  string `json:"name"`
}

type turn struct {
	Edit string `json:"edit"`
	Text string `json:"text"`
}

type wordsShown struct {
	Review  map[string]string `json:"review"`
	Urgency map[string]string `json:"urgency"`
	Kind    map[string]string `json:"kind"`
}

type kind struct {
	Key     string `json:"key"`
	Code    string `json:"code"`
	Text    string `json:"text"`
	Urgency string `json:"urgency"`
	Firm    bool   `json:"firm"`
}

// state tells a page how the job stands.
func (t *sitting) state() *state {
	v := t.now.Load()
	s := &state{
		Revision: v.revision, Job: t.index, Many: len(t.opened.sittings) > 1, Name: v.job.Name, Folder: v.job.Dir,
		Author: t.server.o.Author, State: v.condition(), Language: v.job.Sheet.Job.Language, Units: string(v.job.Sheet.Job.Units),
		Jobs: []named{}, Rows: []row{}, Header: []string{}, Track: [][3]any{},
	}
	for i, other := range t.opened.sittings {
		s.Jobs = append(s.Jobs, named{i, other.now.Load().job.Name})
	}
	if v.trouble != nil {
		_, c := understand(v.trouble, v.speaks())
		s.Trouble = &c
	}
	s.Typed = t.typedUnit(v)
	s.Words, s.Kinds = wordsIn(s.Language), kindsOf(v)
	s.Sheet, s.Taped, s.Anchors = sheetOf(v), tapedOf(v), anchorsOf(v)
	s.Film = t.film(v)
	if p := v.placed; p != nil {
		s.Timeline, s.Track = handover.DocumentIn(p, v.speaks()), trackOf(p.Timeline)
		s.Timeline.Distance.Readings = nil // tens of thousands of a long push; the track is what is drawn
		s.Rows = rowsOf(v)
		if log := p.Timeline.Log; log != nil && log.Header != nil {
			s.Header = log.Header
		}
	}
	if v.job.Log != nil {
		s.Log = &v.job.Log.Name
	}
	s.Warnings, s.Asked = warningsOf(v), questionsOf(v)
	s.history(v)
	s.Beside = besideOf(v)
	s.Counter = t.counterShown(v)
	s.Reading = v.isBeingRead(s.Counter.State)
	s.Handover = t.opened.made(v)
	s.Task = t.opened.task.now()
	return s
}

// condition is where a job stands on its way to be looked over.
func (v *view) condition() string {
	switch {
	case v.trouble != nil:
		return "unusable"
	case v.placed != nil:
		return "ready"
	case len(v.asked) > 0:
		return "asking"
	}
	return "opening"
}

// isBeingRead reports whether the recording is still opened, looked through for damage or
// read for its counter.
func (v *view) isBeingRead(counter string) bool {
	return v.condition() == "opening" || v.placed != nil && (v.unread() && !v.through || counter == "waiting" || counter == "reading")
}

// wordsIn are the page's words in a language.
func wordsIn(tag string) wordsShown {
	w := wordsShown{Review: map[string]string{}, Urgency: map[string]string{}, Kind: map[string]string{}}
	lang, err := words.For(tag)
	if err != nil {
		return w
	}
	w.Review = lang.Review()
	for _, u := range words.Urgencies() {
		w.Urgency[u] = lang.Urgency(u)
	}
	for _, k := range words.Kinds() {
		w.Kind[k] = lang.Kind(k)
	}
	return w
}

// kindsOf are the kinds to choose from: the firm's own first.
func kindsOf(v *view) []kind {
	all := []kind{}
	covered := map[string]bool{}
	if list := v.options.Kinds; list != nil {
		for _, e := range list.Entries {
			all = append(all, kind{Key: e.Key, Code: e.Code, Text: e.Words, Urgency: string(e.Urgency), Firm: true})
			covered[e.Key] = true
		}
	}
	lang, err := words.For(v.job.Sheet.Job.Language)
	if err != nil {
		return all
	}
	for _, key := range words.Kinds() {
		if !covered[key] {
			all = append(all, kind{Key: key, Text: lang.Kind(key)})
		}
	}
	return all
}

// made is the handover as it lies there.
type made struct {
	Folder string  `json:"folder"`
	Made   bool    `json:"made"`
	Stale  bool    `json:"stale"`
	Page   *string `json:"page"`
}

// made tells whether there is a finished handover, and whether anything was corrected
// since.
func (o *opened) made(v *view) made {
	m := made{Folder: o.visit.Out}
	sums, err := fileTime(filepath.Join(o.visit.Out, "SHA256SUMS"))
	if err != nil {
		return m
	}
	m.Made = true
	files := stampsOf(v.job)
	for _, one := range slices.Concat(files.films, files.others) {
		m.Stale = m.Stale || one.at.After(sums)
	}
	if _, err := fileTime(filepath.Join(o.visit.Out, "index.html")); err == nil {
		page := "/handover/index.html"
		m.Page = &page
	}
	return m
}

// trackOf is the track as a drawing needs it: not more points than a screen has.
func trackOf(t *timeline.Timeline) [][3]any {
	const most = 2000
	points := [][3]any{}
	if t.Track == nil || t.Recording.End <= 0 {
		return points
	}
	step := max(t.Recording.End/most, 1)
	for at := step / 2; at < t.Recording.End; at += step {
		p := t.DistanceAt(at)
		switch {
		case p.State == distance.Unread:
			points = append(points, [3]any{at.Seconds(), nil, 0})
		default:
			points = append(points, [3]any{at.Seconds(), float64(p.Metres), stateShown(p)})
		}
	}
	return points
}

// history tells what people have corrected.
func (s *state) history(v *view) {
	s.Edits = []editShown{}
	live, unfit := map[string]bool{}, map[string]bool{}
	for _, e := range v.job.Edits.Live() {
		live[e.ID] = true
	}
	gone := v.job.Unfit()
	if v.placed != nil {
		gone = v.placed.Unfit
	}
	for _, u := range gone {
		unfit[u.Edit.ID] = true
	}
	for _, e := range v.job.Edits.Edits {
		if e.What == edits.Undo || e.What == edits.Redo {
			continue
		}
		s.Edits = append(s.Edits, shownEdit(v, e, live[e.ID], !unfit[e.ID]))
	}
	last, depth := v.job.Edits.Undoable()
	if s.Undos = depth; depth > 0 {
		s.Undo = &turn{last.ID, sentence(v, last)}
	}
	last, depth = v.job.Edits.Redoable()
	if s.Redos = depth; depth > 0 {
		s.Redo = &turn{last.ID, sentence(v, last)}
	}
}

// counterShown is what the page says of the on-screen counter.
type counterShown struct {
	State     string  `json:"state"`
	Confirmed bool    `json:"confirmed"`
	Done      float64 `json:"done"`
	Unit      string  `json:"unit"`
	Box       *[4]int `json:"box"`
	Readings  int     `json:"readings"`
	Sheet     *string `json:"sheet"`
}

func (t *sitting) counterShown(v *view) *counterShown {
	sheet := v.job.Sheet.Counter
	c := &counterShown{State: v.counter.State, Done: v.counter.Done, Confirmed: sheet.Confirmed, Unit: string(sheet.Unit)}
	if sheet.Look == "off" {
		c.State = "off"
		return c
	}
	if v.placed == nil {
		return c
	}
	if read, ok := v.placed.CounterRead(); ok {
		c.State, c.Unit, c.Box, c.Readings = "found", read.Unit, &read.Box, read.Readings
	}
	if v.placed.CounterSheet != "" {
		drawn, _ := fileTime(v.placed.CounterSheet)
		address := fmt.Sprintf("/api/counter/sheet?drawn=%d", drawn.UnixMilli()) // so that a page shows one that was drawn again
		c.Sheet = &address
	}
	return c
}
