package review

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"net/http"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"pushcue/frames"
	"pushcue/internal/reach"
	"pushcue/timeline/words"
)

// film is the recording as a page plays it.
type film struct {
	ID       string     `json:"id"` // another one once the recording's files have changed
	Duration float64    `json:"duration_s"`
	Frames   int        `json:"frames"`
	Width    int        `json:"width"`
	Height   int        `json:"height"`
	ShowFrom float64    `json:"show_from_s"`
	ShowTo   float64    `json:"show_to_s"`
	Parts    []filmPart `json:"parts"`
}

type filmPart struct {
	Index    int     `json:"index"`
	File     string  `json:"file"`
	Start    float64 `json:"start_s"`
	Duration float64 `json:"duration_s"`
	First    int     `json:"first"`
	Count    int     `json:"count"`
	Rate     float64 `json:"rate"`
	URL      string  `json:"url"`
	Playable bool    `json:"playable"`
	Origin   float64 `json:"origin_s"`
	StandIn  standIn `json:"proxy"`
	Damage   string  `json:"damage"`
}

func (t *sitting) film(v *view) *film {
	rec := v.recording
	if rec == nil {
		return nil
	}
	f := &film{ID: v.film, Duration: rec.End.Seconds(), Frames: len(rec.Times), Width: rec.Width, Height: rec.Height, ShowTo: rec.End.Seconds(), Parts: []filmPart{}}
	if v.placed != nil {
		f.ShowFrom, f.ShowTo = v.placed.Timeline.ShowFrom.Seconds(), v.placed.Timeline.ShowTo.Seconds()
	}
	for i := range rec.Parts {
		p := &rec.Parts[i]
		base := p.Media.Video.TimeBase
		f.Parts = append(f.Parts, filmPart{
			Index: i, File: p.Name, Start: p.Start.Seconds(), Duration: p.Length.Seconds(), First: p.First, Count: p.Count, Rate: p.Rate.Float(),
			URL: fmt.Sprintf("/media/part/%d", i), Playable: playable(p), Origin: float64(p.Origin) * float64(base.Num) / float64(base.Den),
			StandIn: t.stands.now(rec, i), Damage: v.speaks().Put(p.Damage),
		})
	}
	return f
}

// playable tells whether browsers play a part as it is, frame by frame as we count
// them: H.264 with 8 bits in MP4, with sound that they know.
func playable(p *frames.Part) bool {
	v := p.Media.Video
	if format, _, _ := strings.Cut(p.Media.Format, ","); format != "mov" {
		return false
	}
	// Where the file's clock stands elsewhere at its first frame, browsers disagree on
	// what they call its start.
	if v.Codec != "h264" || p.Interlaced || !p.Damage.Empty() || p.Origin != 0 || v.PixelFormat != "yuv420p" && v.PixelFormat != "yuvj420p" {
		return false
	}
	a := p.Media.Audio
	return a == nil || a.Codec == "aac" || a.Codec == "mp3"
}

// serveFrames sends when each frame is shown.
func (t *sitting) serveFrames(w http.ResponseWriter, r *http.Request) error {
	rec := t.now.Load().recording
	if rec == nil {
		return rejected(http.StatusNotFound, words.Tell("the recording isn't read yet"), words.Tell("wait a moment"))
	}
	var b bytes.Buffer
	b.Grow(8 * len(rec.Times))
	for _, at := range rec.Times {
		b.Write(binary.LittleEndian.AppendUint64(nil, math.Float64bits(at.Seconds())))
	}
	w.Header().Set("Content-Type", "application/octet-stream")
	w.Header().Set("ETag", strconv.Quote(fmt.Sprintf("%d-%d", len(rec.Times), rec.End)))
	_, err := w.Write(b.Bytes())
	_ = err // whoever asked is gone
	return nil
}

// servePart plays a part of the recording.
func (t *sitting) servePart(w http.ResponseWriter, r *http.Request) error {
	v := t.now.Load()
	n, err := strconv.Atoi(r.PathValue("n"))
	if err != nil || n < 0 || n >= len(v.job.Videos) {
		return rejected(http.StatusNotFound, words.Tell("the recording has no such part"), words.Sentence{})
	}
	source := v.job.Pinned(v.job.Videos[n])
	if v.recording != nil && n < len(v.recording.Parts) {
		source = v.recording.Parts[n].Media.Source // the one whose frames the page counts
	}
	f, err := source.Open()
	return serveFile(w, r, f, err, mediaType(source.Path))
}

func (t *sitting) serveStandIn(w http.ResponseWriter, r *http.Request) error {
	n, err := strconv.Atoi(r.PathValue("n"))
	if err != nil {
		n = -1
	}
	path, ok := t.stands.path(t.now.Load().recording, n)
	if !ok {
		return rejected(http.StatusNotFound, words.Tell("it isn't ready"), words.Tell("wait until it is made"))
	}
	return serveOurs(w, r, path, "video/mp4")
}

// mediaType is what a browser is told of a file; never anything that it would run.
func mediaType(path string) string {
	switch strings.ToLower(filepath.Ext(path)) {
	case ".mp4", ".m4v", ".mov":
		return "video/mp4"
	case ".webm":
		return "video/webm"
	case ".jpg", ".jpeg":
		return "image/jpeg"
	case ".png":
		return "image/png"
	case ".wav":
		return "audio/wav"
	case ".mp3":
		return "audio/mpeg"
	case ".m4a":
		return "audio/mp4"
	case ".flac":
		return "audio/flac"
	case ".ogg", ".oga", ".opus":
		return "audio/ogg"
	}
	return "application/octet-stream"
}

// serveOurs sends a file that we made, by its path.
func serveOurs(w http.ResponseWriter, r *http.Request, path, kind string) error {
	f, err := reach.Beneath(filepath.Dir(path), filepath.Base(path), reach.AnySize)
	return serveFile(w, r, f, err, kind)
}

// unservable answers for a file that couldn't be opened.
func unservable(err error) error {
	var why *reach.Error
	if errors.As(err, &why) {
		return rejected(http.StatusNotFound, why.Text, why.Hint)
	}
	return rejected(http.StatusNotFound, words.Tell("the file can't be read"), words.Tell("is its disk still there?"))
}

// serveFile sends what was opened, or tells why it couldn't be; it closes the file.
func serveFile(w http.ResponseWriter, r *http.Request, f *os.File, failed error, kind string) error {
	if failed != nil {
		return unservable(failed)
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return rejected(http.StatusNotFound, words.Tell("the file can't be read"), words.Tell("is its disk still there?"))
	}
	w.Header().Set("Content-Type", kind)
	if cached(w, r, tagOf(f.Name(), info)) {
		return nil
	}
	http.ServeContent(w, r, "", info.ModTime(), f)
	return nil
}
