package review

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"net/http"
	"sync"

	"pushcue/internal/handover"
	"pushcue/internal/job"
	"pushcue/internal/manifest"
	"pushcue/timeline/words"
)

// steps are what people have said of each handover on its way to a drive: that they looked
// at it, and that what leaves the house with it may go. Both hold for one edition: after
// another make, somebody looks again.
type steps struct {
	mu     sync.Mutex
	looked map[string]string // by reader ("" or "buyer"), the edition
	agreed map[string]string
}

// finishShown is how far a handover is on its way to a drive.
type finishShown struct {
	For      string          `json:"for"`
	Made     bool            `json:"made"`
	Number   int             `json:"number"`  // of the edition, as page and report bear it
	Edition  string          `json:"edition"` // of what it holds: another one once that changes
	Changed  []string        `json:"changed"` // since it was made
	Looked   bool            `json:"looked"`
	Agreed   bool            `json:"agreed"`
	Summary  []line          `json:"summary"` // as the customer's page says it first
	Outgoing []outgoingShown `json:"outgoing"`
}

type outgoingShown struct {
	Code  string `json:"code"`
	Text  string `json:"text"`
	Hint  string `json:"hint"`
	Found bool   `json:"found"`
}

// serveFinish tells how far the handover for a reader is.
func (s *Server) serveFinish(w http.ResponseWriter, r *http.Request) {
	f, err := s.finish(r, r.URL.Query().Get("for"))
	s.answer(w, f, err)
}

func (s *Server) finish(r *http.Request, reader string) (*finishShown, error) {
	o, ask, err := s.askFor(reader)
	if err != nil {
		return nil, err
	}
	shown := &finishShown{For: reader, Changed: []string{}, Summary: []line{}, Outgoing: []outgoingShown{}}
	finished, err := handover.Finish(r.Context(), ask)
	if err != nil { // nothing is made yet, or not to its end
		return shown, r.Context().Err()
	}
	changed, err := handover.Stale(r.Context(), ask)
	if err != nil {
		return nil, err
	}
	leaves, err := finished.Outgoing(r.Context(), ask)
	if err != nil {
		return nil, err
	}
	l := o.speaks()
	for _, one := range changed {
		shown.Changed = append(shown.Changed, l.Put(one))
	}
	for _, one := range leaves {
		shown.Outgoing = append(shown.Outgoing, outgoingShown{one.Code, l.Put(one.Text), l.Put(one.Hint), one.Found})
	}
	shown.Summary = append(shown.Summary, summaryOf(finished)...)
	shown.Made, shown.Number, shown.Edition = true, finished.Edition().Number, editionOf(finished)
	shown.Looked, shown.Agreed = o.steps.said(reader, shown.Edition)
	return shown, nil
}

// serveStep notes that a person has looked at a handover, or has agreed to what leaves the
// house with it.
func (s *Server) serveStep(w http.ResponseWriter, r *http.Request) {
	var asked struct {
		Step    string `json:"step"` // looked, agreed
		For     string `json:"for"`
		Edition string `json:"edition"`
	}
	if err := read(r, &asked); err != nil {
		s.answer(w, nil, err)
		return
	}
	f, err := s.finish(r, asked.For)
	switch {
	case err != nil:
	case !f.Made || f.Edition != asked.Edition:
		err = rejected(http.StatusConflict, words.Tell("the handover was made again meanwhile"), words.Tell("look at the new one"))
	default:
		s.now().steps.say(asked.Step, asked.For, asked.Edition)
		f, err = s.finish(r, asked.For)
	}
	s.answer(w, f, err)
}

func (p *steps) say(step, reader, edition string) {
	p.mu.Lock()
	defer p.mu.Unlock()
	of := &p.looked
	if step == "agreed" {
		of = &p.agreed
	}
	if *of == nil {
		*of = map[string]string{}
	}
	(*of)[reader] = edition
}

func (p *steps) said(reader, edition string) (looked, agreed bool) {
	p.mu.Lock()
	defer p.mu.Unlock()
	looked = p.looked[reader] == edition
	return looked, looked && p.agreed[reader] == edition
}

// askFor is how the handover for a reader is asked for.
func (s *Server) askFor(reader string) (*opened, job.Ask, error) {
	o := s.now()
	if o == nil {
		return nil, job.Ask{}, rejected(http.StatusNotFound, words.Tell("no job is open"), words.Tell("choose one on the start page"))
	}
	if err := (handover.Options{For: reader}).Check(); err != nil {
		return nil, job.Ask{}, err
	}
	ask := o.ask
	ask.For = reader
	return o, ask, nil
}

// editionOf identifies what a finished handover holds, by its list of sums.
func editionOf(f *handover.Finished) string {
	all := sha256.New()
	for _, e := range f.List {
		fmt.Fprintf(all, "%s\x00%s\x00", e.Name, e.Sums[manifest.SHA256])
	}
	return hex.EncodeToString(all.Sum(nil)[:8])
}

// unready says why a handover can't be copied yet; nil where it can.
func (o *opened) unready(f *handover.Finished, changed []words.Sentence, reader string) error {
	if len(changed) > 0 {
		return rejected(http.StatusConflict, words.Tell("the handover is out of date; since it was made, these changed: %s", words.Join(changed, words.Comma)),
			words.Tell("make it again, look at it, and copy it then"))
	}
	looked, agreed := o.steps.said(reader, editionOf(f))
	switch {
	case !looked:
		return rejected(http.StatusConflict, words.Tell("nobody has looked at this handover yet"), words.Tell("look at it before it goes"))
	case !agreed:
		return rejected(http.StatusConflict, words.Tell("nobody has agreed yet to what leaves the house with it"), words.Tell("read the list, and say that it may go"))
	}
	return nil
}
