package review

import (
	"bytes"
	"context"
	"encoding/hex"
	"fmt"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"pushcue/internal/ffmpeg"
	"pushcue/internal/handover"
	"pushcue/internal/handover/spoken"
	"pushcue/internal/job"
	"pushcue/internal/placing"
	"pushcue/timeline/fault"
	"pushcue/timeline/words"
)

// beside is a spoken note or a photo as the page shows it.
type beside struct {
	File     string  `json:"file"`
	Kind     string  `json:"kind"` // spoken, photo
	URL      string  `json:"url"`
	Rows     []int   `json:"rows"` // that it belongs to; none: the push as a whole
	LeftOut  bool    `json:"left_out"`
	ByPerson bool    `json:"by_person"`
	Length   float64 `json:"length_s"` // of a note; 0 when it can't be read
	Trouble  string  `json:"trouble"`  // why it can't be
}

// besideOf tells of the notes and photos that take part: nil while that isn't known.
func besideOf(v *view) []beside {
	if v.placed == nil || !v.placed.Joined {
		return nil
	}
	all := []beside{}
	add := func(kind string, a placing.Attached, leftOut bool) {
		one := beside{File: a.Name, Kind: kind, URL: address(kind, a.Name), Rows: a.Rows, LeftOut: leftOut, ByPerson: a.Given || leftOut}
		if one.Rows == nil {
			one.Rows = []int{}
		}
		if a.Sound != nil {
			one.Length = a.Sound.Duration.Seconds()
		}
		if !leftOut {
			one.Trouble = v.speaks().Put(a.Why)
		}
		all = append(all, one)
	}
	for _, a := range v.placed.Spoken {
		add("spoken", a, false)
	}
	for _, a := range v.placed.Photos {
		add("photo", a, false)
	}
	for _, s := range v.placed.LeftOut {
		_, kind, _ := besideNamed(v, s.Name)
		add(kind, placing.Attached{Source: s}, true)
	}
	return all
}

// address is where a note or photo is to be had. Its name may hold anything.
func address(kind, name string) string {
	parts := strings.Split(name, "/")
	for i, p := range parts {
		parts[i] = url.PathEscape(p)
	}
	return "/media/" + kind + "/" + strings.Join(parts, "/")
}

// besideNamed is the note or photo of the job that has the name.
func besideNamed(v *view, name string) (s job.Source, kind string, ok bool) {
	for kind, all := range map[string][]job.Source{"spoken": v.job.Spoken, "photo": v.job.Photos} {
		if i := slices.IndexFunc(all, func(s job.Source) bool { return s.Name == name }); i >= 0 {
			return all[i], kind, true
		}
	}
	return s, "", false
}

// asked is the file that a request is about: one that the job lists as of that kind.
func (t *sitting) asked(r *http.Request, kind string) (*job.Job, job.Source, error) {
	v := t.now.Load()
	s, is, there := besideNamed(v, r.PathValue("name"))
	if !there || is != kind {
		return nil, s, rejected(http.StatusNotFound, words.Tell("the job has no such file"), words.Sentence{})
	}
	f, err := v.job.Open(s)
	if err != nil {
		return nil, s, unservable(err)
	}
	return v.job, s, f.Close()
}

// servePhoto shows a photo upright, without what its camera wrote beside it.
func (t *sitting) servePhoto(w http.ResponseWriter, r *http.Request) error {
	job, s, err := t.asked(r, "photo")
	if err != nil {
		return err
	}
	info, err := os.Stat(s.Path)
	if err != nil {
		return rejected(http.StatusNotFound, words.Tell("the file can't be read"), words.Tell("is its disk still there?"))
	}
	if cached(w, r, "photo-"+tagOf(s.Path, info)) {
		return nil
	}
	select {
	case t.stills.seats <- struct{}{}:
		defer func() { <-t.stills.seats }()
	case <-r.Context().Done():
		return r.Context().Err()
	}
	picture, err := handover.OpenPhoto(r.Context(), job, t.opened.tools, s)
	if err != nil {
		return err
	}
	var b bytes.Buffer
	if err := picture.WriteJPEG(&b, false); err != nil {
		return err
	}
	w.Header().Set("Content-Type", "image/jpeg")
	_, _ = w.Write(b.Bytes())
	return nil
}

// heardEverywhere are the kinds of sound that browsers play, by ffmpeg's names.
var heardEverywhere = []string{"aac", "mp3", "flac", "opus", "vorbis", "pcm_s16le", "pcm_u8"}

// serveSpoken plays a spoken note: as it is where browsers can, else as it would be
// handed over.
func (t *sitting) serveSpoken(w http.ResponseWriter, r *http.Request) error {
	job, s, err := t.asked(r, "spoken")
	if err != nil {
		return err
	}
	source := job.Pinned(s)
	sound, err := t.opened.tools.ProbeSound(r.Context(), source)
	if err != nil {
		return err
	}
	kind := mediaType(s.Path)
	if strings.HasPrefix(kind, "audio/") && slices.Contains(heardEverywhere, sound.Audio.Codec) {
		f, err := source.Open()
		return serveFile(w, r, f, err, kind)
	}
	path, err := t.playableNote(r.Context(), job, sound)
	if err != nil {
		return err
	}
	return serveOurs(w, r, path, "audio/mp4")
}

// playableNote makes a copy of a note that browsers play, once, in our own folder.
func (t *sitting) playableNote(ctx context.Context, job *job.Job, sound *ffmpeg.Sound) (string, error) {
	name := sound.Source.Name
	sum, err := glance(sound.Source)
	if err != nil {
		return "", rejected(http.StatusNotFound, words.Tell("the file can't be read"), words.Tell("is its disk still there?"))
	}
	work := job.Work
	path := filepath.Join(work, "note-"+hex.EncodeToString(sum.Sum(nil)[:8])+".m4a")
	t.notes.Lock() // a page asks for a note in several pieces
	defer t.notes.Unlock()
	if _, err := os.Stat(path); err == nil {
		return path, nil
	}
	dir, err := t.now.Load().job.OpenWork()
	if err != nil {
		return "", err
	}
	defer dir.Close()
	temp, err := dir.TempFolder("unfinished-note-")
	if err != nil {
		return "", err
	}
	defer temp.Discard()
	note, err := spoken.Listen(ctx, t.opened.tools, sound)
	if _, told := fault.In(err); told {
		return "", err
	}
	if err != nil {
		return "", fault.Of(fault.Fault{File: name, Text: words.Plain("%s", err.Error()), Hint: words.Tell("copy it from the phone or the recorder again")})
	}
	base := filepath.Base(path)
	if err := note.Write(ctx, t.opened.tools, temp.At(base)); err != nil {
		return "", fmt.Errorf("%s: %w", name, err)
	}
	return path, temp.Move(base, dir, base)
}
