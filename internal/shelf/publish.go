// Package shelf keeps a handover folder: which files in it are ours, which are still right,
// and which somebody changed. A file is recorded before it gets its name, so that at whatever
// moment a run ends it is known what lies there.
package shelf

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path"
	"slices"
	"strings"

	"pushcue/internal/manifest"
	"pushcue/internal/safefile"
	"pushcue/internal/trouble"
	"pushcue/timeline"
	"pushcue/timeline/codes"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// A Shelf is a handover folder being brought up to date: what is wanted in it,
// what was found, and the record of what is ours. Files come into it by Publish
// and Text alone, and leave it by Clear alone.
type Shelf struct {
	Folder *safefile.Folder
	Temp   *safefile.Folder // on the same disk: where files wait until they are whole
	Record *record

	Wanted map[string]string // SHA-256 by name
	Passed []string          // folders in it that have a record of their own
	Closed func() error      // undoes the list of sums before the first change
	Same   func() error      // whether what files are made of is still what it was; nil: it's sure

	Made, Kept, Removed, Foreign []string
	Warnings                     []timeline.Warning
}

// Begin forgets what was found and done so far.
func (f *Shelf) Begin() {
	f.Wanted = map[string]string{}
	f.Made, f.Kept, f.Removed, f.Foreign, f.Warnings = nil, nil, nil, nil, nil
	f.ignored()
}

// A Piece is a finished file that waits for its name in the handover.
type Piece struct {
	Name   string         // in the handover, forward slashes
	Key    string         // the sum of all that it was made of
	Temp   string         // where it waits
	Pieces int            // how many files were made of the key, where more than one
	At     timecode.Video // of a still: the frame it shows; of a spoken note: how long it is
	Damage words.Sentence // what is wrong with what it was made of

	Encoded string // how a video was encoded
}

// Has reports whether name lies in the handover just as we would make it of key.
// A file that isn't ours counts as there: it is left alone, and named.
func (f *Shelf) Has(ctx context.Context, name, key string) (bool, error) {
	c, sum, err := f.Record.Condition(ctx, name)
	switch {
	case err != nil:
		return false, err
	case c == Foreign:
		f.leaveAlone(name, sum)
		return true, nil
	case c == Current && f.Record.Files[name].Key == key:
		f.keep(name, sum)
		return true, nil
	}
	return false, nil
}

func (f *Shelf) keep(name, sum string) {
	if f.Wanted[name] == "" {
		f.Kept = append(f.Kept, name)
	}
	f.Wanted[name] = sum
}

// leaveAlone names a file that stands where one of ours would.
func (f *Shelf) leaveAlone(name, sum string) {
	if slices.Contains(f.Foreign, name) {
		return
	}
	f.Foreign = append(f.Foreign, name)
	if sum != "" {
		f.Wanted[name] = sum
	}
	f.Warnings = append(f.Warnings, timeline.Warning{
		Code: codes.FileChanged,
		Text: words.Tell("%s was changed or put there by somebody, and is left as it is", name),
		Hint: words.Tell("to have it made anew, delete it and run again"),
	})
}

// Publish gives finished files their names: first the record tells of them, then
// they are moved into place, so that whatever lies there is known to be ours.
func (f *Shelf) Publish(ctx context.Context, pieces ...Piece) error {
	if f.Same != nil {
		if err := f.Same(); err != nil {
			return err
		}
	}
	entries := make([]Entry, 0, len(pieces))
	moves := make([]Piece, 0, len(pieces))
	for _, p := range pieces {
		c, before, err := f.Record.Condition(ctx, p.Name)
		if err != nil {
			return err
		}
		if c == Foreign {
			f.leaveAlone(p.Name, before)
			continue
		}
		sum, size, err := f.waiting(ctx, p)
		if err != nil {
			return err
		}
		if size == 0 {
			return fmt.Errorf("%s came out empty", p.Name)
		}
		entries = append(entries, Entry{Path: p.Name, Key: p.Key, Pieces: p.Pieces, At: p.At, Damage: p.Damage, Encoded: p.Encoded, SHA256: sum, Before: before})
		moves = append(moves, p)
	}
	if len(moves) == 0 {
		return nil
	}
	if err := errors.Join(f.Closed(), f.Record.Note(entries...)); err != nil {
		return err
	}
	for i, p := range moves {
		if err := f.place(p.Name, p.Temp); err != nil {
			return err
		}
		e := entries[i]
		if info, err := f.Folder.Lstat(p.Name); err == nil {
			e.Size, e.ModTime, e.Before = info.Size(), info.ModTime().UnixNano(), ""
		}
		f.Record.keep(e)
		f.Wanted[p.Name] = e.SHA256
		f.Made = append(f.Made, p.Name)
		f.Kept = slices.DeleteFunc(f.Kept, func(name string) bool { return name == p.Name })
	}
	return nil
}

func (f *Shelf) Path(name string) string { return f.Folder.At(name) }

// Readable is where ffmpeg, which reads by paths, may read a file of the handover: a copy
// among the unfinished ones, since somebody could put a link on the way to the file
// itself. An unfinished file is read where it is.
func (f *Shelf) Readable(path string) (string, error) {
	name, err := f.Folder.Name(path)
	if err != nil {
		return path, nil
	}
	in, err := f.Folder.Open(name)
	if errors.Is(err, fs.ErrNotExist) {
		return "", &trouble.Trouble{
			Text: words.Tell("%s was taken away while the handover was being made", path),
			Hint: words.Tell("run the same command again"),
		}
	}
	if err != nil {
		return "", trouble.Writing(path, err)
	}
	defer in.Close()
	copied := "copy-of-" + strings.ReplaceAll(name, "/", "-")
	err = f.Temp.Write(copied, func(w io.Writer) error { _, err := io.Copy(w, in); return err })
	return f.Temp.At(copied), trouble.Writing(f.Temp.At(copied), err)
}

// waiting is the sum and the size of a finished file.
func (f *Shelf) waiting(ctx context.Context, p Piece) (sum string, size int64, err error) {
	name, err := f.Temp.Name(p.Temp)
	if err != nil {
		return "", 0, err
	}
	return sumIn(ctx, f.Temp, name)
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
func (f *Shelf) place(name, tmp string) error {
	waiting, err := f.Temp.Name(tmp)
	if err != nil {
		return err
	}
	return trouble.Writing(f.Path(name), f.Temp.Move(waiting, f.Folder, name))
}

// Text brings a small file up to date; what it says already is kept.
func (f *Shelf) Text(ctx context.Context, name string, data []byte) error {
	hexSum := SumOf(data)
	c, found, err := f.Record.Condition(ctx, name)
	if err != nil {
		return err
	}
	if c != missing && found == hexSum {
		if c == Foreign { // the same bytes: whoever wrote it, it is what we want
			if err := f.Record.Note(Entry{Path: name, Key: hexSum, SHA256: hexSum}); err != nil {
				return err
			}
		}
		f.keep(name, hexSum)
		return nil
	}
	tmp := f.Temp.At(hexSum)
	if err := f.Temp.WriteBytes(hexSum, data); err != nil {
		return trouble.Writing(tmp, err)
	}
	return f.Publish(ctx, Piece{Name: name, Key: hexSum, Temp: tmp})
}

// Clear removes what we wrote earlier, is no longer wanted, and nobody changed.
// What else lies in the folder is named.
func (f *Shelf) Clear(ctx context.Context) error {
	for _, name := range f.Record.under("") {
		if _, ok := f.Wanted[name]; ok || slices.Contains(f.Foreign, name) || name == SumsName {
			continue
		}
		c, _, err := f.Record.Condition(ctx, name)
		switch {
		case err != nil:
			return err
		case c == Foreign:
			f.Foreign = append(f.Foreign, name)
			f.Warnings = append(f.Warnings, timeline.Warning{
				Code: codes.FileOutdated,
				Text: words.Tell("%s belongs to an earlier state of the job, but was changed by somebody, and is left as it is", name),
				Hint: words.Tell("move it out of the handover, or delete it"),
			})
			continue
		case c != missing:
			if err := f.remove(name); err != nil {
				return err
			}
			f.Removed = append(f.Removed, name)
		}
		if err := f.Record.Note(Entry{Path: name, Gone: true}); err != nil {
			return err
		}
	}
	return f.nameStrangers()
}

func (f *Shelf) remove(name string) error {
	if err := f.Closed(); err != nil {
		return err
	}
	if err := f.Folder.Remove(name); err != nil {
		return trouble.Writing(f.Path(name), err)
	}
	for dir := path.Dir(name); dir != "."; dir = path.Dir(dir) {
		if f.Folder.Remove(dir) != nil {
			break // not empty
		}
	}
	return nil
}

// ignored names what the record tells of that can't be a file of the handover.
func (f *Shelf) ignored() {
	for _, name := range f.Record.strange {
		f.Warnings = append(f.Warnings, timeline.Warning{
			Code: codes.RecordStrange, Text: words.Tell("%s names %s, which is no file in the handover; the line is ignored", f.Record.Path, words.Quoted(name)),
			Hint: words.Tell("somebody changed that file; delete it if you don't trust where the folder comes from"),
		})
	}
}

// nameStrangers names the files in the handover that we know nothing of.
func (f *Shelf) nameStrangers() error {
	return f.Folder.Walk(func(name string, d fs.DirEntry) error {
		if d.IsDir() && slices.Contains(f.Passed, name) {
			return fs.SkipDir
		}
		if d.IsDir() {
			return nil
		}
		if _, ok := f.Wanted[name]; ok || name == SumsName || slices.Contains(f.Foreign, name) {
			return nil
		}
		f.Foreign = append(f.Foreign, name)
		f.Warnings = append(f.Warnings, timeline.Warning{
			Code: codes.FileForeign, Text: words.Tell("%s isn't ours; it is left as it is and stands in no list of sums", name),
		})
		return nil
	})
}
