package handover

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"io/fs"
	"os"
	"strings"

	"pushcue/internal/manifest"
	"pushcue/internal/safefile"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// A record remembers what we wrote into a handover folder: one line a file,
// appended before the file gets its name, so that a file is known as ours at
// whatever moment a run ends.
type record struct {
	work    *safefile.Folder
	name    string           // of the record in it
	path    string           // of the record, for messages
	out     *safefile.Folder // the handover folder it tells of
	seal    seal
	files   map[string]entry
	strange []string // names in it that no file of a handover can have
}

// recordBytes is more than any record of ours has.
const recordBytes = 256 << 20

// An entry is one file as we wrote it.
type entry struct {
	Path   string         `json:"path"` // relative to the handover folder, forward slashes
	Key    string         `json:"key"`  // the sum of all that it was made of
	SHA256 string         `json:"sha256"`
	Before string         `json:"before,omitempty"` // of the file of ours that it took the place of
	Pieces int            `json:"pieces,omitempty"` // how many files were made of the key, where more than one
	At     timecode.Video `json:"at,omitempty"`     // of a still: the frame it shows; of a spoken note: how long it is
	Damage words.Sentence `json:"damage,omitzero"`  // what was wrong with what it was made of
	Gone   bool           `json:"gone,omitempty"`   // we removed it

	// As found after the file got its name; equal values spare reading it again.
	Size    int64  `json:"size,omitempty"`
	ModTime int64  `json:"mtime,omitempty"`
	Seal    string `json:"seal,omitempty"` // over these; without it a stranger may have written them
}

// claim is what the seal of an entry is over.
func (e entry) claim() []any { return []any{"handover file", e.Path, e.SHA256, e.Size, e.ModTime} }

// condition is how a file of the handover stands against the record.
type condition int

const (
	missing condition = iota
	current           // as we last wrote it
	older             // ours, but from before a run that was cut short
	foreign           // not ours, or changed since by somebody
)

// readRecord reads the record of out. Where there is none, the sums lying in the
// handover folder tell which files are ours. Somebody may have written it who wants
// files elsewhere removed: names that lead out are held to what lists of sums allow.
func readRecord(work *safefile.Folder, name string, out *safefile.Folder, by seal) (*record, error) {
	r := &record{work: work, name: name, path: work.At(name), out: out, seal: by, files: map[string]entry{}}
	text, err := work.ReadFile(name, recordBytes)
	if errors.Is(err, fs.ErrNotExist) {
		return r, r.fromSums()
	}
	if err != nil {
		return nil, writing(r.path, err)
	}
	lines := bufio.NewScanner(bytes.NewReader(text))
	lines.Buffer(nil, 1<<20)
	for lines.Scan() {
		var e entry
		if json.Unmarshal(lines.Bytes(), &e) != nil || e.Path == "" {
			continue // the last line of a run that was cut short
		}
		if manifest.CheckName(e.Path) != nil {
			r.strange = append(r.strange, e.Path)
			continue
		}
		if !by.holds(e.Seal, e.claim()...) {
			e.Size, e.ModTime = 0, 0 // the file is read
		}
		r.keep(e)
	}
	return r, lines.Err()
}

func (r *record) keep(e entry) {
	if e.Gone {
		delete(r.files, e.Path)
		return
	}
	r.files[e.Path] = e
}

func (r *record) fromSums() error {
	f, err := r.out.Open(sumsName)
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
		r.files[e.Name] = entry{Path: e.Name, SHA256: e.Sums[manifest.SHA256]}
	}
	return nil
}

// compact writes the record anew with one line a file.
func (r *record) compact() error {
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	for _, name := range sortedKeys(r.files) {
		e := r.files[name]
		e.Seal = ""
		if e.ModTime != 0 {
			e.Seal = r.seal.over(e.claim()...)
		}
		if err := enc.Encode(e); err != nil {
			return err
		}
	}
	return writing(r.path, r.work.WriteBytes(r.name, b.Bytes()))
}

// note appends entries and brings them to the disk before it returns.
func (r *record) note(entries ...entry) error {
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	for _, e := range entries {
		if err := enc.Encode(e); err != nil {
			return err
		}
		r.keep(e)
	}
	f, err := r.work.OpenFile(r.name, os.O_WRONLY|os.O_APPEND|os.O_CREATE, 0o644)
	if err != nil {
		return writing(r.path, err)
	}
	_, err = f.Write(b.Bytes())
	return writing(r.path, errors.Join(err, f.Sync(), f.Close()))
}

// condition looks at a file of the handover. sum is its SHA-256 where it was read
// or is known.
func (r *record) condition(ctx context.Context, name string) (c condition, sum string, err error) {
	info, err := r.out.Lstat(name)
	if errors.Is(err, fs.ErrNotExist) {
		return missing, "", nil
	}
	if err != nil {
		return foreign, "", writing(r.out.At(name), err)
	}
	if !info.Mode().IsRegular() {
		return foreign, "", nil // a link or a folder is never ours
	}
	e, known := r.files[name]
	if known && e.ModTime != 0 && e.ModTime == info.ModTime().UnixNano() && e.Size == info.Size() {
		return current, e.SHA256, nil
	}
	sum, size, err := sumIn(ctx, r.out, name)
	if err != nil {
		return foreign, "", writing(r.out.At(name), err)
	}
	switch {
	case !known:
		return foreign, sum, nil
	case sum == e.SHA256:
		e.Size, e.ModTime = size, info.ModTime().UnixNano()
		r.files[name] = e
		return current, sum, nil
	case e.Before != "" && sum == e.Before:
		return older, sum, nil
	}
	return foreign, sum, nil
}

// madeOf returns the files made of key, by name.
func (r *record) madeOf(key string) []string {
	var names []string
	for _, name := range sortedKeys(r.files) {
		if r.files[name].Key == key {
			names = append(names, name)
		}
	}
	return names
}

// under returns the files we know of below a folder of the handover ("" for all).
func (r *record) under(folder string) []string {
	var names []string
	for _, name := range sortedKeys(r.files) {
		if folder == "" || strings.HasPrefix(name, folder+"/") {
			names = append(names, name)
		}
	}
	return names
}
