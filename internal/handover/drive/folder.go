package drive

import (
	"context"
	"crypto/rand"
	"encoding/hex"
	"errors"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"regexp"
	"slices"
	"strings"

	"pushcue/internal/manifest"
	"pushcue/internal/reach"
	"pushcue/internal/safefile"
	"pushcue/timeline/fault"
	"pushcue/timeline/words"
)

// NoteName stands in the folder while the copy is under way, for whoever opens a
// drive that was pulled out.
const NoteName = "COPY-NOT-FINISHED.txt"

// note is followed by the mark that our partial files bear, so that the next try
// knows them from a file of somebody's that only looks like one.
const note = "This copy isn't finished.\r\n\r\n" +
	"Files are still being copied, or the drive was taken out too early or filled up.\r\n" +
	"Don't rely on what is in this folder: ask whoever gave you the drive to copy it again.\r\n\r\n" +
	"Files here whose names end in this were only begun: ."

var (
	marked  = regexp.MustCompile(`end in this were only begun: \.([0-9a-f]{8})\.partial`)
	oldList = regexp.MustCompile(`^SHA256SUMS\.([0-9a-f]{8})\.partial$`)
)

// partial is the name of a file whose bytes aren't proven yet.
func (r *run) partial(name string) string { return name + "." + r.mark + ".partial" }

// oldListName keeps an earlier copy's list until the new one stands.
func (r *run) oldListName() string { return r.partial(ListName) }

// Ours tells a folder that holds a handover from any other, and whether a copy into
// it was begun and not finished. It goes by our note, by a list of sums that names a
// timeline, or, where the list is damaged or gone, by the handover's own page and
// timeline.
func Ours(dir string) (ours, unfinished bool) {
	if text, err := reach.ReadBeneath(dir, NoteName, 64<<10); err == nil && marked.Match(text) {
		return true, true
	}
	if list, err := readList(dir, ListName); err == nil {
		return slices.ContainsFunc(list, func(e manifest.Entry) bool { return path.Base(e.Name) == timelineName }), false
	}
	return holds(dir, "index.html") && (holds(dir, timelineName) || holds(dir, "*/"+timelineName)), false
}

// holds reports whether a file of the folder fits the pattern.
func holds(dir, pattern string) bool {
	found, err := fs.Glob(os.DirFS(dir), pattern)
	return err == nil && len(found) > 0
}

const timelineName = "timeline.json"

// open makes the folder, or takes up an earlier copy of ours, and sets up the note
// that the copy isn't finished.
func (r *run) open(context.Context) error {
	if err := r.openFolder(); err != nil {
		return err
	}
	if err := r.writeNote(); err != nil {
		return err
	}
	if _, err := r.root.Lstat(ListName); err == nil {
		if err := r.root.Replace(ListName, r.oldListName()); err != nil {
			return err
		}
	}
	r.earlier, _ = readList(r.out.Folder, r.oldListName()) // an unreadable list only means that nothing of it is cleared away
	return nil
}

func (r *run) openFolder() error {
	taken := fault.Of(fault.Fault{File: r.out.Folder, Text: words.Tell("something of this name stands on the drive already and isn't a copy of a handover"),
		Hint: words.Tell("rename what stands there, or choose another name with --as")})
	drive, err := safefile.Open(filepath.Dir(r.out.Folder))
	if err != nil {
		return err
	}
	defer drive.Close()
	name := filepath.Base(r.out.Folder)
	info, err := drive.Lstat(name)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		r.made = true
	case err != nil:
		return err
	case !info.IsDir():
		return taken
	}
	if r.root, err = drive.MakeFolder(name); err != nil {
		r.made = false
		return err
	}
	top, err := r.root.ReadDir(".")
	if err != nil {
		return err
	}
	for _, e := range top { // the note alone may have been deleted by somebody
		if m := oldList.FindStringSubmatch(e.Name()); m != nil {
			r.mark = m[1]
		}
	}
	if ours, _ := Ours(r.out.Folder); ours || len(top) == 0 || r.mark != "" {
		return nil
	}
	return taken
}

// writeNote holds the folder against a second copy into it and learns, or makes,
// the mark of our partial files. The note is on the device before the first of them.
func (r *run) writeNote() error {
	f, err := r.root.OpenFile(NoteName, os.O_CREATE|os.O_RDWR, 0o644)
	if err != nil {
		return err
	}
	r.note = f
	if free, err := safefile.Lock(f, true); err == nil && !free {
		return fault.Of(fault.Fault{File: r.out.Folder, Text: words.Tell("another copy into this folder is under way"), Hint: words.Tell("wait until it is done, or stop it first")})
	}
	before, err := io.ReadAll(io.LimitReader(f, 64<<10))
	if err != nil {
		return err
	}
	if m := marked.FindSubmatch(before); m != nil {
		r.mark = string(m[1])
		return nil
	}
	if !strings.HasPrefix(note, string(before)) { // one of ours that the power cut short is its beginning
		return fault.Of(fault.Fault{File: r.out.Folder, Text: words.Tell("%s in it isn't ours and is in the way", words.Quoted(NoteName)), Hint: words.Tell("move it elsewhere, or choose another name for the copy with --as")})
	}
	if r.mark == "" {
		r.mark = freshMark()
	}
	if err := f.Truncate(0); err != nil {
		return err
	}
	if _, err := f.WriteAt([]byte(note+r.mark+".partial\r\n"), 0); err != nil {
		return err
	}
	return f.Sync()
}

func freshMark() string {
	var b [4]byte
	_, _ = rand.Read(b[:]) // never fails
	return hex.EncodeToString(b[:])
}

// close lets go of the drive, which couldn't be taken out otherwise.
func (r *run) close() {
	r.letGoOfNote()
	if r.root != nil {
		r.root.Close()
	}
}

func (r *run) letGoOfNote() {
	if r.note != nil {
		_ = safefile.Unlock(r.note)
		r.note.Close()
		r.note = nil
	}
}

// withdraw leaves the folder as it was found, when nothing was copied into it yet.
func (r *run) withdraw() {
	_, err := r.root.Lstat(r.oldListName())
	switch {
	case err == nil:
		_ = r.root.Replace(r.oldListName(), ListName)
	case r.out.Kept > 0: // a copy that wasn't finished before either
		return
	}
	r.letGoOfNote()
	_ = r.root.Remove(NoteName)
	if r.made {
		r.root.Close()
		if drive, err := safefile.Open(filepath.Dir(r.out.Folder)); err == nil {
			_ = drive.Remove(filepath.Base(r.out.Folder)) // goes only when it is empty
			drive.Close()
		}
	}
}

// clearLeftovers removes what earlier tries had only begun, which takes up room.
func (r *run) clearLeftovers(ctx context.Context) error {
	present, err := manifest.Walk(ctx, r.out.Folder)
	if err != nil {
		return err
	}
	for _, name := range present {
		if name != r.oldListName() && strings.HasSuffix(name, r.partial("")) {
			if err := r.root.Remove(name); err != nil {
				return err
			}
		}
	}
	return nil
}

// clearStale removes what an earlier copy of ours left unchanged and the handover no
// longer holds, and tells how many files that were.
func (r *run) clearStale(ctx context.Context) (int, error) {
	wanted := r.wanted()
	n := 0
	for _, e := range r.earlier {
		if wanted[e.Name] {
			continue
		}
		if same, err := r.holds(ctx, e); err != nil {
			return n, err
		} else if !same {
			continue
		}
		if err := r.root.Remove(e.Name); err != nil {
			return n, err
		}
		_ = r.root.Remove(path.Dir(e.Name)) // goes only when it is empty
		n++
	}
	return n, nil
}

// holds tells whether the file of that name on the drive is what the list says.
func (r *run) holds(ctx context.Context, e manifest.Entry) (bool, error) {
	if info, err := r.root.Lstat(e.Name); err != nil || !info.Mode().IsRegular() {
		return false, nil
	}
	f, err := r.root.Open(e.Name)
	if err != nil {
		return false, nil
	}
	defer f.Close()
	sums, _, err := manifest.SumReader(ctx, f, []manifest.Algorithm{manifest.SHA256}, nil)
	if ctx.Err() != nil {
		return false, ctx.Err()
	}
	return err == nil && sums[manifest.SHA256] == e.Sums[manifest.SHA256], nil
}

func (r *run) wanted() map[string]bool {
	all := map[string]bool{ListName: true, NoteName: true, r.oldListName(): true}
	for _, f := range r.files {
		all[f.Name] = true
	}
	return all
}

// sweep clears what an earlier copy of ours left and the handover no longer holds,
// and finds what isn't ours.
func (r *run) sweep(ctx context.Context) error {
	if _, err := r.clearStale(ctx); err != nil {
		return err
	}
	present, err := manifest.Walk(ctx, r.out.Folder)
	if err != nil {
		return err
	}
	wanted := r.wanted()
	for _, name := range present {
		if !wanted[name] {
			r.out.Foreign = append(r.out.Foreign, name)
		}
	}
	return nil
}
