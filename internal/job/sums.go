package job

import (
	"context"
	"encoding/json"
	"errors"
	"os"
	"path/filepath"

	"pushcue/internal/manifest"
	"pushcue/internal/reach"
	"pushcue/internal/safefile"
	"pushcue/internal/seal"
	"pushcue/internal/trouble"
	"pushcue/timeline/fault"
	"pushcue/timeline/words"
)

// Sums remembers the sums of sources, so that hours of recording aren't
// read again for every run. A source whose size or time changed is read again.
type Sums struct {
	top   string // our own folder
	seal  seal.Seal
	Known map[string]seenSource
}

const (
	SourcesName  = "sources.json"
	sourcesBytes = 16 << 20 // more than any list of sources of ours has
)

type seenSource struct {
	Size    int64  `json:"size"`
	ModTime int64  `json:"mtime"`
	SHA256  string `json:"sha256"`
	Seal    string `json:"seal,omitempty"` // over these and the path; without it a stranger may have written them
}

func (s *Sums) over(path string, of seenSource) []any {
	return []any{"source", path, of.Size, of.ModTime, of.SHA256}
}

func ReadSums(work string, by seal.Seal) *Sums {
	s := &Sums{top: work, seal: by, Known: map[string]seenSource{}}
	dir, err := safefile.OpenWithin(work, work, nil)
	if err != nil {
		return s
	}
	defer dir.Close()
	var all map[string]seenSource
	if text, err := dir.ReadFile(SourcesName, sourcesBytes); err != nil || json.Unmarshal(text, &all) != nil {
		return s // damaged: only a cache
	}
	for path, one := range all {
		if by.Holds(one.Seal, s.over(path, one)...) {
			s.Known[path] = one
		}
	}
	return s
}

// Knows tells whether the sum of a source is known without reading it.
func (s *Sums) Knows(src Source) bool {
	info, err := os.Stat(src.Path)
	old, ok := s.Known[src.Path]
	return err == nil && ok && old.Size == info.Size() && old.ModTime == info.ModTime().UnixNano()
}

// Sum is the SHA-256 of a source; read is told how many bytes were read.
func (s *Sums) Sum(ctx context.Context, j *Job, src Source, read func(int)) (string, error) {
	f, err := j.Open(src)
	if err != nil {
		return "", UnreadableSource(src, err)
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return "", UnreadableSource(src, err)
	}
	now := seenSource{Size: info.Size(), ModTime: info.ModTime().UnixNano()}
	if old, ok := s.Known[src.Path]; ok && old.Size == now.Size && old.ModTime == now.ModTime {
		return old.SHA256, nil
	}
	sums, size, err := manifest.SumReader(ctx, f, []manifest.Algorithm{manifest.SHA256}, read)
	switch {
	case ctx.Err() != nil:
		return "", ctx.Err()
	case err != nil:
		return "", UnreadableSource(src, err)
	case size != now.Size:
		return "", changedSource(src)
	}
	now.SHA256 = sums[manifest.SHA256]
	now.Seal = s.seal.Over(s.over(src.Path, now)...)
	s.Known[src.Path] = now
	return now.SHA256, nil
}

func changedSource(src Source) error {
	return fault.Of(fault.Fault{File: src.Name, Text: words.Tell("changed while it was read"), Hint: words.Tell("wait until it is copied whole, then run again")})
}

func UnreadableSource(src Source, err error) error {
	if errors.Is(err, reach.ErrChanged) {
		return changedSource(src)
	}
	return fault.Of(fault.Fault{File: src.Name, Text: words.Tell("can't be read: %s", trouble.PlainCause(err)), Hint: HintOf(err, words.Tell("check the disk or the card that it lies on"))})
}

// Keep saves what can be saved: of a folder that can't be written to nothing is lost
// but time.
func (s *Sums) Keep() {
	if len(s.Known) > 0 {
		_ = s.Save()
	}
}

func (s *Sums) Save() error {
	text, err := json.Marshal(s.Known)
	if err != nil {
		return err
	}
	path := filepath.Join(s.top, SourcesName)
	dir, err := safefile.MakeWithin(s.top, s.top, nil)
	if err != nil {
		return trouble.Writing(path, err)
	}
	defer dir.Close()
	return trouble.Writing(path, dir.WriteBytes(SourcesName, text))
}
