package handover

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path"
	"slices"
	"strings"

	"pushcue/internal/manifest"
	"pushcue/internal/safefile"
	"pushcue/timeline"
	"pushcue/timeline/codes"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// A folder is a handover folder being brought up to date: what is wanted in it,
// what was found, and the record of what is ours. Files come into it by publish
// alone, and leave it by clear alone.
type folder struct {
	out    *safefile.Folder
	tmp    *safefile.Folder // on the same disk: where files wait until they are whole
	record *record

	wanted map[string]string // SHA-256 by name
	passed []string          // folders in it that have a record of their own
	closed func() error      // undoes the list of sums before the first change
	same   func() error      // whether what files are made of is still what it was; nil: it's sure

	made, kept, removed, foreign []string
	warnings                     []timeline.Warning
}

// begin forgets what was found and done so far.
func (f *folder) begin() {
	f.wanted = map[string]string{}
	f.made, f.kept, f.removed, f.foreign, f.warnings = nil, nil, nil, nil, nil
	f.ignored()
}

// A piece is a finished file that waits for its name in the handover.
type piece struct {
	name   string         // in the handover, forward slashes
	key    string         // the sum of all that it was made of
	tmp    string         // where it waits
	pieces int            // how many files were made of the key, where more than one
	at     timecode.Video // of a still: the frame it shows; of a spoken note: how long it is
	damage words.Sentence // what is wrong with what it was made of
}

// keyOf is the sum of all that something is made of. recipe changes whenever the
// same inputs come to give another file.
func keyOf(parts ...any) string {
	const recipe = 3
	h := sha256.New()
	e := json.NewEncoder(h)
	for _, p := range append([]any{recipe}, parts...) {
		if err := e.Encode(p); err != nil {
			panic(err) // only our own plain values go in
		}
	}
	return hex.EncodeToString(h.Sum(nil))
}

func sumOf(data []byte) string {
	sum := sha256.Sum256(data)
	return hex.EncodeToString(sum[:])
}

// has reports whether name lies in the handover just as we would make it of key.
// A file that isn't ours counts as there: it is left alone, and named.
func (f *folder) has(ctx context.Context, name, key string) (bool, error) {
	c, sum, err := f.record.condition(ctx, name)
	switch {
	case err != nil:
		return false, err
	case c == foreign:
		f.leaveAlone(name, sum)
		return true, nil
	case c == current && f.record.files[name].Key == key:
		f.keep(name, sum)
		return true, nil
	}
	return false, nil
}

func (f *folder) keep(name, sum string) {
	if f.wanted[name] == "" {
		f.kept = append(f.kept, name)
	}
	f.wanted[name] = sum
}

// leaveAlone names a file that stands where one of ours would.
func (f *folder) leaveAlone(name, sum string) {
	if slices.Contains(f.foreign, name) {
		return
	}
	f.foreign = append(f.foreign, name)
	if sum != "" {
		f.wanted[name] = sum
	}
	f.warnings = append(f.warnings, timeline.Warning{
		Code: codes.FileChanged,
		Text: words.Tell("%s was changed or put there by somebody, and is left as it is", name),
		Hint: words.Tell("to have it made anew, delete it and run again"),
	})
}

// publish gives finished files their names: first the record tells of them, then
// they are moved into place, so that whatever lies there is known to be ours.
func (f *folder) publish(ctx context.Context, pieces ...piece) error {
	if f.same != nil {
		if err := f.same(); err != nil {
			return err
		}
	}
	entries := make([]entry, 0, len(pieces))
	moves := make([]piece, 0, len(pieces))
	for _, p := range pieces {
		c, before, err := f.record.condition(ctx, p.name)
		if err != nil {
			return err
		}
		if c == foreign {
			f.leaveAlone(p.name, before)
			continue
		}
		sum, size, err := f.waiting(ctx, p)
		if err != nil {
			return err
		}
		if size == 0 {
			return fmt.Errorf("%s came out empty", p.name)
		}
		entries = append(entries, entry{Path: p.name, Key: p.key, Pieces: p.pieces, At: p.at, Damage: p.damage, SHA256: sum, Before: before})
		moves = append(moves, p)
	}
	if len(moves) == 0 {
		return nil
	}
	if err := errors.Join(f.closed(), f.record.note(entries...)); err != nil {
		return err
	}
	for i, p := range moves {
		if err := f.place(p.name, p.tmp); err != nil {
			return err
		}
		e := entries[i]
		if info, err := f.out.Lstat(p.name); err == nil {
			e.Size, e.ModTime, e.Before = info.Size(), info.ModTime().UnixNano(), ""
		}
		f.record.keep(e)
		f.wanted[p.name] = e.SHA256
		f.made = append(f.made, p.name)
		f.kept = slices.DeleteFunc(f.kept, func(name string) bool { return name == p.name })
	}
	return nil
}

func (f *folder) path(name string) string { return f.out.At(name) }

// readable is where ffmpeg, which reads by paths, may read a file of the handover: a copy
// among the unfinished ones, since somebody could put a link on the way to the file
// itself. An unfinished file is read where it is.
func (f *folder) readable(path string) (string, error) {
	name, err := f.out.Name(path)
	if err != nil {
		return path, nil
	}
	in, err := f.out.Open(name)
	if errors.Is(err, fs.ErrNotExist) {
		return "", &Trouble{
			Text: words.Tell("%s was taken away while the handover was being made", path),
			Hint: words.Tell("run the same command again"),
		}
	}
	if err != nil {
		return "", writing(path, err)
	}
	defer in.Close()
	copied := "copy-of-" + strings.ReplaceAll(name, "/", "-")
	err = f.tmp.Write(copied, func(w io.Writer) error { _, err := io.Copy(w, in); return err })
	return f.tmp.At(copied), writing(f.tmp.At(copied), err)
}

// waiting is the sum and the size of a finished file.
func (f *folder) waiting(ctx context.Context, p piece) (sum string, size int64, err error) {
	name, err := f.tmp.Name(p.tmp)
	if err != nil {
		return "", 0, err
	}
	return sumIn(ctx, f.tmp, name)
}

// sumIn is the SHA-256 and the size of a plain file of a folder.
func sumIn(ctx context.Context, dir *safefile.Folder, name string) (sum string, size int64, err error) {
	in, err := dir.Open(name)
	if err != nil {
		return "", 0, err
	}
	defer in.Close()
	sums, size, err := manifest.SumReader(ctx, in, []manifest.Algorithm{manifest.SHA256}, nil)
	return sums[manifest.SHA256], size, err
}

// place moves a whole file to its name.
func (f *folder) place(name, tmp string) error {
	waiting, err := f.tmp.Name(tmp)
	if err != nil {
		return err
	}
	return writing(f.path(name), f.tmp.Move(waiting, f.out, name))
}

// text brings a small file up to date; what it says already is kept.
func (f *folder) text(ctx context.Context, name string, data []byte) error {
	hexSum := sumOf(data)
	c, found, err := f.record.condition(ctx, name)
	if err != nil {
		return err
	}
	if c != missing && found == hexSum {
		if c == foreign { // the same bytes: whoever wrote it, it is what we want
			if err := f.record.note(entry{Path: name, Key: hexSum, SHA256: hexSum}); err != nil {
				return err
			}
		}
		f.keep(name, hexSum)
		return nil
	}
	tmp := f.tmp.At(hexSum)
	if err := f.tmp.WriteBytes(hexSum, data); err != nil {
		return writing(tmp, err)
	}
	return f.publish(ctx, piece{name: name, key: hexSum, tmp: tmp})
}

// clear removes what we wrote earlier, is no longer wanted, and nobody changed.
// What else lies in the folder is named.
func (f *folder) clear(ctx context.Context) error {
	for _, name := range f.record.under("") {
		if _, ok := f.wanted[name]; ok || slices.Contains(f.foreign, name) || name == sumsName {
			continue
		}
		c, _, err := f.record.condition(ctx, name)
		switch {
		case err != nil:
			return err
		case c == foreign:
			f.foreign = append(f.foreign, name)
			f.warnings = append(f.warnings, timeline.Warning{
				Code: codes.FileOutdated,
				Text: words.Tell("%s belongs to an earlier state of the job, but was changed by somebody, and is left as it is", name),
				Hint: words.Tell("move it out of the handover, or delete it"),
			})
			continue
		case c != missing:
			if err := f.remove(name); err != nil {
				return err
			}
			f.removed = append(f.removed, name)
		}
		if err := f.record.note(entry{Path: name, Gone: true}); err != nil {
			return err
		}
	}
	return f.nameStrangers()
}

func (f *folder) remove(name string) error {
	if err := f.closed(); err != nil {
		return err
	}
	if err := f.out.Remove(name); err != nil {
		return writing(f.path(name), err)
	}
	for dir := path.Dir(name); dir != "."; dir = path.Dir(dir) {
		if f.out.Remove(dir) != nil {
			break // not empty
		}
	}
	return nil
}

// ignored names what the record tells of that can't be a file of the handover.
func (f *folder) ignored() {
	for _, name := range f.record.strange {
		f.warnings = append(f.warnings, timeline.Warning{
			Code: codes.RecordStrange, Text: words.Tell("%s names %s, which is no file in the handover; the line is ignored", f.record.path, words.Quoted(name)),
			Hint: words.Tell("somebody changed that file; delete it if you don't trust where the folder comes from"),
		})
	}
}

// nameStrangers names the files in the handover that we know nothing of.
func (f *folder) nameStrangers() error {
	return f.out.Walk(func(name string, d fs.DirEntry) error {
		if d.IsDir() && slices.Contains(f.passed, name) {
			return fs.SkipDir
		}
		if d.IsDir() {
			return nil
		}
		if _, ok := f.wanted[name]; ok || name == sumsName || slices.Contains(f.foreign, name) {
			return nil
		}
		f.foreign = append(f.foreign, name)
		f.warnings = append(f.warnings, timeline.Warning{
			Code: codes.FileForeign, Text: words.Tell("%s isn't ours; it is left as it is and stands in no list of sums", name),
		})
		return nil
	})
}
