package review

import (
	"context"
	"encoding/json"
	"errors"
	"io"
	"net/http"

	"pushcue/internal/ffmpeg"
	"pushcue/internal/trouble"
	"pushcue/timeline/fault"
	"pushcue/timeline/words"
)

// A complaint is what went wrong, in the words of who can put it right.
type complaint struct {
	Text   string  `json:"text"`
	Hint   string  `json:"hint"`
	Faults []found `json:"faults"`
	Ways   []offer `json:"ways,omitempty"` // in which it can be meant, to choose from
}

// found is one fault of an input.
type found struct {
	Where  string `json:"where"`
	Text   string `json:"text"`
	Hint   string `json:"hint"`
	Row    *int   `json:"row"`
	Column string `json:"column"`
	Value  string `json:"value"`
}

// understand turns an error into what the page shows, in its language, and the status
// it comes with.
func understand(err error, l *words.Language) (status int, c complaint) {
	c.Faults = []found{}
	var t *trouble.Trouble
	var refusal *trouble.Refusal
	var tool *ffmpeg.Error
	var place *ffmpeg.PlaceError
	var no *rejection
	var which *dilemma
	say := func(text, hint words.Sentence) { c.Text, c.Hint = l.Put(text), l.Put(hint) }
	faults, isFaults := fault.In(err)
	switch {
	case errors.As(err, &no):
		say(no.text, no.hint)
		return no.status, c
	case errors.As(err, &which):
		say(which.text, which.hint)
		c.Ways = which.offersOf(l)
		return http.StatusUnprocessableEntity, c
	case isFaults:
		for _, f := range faults {
			c.Faults = append(c.Faults, foundOf(f, l))
		}
		say(faults[0].Told(), faults[0].Hint)
		return http.StatusUnprocessableEntity, c
	case errors.As(err, &t):
		say(t.Text, t.Hint)
		if t.Full {
			return http.StatusInsufficientStorage, c
		}
		return http.StatusConflict, c
	case errors.As(err, &refusal):
		say(refusal.Text, refusal.Hint)
		return http.StatusUnprocessableEntity, c
	case errors.As(err, &place):
		say(place.Text, place.Hint)
		return http.StatusConflict, c
	case errors.As(err, &tool):
		say(tool.Text, tool.Hint)
		return http.StatusBadGateway, c
	case errors.Is(err, context.Canceled):
		say(words.Tell("it was stopped"), words.Sentence{})
		return http.StatusServiceUnavailable, c
	}
	say(words.Of(err), words.Tell("this shouldn't happen; close the page, start pushcue again, and tell us what you did"))
	return http.StatusInternalServerError, c
}

func foundOf(f fault.Fault, l *words.Language) found {
	one := found{Where: l.Put(f.Where()), Text: l.Put(f.Text), Hint: l.Put(f.Hint), Column: f.Column, Value: f.Value}
	if f.Row > 0 {
		one.Row = &f.Row
	}
	return one
}

// A rejection is a request that can't be met as it is.
type rejection struct {
	status     int
	text, hint words.Sentence
}

func (r *rejection) Error() string { return r.text.String() }

func rejected(status int, text, hint words.Sentence) error { return &rejection{status, text, hint} }

// answer sends value as JSON, or what went wrong.
func (s *Server) answer(w http.ResponseWriter, value any, err error) {
	if err != nil {
		status, c := understand(err, s.speaks())
		send(w, status, map[string]any{"error": c})
		return
	}
	send(w, http.StatusOK, value)
}

func (s *Server) refuse(w http.ResponseWriter, status int, text, hint words.Sentence) {
	s.answer(w, nil, rejected(status, text, hint))
}

func send(w http.ResponseWriter, status int, value any) {
	text, err := json.Marshal(value)
	if err != nil { // a number that JSON can't hold: our own mistake
		status, text = http.StatusInternalServerError, []byte(`{"error":{"text":"the answer can't be written","hint":"","faults":[]}}`)
	}
	h := w.Header()
	h.Set("Content-Type", "application/json")
	h.Set("Cache-Control", "no-store")
	h.Del("ETag") // of the file that couldn't be sent
	w.WriteHeader(status)
	_, _ = w.Write(text)
}

// read takes a request's JSON apart. Unknown keys are ours to ignore: an older page
// may still stand open.
func read(r *http.Request, into any) error {
	text, err := io.ReadAll(r.Body)
	var large *http.MaxBytesError
	switch {
	case errors.As(err, &large):
		return rejected(http.StatusRequestEntityTooLarge, words.Tell("this is far too long"), words.Tell("shorten it"))
	case err != nil:
		return rejected(http.StatusBadRequest, words.Tell("the request broke off"), words.Tell("try again"))
	}
	if err := json.Unmarshal(text, into); err != nil {
		return rejected(http.StatusBadRequest, words.Tell("the request can't be understood: %s", err), words.Sentence{})
	}
	return nil
}
