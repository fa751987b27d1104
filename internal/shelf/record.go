package shelf

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"io/fs"
	"os"
	"slices"
	"strings"

	"pushcue/internal/manifest"
	"pushcue/internal/safefile"
	"pushcue/internal/seal"
	"pushcue/internal/trouble"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

func SortedKeys[V any](m map[string]V) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}

// A record remembers what we wrote into a handover folder: one line a file,
// appended before the file gets its name, so that a file is known as ours at
// whatever moment a run ends.
type record struct {
	Work    *safefile.Folder
	Name    string           // of the record in it
	Path    string           // of the record, for messages
	out     *safefile.Folder // the handover folder it tells of
	Seal    seal.Seal
	Files   map[string]Entry
	strange []string // names in it that no file of a handover can have
}

// recordBytes is more than any record of ours has.
const recordBytes = 256 << 20

// An Entry is one file as we wrote it.
type Entry struct {
	Path    string         `json:"path"` // relative to the handover folder, forward slashes
	Key     string         `json:"key"`  // the sum of all that it was made of
	SHA256  string         `json:"sha256"`
	Before  string         `json:"before,omitempty"`  // of the file of ours that it took the place of
	Pieces  int            `json:"pieces,omitempty"`  // how many files were made of the key, where more than one
	At      timecode.Video `json:"at,omitempty"`      // of a still: the frame it shows; of a spoken note: how long it is
	Damage  words.Sentence `json:"damage,omitzero"`   // what was wrong with what it was made of
	Encoded string         `json:"encoded,omitempty"` // how a video was encoded, with the figures of its trial
	Gone    bool           `json:"gone,omitempty"`    // we removed it

	// As found after the file got its name; equal values spare reading it again.
	Size    int64  `json:"size,omitempty"`
	ModTime int64  `json:"mtime,omitempty"`
	Seal    string `json:"seal,omitempty"` // over these; without it a stranger may have written them
}

// Claim is what the seal of an entry is over.
func (e Entry) Claim() []any { return []any{"handover file", e.Path, e.SHA256, e.Size, e.ModTime} }

// condition is how a file of the handover stands against the record.
type condition int

const (
	missing condition = iota
	Current           // as we last wrote it
	Older             // ours, but from before a run that was cut short
	Foreign           // not ours, or changed since by somebody
)

// ReadRecord reads the record of out. Where there is none, the sums lying in the
// handover folder tell which files are ours. Somebody may have written it who wants
// files elsewhere removed: names that lead out are held to what lists of sums allow.
func ReadRecord(work *safefile.Folder, name string, out *safefile.Folder, by seal.Seal) (*record, error) {
	r := &record{Work: work, Name: name, Path: work.At(name), out: out, Seal: by, Files: map[string]Entry{}}
	text, err := work.ReadFile(name, recordBytes)
	if errors.Is(err, fs.ErrNotExist) {
		return r, r.fromSums()
	}
	if err != nil {
		return nil, trouble.Writing(r.Path, err)
	}
	lines := bufio.NewScanner(bytes.NewReader(text))
	lines.Buffer(nil, 1<<20)
	for lines.Scan() {
		var e Entry
		if json.Unmarshal(lines.Bytes(), &e) != nil || e.Path == "" {
			continue // the last line of a run that was cut short
		}
		if manifest.CheckName(e.Path) != nil {
			r.strange = append(r.strange, e.Path)
			continue
		}
		if !by.Holds(e.Seal, e.Claim()...) {
			e.Size, e.ModTime = 0, 0 // the file is read
		}
		r.keep(e)
	}
	return r, lines.Err()
}

func (r *record) keep(e Entry) {
	if e.Gone {
		delete(r.Files, e.Path)
		return
	}
	r.Files[e.Path] = e
}

func (r *record) fromSums() error {
	f, err := r.out.Open(SumsName)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	defer f.Close()
	list, err := manifest.ReadCoreutils(f, manifest.SHA256)
	if err != nil {
		return nil // somebody else's file of that name
	}
	for _, e := range list {
		r.Files[e.Name] = Entry{Path: e.Name, SHA256: e.Sums[manifest.SHA256]}
	}
	return nil
}

// Compact writes the record anew with one line a file.
func (r *record) Compact() error {
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	for _, name := range SortedKeys(r.Files) {
		e := r.Files[name]
		e.Seal = ""
		if e.ModTime != 0 {
			e.Seal = r.Seal.Over(e.Claim()...)
		}
		if err := enc.Encode(e); err != nil {
			return err
		}
	}
	return trouble.Writing(r.Path, r.Work.WriteBytes(r.Name, b.Bytes()))
}

// Note appends entries and brings them to the disk before it returns.
func (r *record) Note(entries ...Entry) error {
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	for _, e := range entries {
		if err := enc.Encode(e); err != nil {
			return err
		}
		r.keep(e)
	}
	f, err := r.Work.OpenFile(r.Name, os.O_WRONLY|os.O_APPEND|os.O_CREATE, 0o644)
	if err != nil {
		return trouble.Writing(r.Path, err)
	}
	_, err = f.Write(b.Bytes())
	return trouble.Writing(r.Path, errors.Join(err, f.Sync(), f.Close()))
}

// Condition looks at a file of the handover. sum is its SHA-256 where it was read
// or is known.
func (r *record) Condition(ctx context.Context, name string) (c condition, sum string, err error) {
	info, err := r.out.Lstat(name)
	if errors.Is(err, fs.ErrNotExist) {
		return missing, "", nil
	}
	if err != nil {
		return Foreign, "", trouble.Writing(r.out.At(name), err)
	}
	if !info.Mode().IsRegular() {
		return Foreign, "", nil // a link or a folder is never ours
	}
	e, known := r.Files[name]
	if known && e.ModTime != 0 && e.ModTime == info.ModTime().UnixNano() && e.Size == info.Size() {
		return Current, e.SHA256, nil
	}
	sum, size, err := sumIn(ctx, r.out, name)
	if err != nil {
		return Foreign, "", trouble.Writing(r.out.At(name), err)
	}
	switch {
	case !known:
		return Foreign, sum, nil
	case sum == e.SHA256:
		e.Size, e.ModTime = size, info.ModTime().UnixNano()
		r.Files[name] = e
		return Current, sum, nil
	case e.Before != "" && sum == e.Before:
		return Older, sum, nil
	}
	return Foreign, sum, nil
}

// MadeOf returns the files made of key, by name.
func (r *record) MadeOf(key string) []string {
	var names []string
	for _, name := range SortedKeys(r.Files) {
		if r.Files[name].Key == key {
			names = append(names, name)
		}
	}
	return names
}

// under returns the files we know of below a folder of the handover ("" for all).
func (r *record) under(folder string) []string {
	var names []string
	for _, name := range SortedKeys(r.Files) {
		if folder == "" || strings.HasPrefix(name, folder+"/") {
			names = append(names, name)
		}
	}
	return names
}
