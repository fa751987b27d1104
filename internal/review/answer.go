package review

import (
	"context"
	"encoding/json"
	"errors"
	"io"
	"net/http"

	"pushcue/internal/ffmpeg"
	"pushcue/internal/handover"
	"pushcue/timeline/fault"
)

// A complaint is what went wrong, in the words of who can put it right.
type complaint struct {
	Text   string  `json:"text"`
	Hint   string  `json:"hint"`
	Faults []found `json:"faults"`
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

// understand turns an error into what the page shows and the status it comes with.
func understand(err error) (status int, c complaint) {
	c.Faults = []found{}
	var trouble *handover.Trouble
	var refusal *handover.Refusal
	var tool *ffmpeg.Error
	var no *rejection
	faults, isFaults := fault.In(err)
	switch {
	case errors.As(err, &no):
		c.Text, c.Hint = no.text, no.hint
		return no.status, c
	case isFaults:
		for _, f := range faults {
			c.Faults = append(c.Faults, foundOf(f))
		}
		c.Text, c.Hint = faults[0].Error(), faults[0].Hint
		return http.StatusUnprocessableEntity, c
	case errors.As(err, &trouble):
		c.Text, c.Hint = trouble.Text, trouble.Hint
		if trouble.Full {
			return http.StatusInsufficientStorage, c
		}
		return http.StatusConflict, c
	case errors.As(err, &refusal):
		c.Text, c.Hint = refusal.Text, refusal.Hint
		return http.StatusUnprocessableEntity, c
	case errors.As(err, &tool):
		c.Text, c.Hint = tool.Text, tool.Hint
		return http.StatusBadGateway, c
	case errors.Is(err, context.Canceled):
		c.Text = "it was stopped"
		return http.StatusServiceUnavailable, c
	}
	c.Text, c.Hint = err.Error(), "this shouldn't happen; close the page, start pushcue again, and tell us what you did"
	return http.StatusInternalServerError, c
}

func foundOf(f fault.Fault) found {
	one := found{Where: f.Where(), Text: f.Text, Hint: f.Hint, Column: f.Column, Value: f.Value}
	if f.Row > 0 {
		one.Row = &f.Row
	}
	return one
}

// A rejection is a request that can't be met as it is.
type rejection struct {
	status     int
	text, hint string
}

func (r *rejection) Error() string { return r.text }

func rejected(status int, text, hint string) error { return &rejection{status, text, hint} }

// answer sends value as JSON, or what went wrong.
func answer(w http.ResponseWriter, value any, err error) {
	if err != nil {
		status, c := understand(err)
		send(w, status, map[string]any{"error": c})
		return
	}
	send(w, http.StatusOK, value)
}

func refuse(w http.ResponseWriter, status int, text, hint string) {
	send(w, status, map[string]any{"error": complaint{Text: text, Hint: hint, Faults: []found{}}})
}

func send(w http.ResponseWriter, status int, value any) {
	text, err := json.Marshal(value)
	if err != nil { // a number that JSON can't hold: our own mistake
		status, text = http.StatusInternalServerError, []byte(`{"error":{"text":"the answer can't be written","hint":"","faults":[]}}`)
	}
	w.Header().Set("Content-Type", "application/json")
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
		return rejected(http.StatusRequestEntityTooLarge, "this is far too long", "shorten it")
	case err != nil:
		return rejected(http.StatusBadRequest, "the request broke off", "try again")
	}
	if err := json.Unmarshal(text, into); err != nil {
		return rejected(http.StatusBadRequest, "the request can't be understood: "+err.Error(), "")
	}
	return nil
}
