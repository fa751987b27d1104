package drive

import (
	"context"
	"errors"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"pushcue/internal/manifest"
	"pushcue/timeline/fault"
	"pushcue/timeline/words"
)

// explain turns what a device answers into what the person with the drive in hand
// should know.
func (r *run) explain(ctx context.Context, err error) error {
	if ctx.Err() != nil {
		return ctx.Err()
	}
	if _, told := fault.In(err); told {
		return err
	}
	var unproven *Unproven
	if errors.As(err, &unproven) {
		return err
	}
	proven := words.Tell("%d of %d files stand proven on it, the copy isn't finished", r.out.Copied+r.out.Kept, len(r.files))
	tell := func(text, hint words.Sentence) error {
		return fault.Of(fault.Fault{File: r.drive, Text: text, Hint: hint})
	}
	switch {
	case isFull(err) && r.holdsNoMoreFiles():
		return tell(words.Tell("the drive can hold no more files, though there is room on it: %s", proven), words.Tell("delete files on it that aren't needed, or format it as exFAT; run the same command again: what was proven isn't copied again"))
	case isFull(err) && r.claimsRoom():
		return tell(words.Tell("the drive says that it has room, and takes no more: %s", proven), words.Tell("such a drive holds less than is written on it: don't trust it, take another one"))
	case isFull(err):
		return tell(words.Tell("the drive is full: %s", proven), words.Tell("make room on it or take a larger one; run the same command again: what was proven isn't copied again"))
	case errors.Is(err, fs.ErrPermission), isReadOnly(err):
		return tell(words.Tell("the drive can't be written to"), words.Tell("look for a write-protect switch on it, or for your rights on this folder"))
	case isBadName(err):
		return tell(words.Tell("the drive can't hold the name %s", words.Quoted(r.nameIn(err))), words.Tell("format a drive as exFAT, which holds the names that pushcue makes, and copy again"))
	}
	if at := r.inTheWay(err); at != "" {
		return tell(words.Tell("%s in the folder on it isn't ours and is in the way", words.Quoted(r.cargo.Folder+"/"+at)), words.Tell("move it elsewhere, or choose another name for the copy with --as"))
	}
	return tell(words.Tell("the drive stopped answering (%v): %s", cause(err), proven), words.Tell("plug it in again; run the same command again: what was proven isn't copied again"))
}

// holdsNoMoreFiles reports a drive with room for bytes and none for another file.
func (r *run) holdsNoMoreFiles() bool {
	facts, err := driveFacts(r.drive)
	return err == nil && facts.noFiles
}

// driveFacts is factsOf; tests put other drives in its place.
var driveFacts = factsOf

// claimsRoom reports a drive that tells of room for more than ever lies unflushed.
func (r *run) claimsRoom() bool {
	facts, err := driveFacts(r.drive)
	return err == nil && facts.free > 4*window
}

// nameIn is the file that an error is about, by its name in the copy and without our mark.
func (r *run) nameIn(err error) string {
	name := ""
	var p *fs.PathError
	var l *os.LinkError
	switch {
	case errors.As(err, &p):
		name = p.Path
	case errors.As(err, &l):
		name = l.New
	}
	if r.root != nil && filepath.IsAbs(name) {
		if inside, err := r.root.Name(name); err == nil {
			name = inside
		}
	}
	return strings.TrimSuffix(name, r.partial(""))
}

// inTheWay is a file that stands where a folder of ours belongs, or the other way
// round, on the path that an error is about; "" when none does.
func (r *run) inTheWay(err error) string {
	name := r.nameIn(err)
	if name == "" || r.root == nil || !fs.ValidPath(name) {
		return ""
	}
	isFile := slices.ContainsFunc(r.files, func(f manifest.Entry) bool { return f.Name == name })
	for at := name; at != "."; at, isFile = path.Dir(at), false {
		if info, err := r.root.Lstat(at); err == nil && info.IsDir() == isFile && (isFile || !info.IsDir()) {
			return at
		}
	}
	return ""
}

func cause(err error) error {
	var p *fs.PathError
	var l *os.LinkError
	switch {
	case errors.As(err, &p):
		return p.Err
	case errors.As(err, &l):
		return l.Err
	}
	return err
}
