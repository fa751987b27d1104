package handover

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"pushcue/internal/manifest"
	"pushcue/internal/reach"
	"pushcue/internal/safefile"
	"pushcue/timeline/fault"
	"pushcue/timeline/words"
)

const sumsName = "SHA256SUMS"

// sourceSums remembers the sums of sources, so that hours of recording aren't
// read again for every run. A source whose size or time changed is read again.
type sourceSums struct {
	top   string // our own folder
	seal  seal
	known map[string]seenSource
}

const (
	sourcesName  = "sources.json"
	sourcesBytes = 16 << 20 // more than any list of sources of ours has
)

type seenSource struct {
	Size    int64  `json:"size"`
	ModTime int64  `json:"mtime"`
	SHA256  string `json:"sha256"`
	Seal    string `json:"seal,omitempty"` // over these and the path; without it a stranger may have written them
}

func (s *sourceSums) over(path string, of seenSource) []any {
	return []any{"source", path, of.Size, of.ModTime, of.SHA256}
}

func readSourceSums(work string, by seal) *sourceSums {
	s := &sourceSums{top: work, seal: by, known: map[string]seenSource{}}
	dir, err := safefile.OpenWithin(work, work, nil)
	if err != nil {
		return s
	}
	defer dir.Close()
	var all map[string]seenSource
	if text, err := dir.ReadFile(sourcesName, sourcesBytes); err != nil || json.Unmarshal(text, &all) != nil {
		return s // damaged: only a cache
	}
	for path, one := range all {
		if by.holds(one.Seal, s.over(path, one)...) {
			s.known[path] = one
		}
	}
	return s
}

// knows tells whether the sum of a source is known without reading it.
func (s *sourceSums) knows(src Source) bool {
	info, err := os.Stat(src.Path)
	old, ok := s.known[src.Path]
	return err == nil && ok && old.Size == info.Size() && old.ModTime == info.ModTime().UnixNano()
}

// sum is the SHA-256 of a source; read is told how many bytes were read.
func (s *sourceSums) sum(ctx context.Context, j *Job, src Source, read func(int)) (string, error) {
	f, err := j.Open(src)
	if err != nil {
		return "", unreadableSource(src, err)
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return "", unreadableSource(src, err)
	}
	now := seenSource{Size: info.Size(), ModTime: info.ModTime().UnixNano()}
	if old, ok := s.known[src.Path]; ok && old.Size == now.Size && old.ModTime == now.ModTime {
		return old.SHA256, nil
	}
	sums, size, err := manifest.SumReader(ctx, f, []manifest.Algorithm{manifest.SHA256}, read)
	switch {
	case ctx.Err() != nil:
		return "", ctx.Err()
	case err != nil:
		return "", unreadableSource(src, err)
	case size != now.Size:
		return "", changedSource(src)
	}
	now.SHA256 = sums[manifest.SHA256]
	now.Seal = s.seal.over(s.over(src.Path, now)...)
	s.known[src.Path] = now
	return now.SHA256, nil
}

func changedSource(src Source) error {
	return fault.Of(fault.Fault{File: src.Name, Text: words.Tell("changed while it was read"), Hint: words.Tell("wait until it is copied whole, then run again")})
}

func unreadableSource(src Source, err error) error {
	if errors.Is(err, reach.ErrChanged) {
		return changedSource(src)
	}
	return fault.Of(fault.Fault{File: src.Name, Text: words.Tell("can't be read: %s", plainCause(err)), Hint: hintOf(err, words.Tell("check the disk or the card that it lies on"))})
}

// keep saves what can be saved: of a folder that can't be written to nothing is lost
// but time.
func (s *sourceSums) keep() {
	if len(s.known) > 0 {
		_ = s.save()
	}
}

func (s *sourceSums) save() error {
	text, err := json.Marshal(s.known)
	if err != nil {
		return err
	}
	path := filepath.Join(s.top, sourcesName)
	dir, err := safefile.MakeWithin(s.top, s.top, nil)
	if err != nil {
		return writing(path, err)
	}
	defer dir.Close()
	return writing(path, dir.WriteBytes(sourcesName, text))
}

// sumsText is SHA256SUMS over files by name.
func sumsText(sums map[string]string) ([]byte, error) {
	list := make([]manifest.Entry, 0, len(sums))
	for _, name := range sortedKeys(sums) {
		if err := manifest.CheckName(name); err != nil {
			return nil, fmt.Errorf("%s can't be listed: %w", name, err)
		}
		list = append(list, manifest.Entry{Name: name, Size: -1, Sums: map[manifest.Algorithm]string{manifest.SHA256: sums[name]}})
	}
	var b bytes.Buffer
	err := manifest.WriteCoreutils(&b, manifest.SHA256, list)
	return b.Bytes(), err
}
