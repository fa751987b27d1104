package sighting

import (
	"cmp"
	"encoding/json"
	"io"

	"pushcue/internal/reach"
	"pushcue/internal/safefile"
)

// keptName is what was seen, as it is kept in our own folder.
const keptName = "counter.json"

// keptBytes is far more than is ever kept: a recording of two hours takes a few megabytes.
const keptBytes = 256 << 20

// keptFile is how it is kept: with a seal, since who forges a reading forges where the
// camera was. What stands there without one is checked before it counts.
type keptFile struct {
	Seal string          `json:"seal"`
	Seen json.RawMessage `json:"seen"`
}

// kept is what is kept of this recording and these wishes, and whether it bears our seal;
// nil where nothing is.
func (w *Watch) kept() (seen *Seen, sealed bool) {
	var file keptFile
	var s Seen
	text, err := reach.ReadBeneath(w.Work, keptName, keptBytes)
	if err != nil || json.Unmarshal(text, &file) != nil || json.Unmarshal(file.Seen, &s) != nil || s.Key != w.Key() {
		return nil, false
	}
	for _, g := range s.Groups {
		for _, k := range g.Parts {
			if k < 0 || k >= len(w.Recording.Parts) {
				return nil, false
			}
		}
	}
	return &s, w.Seal == nil || w.Seal(file.Seal, file.Seen)
}

// keep writes what was seen into our own folder. A folder that can't be written to
// costs reading it again, nothing more.
func (w *Watch) keep(s *Seen) {
	text, err := json.Marshal(s)
	if err == nil {
		file := keptFile{Seen: text}
		if w.SealOver != nil {
			file.Seal = w.SealOver(text)
		}
		text, err = json.Marshal(file)
	}
	if err == nil {
		err = w.write(keptName, func(f io.Writer) error { _, err := f.Write(text); return err })
	}
	w.unkept = err
}

// write puts a file into our own folder.
func (w *Watch) write(name string, write func(io.Writer) error) error {
	work, err := safefile.MakeWithin(w.top(), w.Work, nil)
	if err != nil {
		return err
	}
	defer work.Close()
	return work.Write(name, write)
}

func (w *Watch) top() string { return cmp.Or(w.Top, w.Work) }

// Unkept is why what was seen couldn't be kept, so that there is no sheet of it either;
// nil where it was.
func (w *Watch) Unkept() error { return w.unkept }
