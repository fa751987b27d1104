// Package drive copies a handover onto a thumb drive and proves the copy: every
// file is written under a partial name, flushed to the device, dropped from the
// system's memory, read back and compared before it gets its name.
//
//	load, err := drive.Load(ctx, "job/handover", "2291-B")
//	outcome, err := drive.Copy(ctx, load, "/media/stick", nil)
//
// What was proven in an earlier try is read back again but not copied again. It
// promises nothing about a drive's life: memory sticks forget over the years, so
// keep an archive too.
package drive

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"pushcue/internal/manifest"
	"pushcue/timeline/fault"
)

const (
	// ListName is the list of sums, written last: without it no copy is finished.
	ListName = "SHA256SUMS"
	// NoteName stands in the folder while the copy is under way, for whoever
	// opens a drive that was pulled out.
	NoteName = "COPY-NOT-FINISHED.txt"
	// oldList keeps an earlier copy's list until the new one stands.
	oldList = "SHA256SUMS.old.partial"
)

// A Cargo is what goes onto a drive.
type Cargo struct {
	Root   string           // the handover folder
	Folder string           // the one folder made for it on the drive
	Files  []manifest.Entry // each with its length and SHA-256, without the list itself
}

// Bytes is the length of all files together.
func (c *Cargo) Bytes() int64 {
	var n int64
	for _, f := range c.Files {
		n += f.Size
	}
	return n
}

// Load reads a finished handover's list of sums. A handover without one isn't
// finished, which is a fault.
func Load(ctx context.Context, root, folder string) (*Cargo, error) {
	if err := checkFolderName(folder); err != nil {
		return nil, err
	}
	list, err := readList(filepath.Join(root, ListName))
	if os.IsNotExist(err) {
		return nil, fault.Of(fault.Fault{File: root, Text: "this handover isn't finished: it has no list of sums yet", Hint: "run `pushcue make` first"})
	}
	if err != nil {
		return nil, fault.Of(fault.Fault{File: filepath.Join(root, ListName), Text: err.Error(), Hint: "run `pushcue make` again to write it anew"})
	}
	for i := range list {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		info, err := os.Stat(filepath.Join(root, filepath.FromSlash(list[i].Name)))
		if err != nil {
			return nil, fault.Of(fault.Fault{File: list[i].Name, Text: "the handover's list of sums names this file, but it isn't there", Hint: "run `pushcue make` again"})
		}
		list[i].Size = info.Size()
	}
	return &Cargo{Root: root, Folder: folder, Files: list}, nil
}

// An Outcome is what a copy came to.
type Outcome struct {
	Drive    string
	Folder   string   // full path of the folder on the drive
	Copied   int      // files copied in this run
	Kept     int      // files that an earlier run had copied, read back and found the same
	Bytes    int64    // of all files that stand proven on the drive
	TooLarge []string // left out: the drive's file system can't hold a file that long
	Foreign  []string // stand in the folder but aren't ours, or were changed: left alone
	SameDisk bool     // the drive is the disk that the job lies on: no second copy
	Dropped  bool     // what was read back came from the device, not from the system's memory
}

// Progress tells how far a copy is. Done and Total count each byte twice: once
// written, once read back.
type Progress struct {
	Step  string // "copying" or "reading back"
	Name  string
	Done  int64
	Total int64
}

// Unproven is the error when what stands on the drive, or in the handover, isn't
// what the list of sums says.
type Unproven struct{ Text, Hint string }

func (u *Unproven) Error() string { return u.Text }

// Copy brings the cargo onto the drive. Faults of the drive that can be told
// before the first byte (no room, not writable, somebody else's folder) are a
// fault.List; a copy that reads back differently is an *Unproven. Nothing on the
// drive but the cargo's folder is touched.
func Copy(ctx context.Context, c *Cargo, drive string, progress func(Progress)) (*Outcome, error) {
	if progress == nil {
		progress = func(Progress) {}
	}
	r := &run{cargo: c, drive: drive, folder: filepath.Join(drive, c.Folder), tell: progress,
		out: &Outcome{Drive: drive, Dropped: true}}
	r.out.Folder = r.folder
	for _, step := range []func(context.Context) error{
		r.look, r.open, r.keepProven, r.checkRoom, r.copyAll, r.sweep, r.finish,
	} {
		if err := step(ctx); err != nil {
			return r.out, r.explain(ctx, err)
		}
	}
	return r.out, nil
}

// run is one copy to one drive.
type run struct {
	cargo   *Cargo
	drive   string
	folder  string
	facts   facts
	earlier []manifest.Entry // what an earlier copy's list names
	files   []manifest.Entry // what shall stand there: the cargo without what is too large
	todo    []manifest.Entry // of these, what must be copied
	done    int64
	tell    func(Progress)
	out     *Outcome
}

// look learns what can be told about the drive before anything is written.
func (r *run) look(context.Context) error {
	info, err := os.Stat(r.drive)
	if err != nil || !info.IsDir() {
		return fault.Of(fault.Fault{File: r.drive, Text: "there is no such drive or folder", Hint: "plug the drive in and name the place where it shows up"})
	}
	if inside(r.cargo.Root, r.drive) {
		return fault.Of(fault.Fault{File: r.drive, Text: "this is inside the handover itself", Hint: "name a drive or a folder elsewhere"})
	}
	if r.facts, err = factsOf(r.drive); err != nil {
		return err
	}
	r.out.SameDisk = sameDisk(r.cargo.Root, r.drive)
	r.divide()
	return nil
}

// divide parts what the drive's file system can hold from what it can't.
func (r *run) divide() {
	for _, f := range r.cargo.Files {
		if r.facts.longest > 0 && f.Size > r.facts.longest {
			r.out.TooLarge = append(r.out.TooLarge, f.Name)
			continue
		}
		r.files = append(r.files, f)
	}
}

// open makes the folder, or takes up an earlier copy of ours, and sets up the
// note that the copy isn't finished.
func (r *run) open(context.Context) error {
	entries, err := os.ReadDir(r.folder)
	switch {
	case os.IsNotExist(err):
		if err := os.Mkdir(r.folder, 0o755); err != nil {
			return err
		}
	case err != nil:
		return err
	case len(entries) > 0 && !slices.ContainsFunc(entries, func(e os.DirEntry) bool {
		return e.Name() == ListName || e.Name() == NoteName || e.Name() == oldList
	}):
		return fault.Of(fault.Fault{File: r.folder, Text: "a folder of this name stands on the drive already and isn't a copy of a handover",
			Hint: "rename that folder, or choose another name with --as"})
	}
	if err := writeNote(filepath.Join(r.folder, NoteName)); err != nil {
		return err
	}
	current, old := filepath.Join(r.folder, ListName), filepath.Join(r.folder, oldList)
	if _, err := os.Lstat(current); err == nil {
		if err := os.Rename(current, old); err != nil {
			return err
		}
	}
	r.earlier, _ = readList(old) // an unreadable list only means that nothing of it is cleared away
	return nil
}

// keepProven reads back what an earlier try left under its final name.
func (r *run) keepProven(ctx context.Context) error {
	for _, f := range r.files {
		file := r.path(f.Name)
		info, err := os.Lstat(file)
		if err != nil || !info.Mode().IsRegular() || info.Size() != f.Size {
			r.todo = append(r.todo, f)
			continue
		}
		same, err := r.readBack(ctx, file, f)
		if err != nil {
			return err
		}
		if !same {
			r.done -= f.Size // it will be read back once more
			r.todo = append(r.todo, f)
			continue
		}
		r.done += f.Size // needn't be written
		r.out.Kept++
		r.out.Bytes += f.Size
	}
	return nil
}

// checkRoom is made once it is known what must be copied, still before the first
// byte of it.
func (r *run) checkRoom(context.Context) error {
	const perFile = 64 << 10 // the largest cluster in ordinary use, lost at each file's end
	need := int64(1 << 20)
	for _, f := range r.todo {
		need += f.Size + perFile
	}
	if r.facts.free >= need {
		return nil
	}
	if r.out.Kept == 0 {
		r.withdraw()
	}
	return fault.Of(fault.Fault{File: r.drive,
		Text: fmt.Sprintf("there is room for %s on the drive, and %s are to be copied", megabytes(r.facts.free), megabytes(need)),
		Hint: "make room on it or take a larger one"})
}

// withdraw takes back the note and the empty folder when nothing was copied.
func (r *run) withdraw() {
	if _, err := os.Lstat(filepath.Join(r.folder, oldList)); err == nil {
		_ = os.Rename(filepath.Join(r.folder, oldList), filepath.Join(r.folder, ListName))
	}
	_ = os.Remove(filepath.Join(r.folder, NoteName))
	_ = os.Remove(r.folder) // goes only when it is empty
}

func (r *run) path(name string) string { return filepath.Join(r.folder, filepath.FromSlash(name)) }

func (r *run) progress(step, name string, n int64) {
	r.done += n
	r.tell(Progress{Step: step, Name: name, Done: r.done, Total: 2 * r.cargo.Bytes()})
}

// inside tells whether p is root or lies below it.
func inside(root, p string) bool {
	root, err1 := filepath.EvalSymlinks(root)
	p, err2 := filepath.EvalSymlinks(p)
	if err1 != nil || err2 != nil {
		return false
	}
	rel, err := filepath.Rel(root, p)
	return err == nil && rel != ".." && !strings.HasPrefix(rel, ".."+string(filepath.Separator))
}

func checkFolderName(name string) error {
	bad := name == "" || name == "." || name == ".." || strings.ContainsAny(name, `/\:*?"<>|`) || strings.TrimRight(name, " .") != name
	if bad || strings.ContainsFunc(name, func(r rune) bool { return r < ' ' }) {
		return fault.Of(fault.Fault{Value: name, Text: "not every system can have a folder of this name", Hint: `leave out / \ : * ? " < > | and a point or blank at the end`})
	}
	return nil
}

func readList(file string) ([]manifest.Entry, error) {
	f, err := os.Open(file)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return manifest.ReadCoreutils(f, manifest.SHA256)
}

func megabytes(n int64) string {
	if n >= 10_000_000_000 {
		return fmt.Sprintf("%.1f GB", float64(n)/1e9)
	}
	return fmt.Sprintf("%.1f MB", float64(n)/1e6)
}
