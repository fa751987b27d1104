package review

import (
	"context"
	"encoding/base64"
	"net/http"

	"pushcue/internal/handover"
	"pushcue/timeline/words"
)

// chooseLogo keeps a picture as the firm's logo, for this job and for every other one that
// names none of its own.
func (s *Server) chooseLogo(r *http.Request) error {
	var asked struct {
		Data string `json:"data"` // PNG or JPEG, base64
	}
	if err := read(r, &asked); err != nil {
		return err
	}
	data, err := base64.StdEncoding.DecodeString(asked.Data)
	if err != nil {
		return rejected(http.StatusBadRequest, words.Tell("the request can't be understood: %s", err), words.Sentence{})
	}
	if s.o.Settings == "" {
		return rejected(http.StatusConflict, words.Tell("this computer keeps no settings for pushcue"), words.Tell("name the logo in the job's own firm.toml"))
	}
	if err := handover.KeepLogo(s.o.Settings, data); err != nil {
		return err
	}
	for _, t := range s.sittings() {
		t.again(r.Context())
	}
	return nil
}

// again reads the job's sheets anew though none of its own files has changed.
func (t *sitting) again(ctx context.Context) {
	t.one.Lock()
	defer t.one.Unlock()
	t.stamps.others = nil
	_ = t.reread(ctx) // the view tells
}

func (t *sitting) serveLogo(w http.ResponseWriter, _ *http.Request) error {
	picture := handover.Logo(t.now.Load().job)
	if picture == nil {
		return rejected(http.StatusNotFound, words.Tell("there is no logo"), words.Sentence{})
	}
	w.Header().Set("Content-Type", "image/png")
	_, _ = w.Write(picture)
	return nil
}
