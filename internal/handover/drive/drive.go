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
	"errors"
	"os"
	"path/filepath"

	"pushcue/internal/manifest"
	"pushcue/internal/reach"
	"pushcue/internal/safefile"
	"pushcue/timeline/fault"
	"pushcue/timeline/words"
)

// ListName is the list of sums, written last: without it no copy is finished.
const ListName = "SHA256SUMS"

// A Cargo is what goes onto a drive.
type Cargo struct {
	Root   string           // the handover folder
	Folder string           // the one folder made for it on the drive
	Files  []manifest.Entry // each with its length and SHA-256, without the list itself
	Own    []string         // folders besides Root that aren't a place for a copy: the job's
}

// Load reads a finished handover's list of sums. A handover without one isn't
// finished, which is a fault; so is a name that not every drive can hold.
func Load(ctx context.Context, root, folder string) (*Cargo, error) {
	if !fitsAnywhere(folder) {
		return nil, fault.Of(fault.Fault{Value: folder, Text: words.Tell("not every system can have a folder of this name"), Hint: words.Tell(`leave out / \ : * ? " < > | and a point or blank at the end`)})
	}
	list, err := readList(root, ListName)
	if errors.Is(err, os.ErrNotExist) {
		return nil, fault.Of(fault.Fault{File: root, Text: words.Tell("this handover isn't finished: it has no list of sums yet"), Hint: words.Tell("run `pushcue make` first")})
	}
	if err != nil {
		return nil, fault.Of(fault.Fault{File: filepath.Join(root, ListName), Text: words.Of(err), Hint: words.Tell("run `pushcue make` again to write it anew")})
	}
	for i := range list {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		if err := checkName(list[i].Name); err != nil {
			return nil, err
		}
		info, err := os.Lstat(filepath.Join(root, filepath.FromSlash(list[i].Name)))
		if err != nil || !info.Mode().IsRegular() {
			return nil, fault.Of(fault.Fault{File: list[i].Name, Text: words.Tell("the handover's list of sums names this file, but it isn't there"), Hint: words.Tell("run `pushcue make` again")})
		}
		list[i].Size = info.Size()
	}
	return &Cargo{Root: root, Folder: folder, Files: list}, nil
}

// An Outcome is what a copy came to.
type Outcome struct {
	Drive    string
	Label    string   // of the drive's file system, as far as the system tells
	Serial   string   // likewise
	Folder   string   // full path of the folder on the drive
	Copied   int      // files copied in this run
	Kept     int      // files that an earlier run had copied, read back and found the same
	Bytes    int64    // of all files that stand proven on the drive
	TooLarge []string // left out: the drive's file system can't hold a file that long
	FAT32    bool     // what the drive is formatted as, where that can be told
	Foreign  []string // stand in the folder but aren't ours, or were changed: left alone
	SameDisk bool     // the drive is the disk that the job lies on: no second copy
	Dropped  bool     // what was read back came from the device, not from the system's memory
}

// Progress tells how far a copy is. Done and Total count each byte twice: once
// written, once read back.
type Progress struct {
	Step  words.Sentence // copying or reading back
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
// drive but the cargo's folder is touched, and in it nothing but what is ours.
func Copy(ctx context.Context, c *Cargo, drive string, progress func(Progress)) (*Outcome, error) {
	if progress == nil {
		progress = func(Progress) {}
	}
	r := &run{cargo: c, drive: drive, tell: progress,
		out: &Outcome{Drive: drive, Folder: filepath.Join(drive, c.Folder), Dropped: true}}
	defer r.close()
	for _, step := range []func(context.Context) error{
		r.look, r.open, r.clearLeftovers, r.keepProven, r.checkRoom, r.copyAll, r.sweep, r.finish,
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
	root    *safefile.Folder // the folder on the drive: nothing is reached but through it
	made    bool             // the folder wasn't there before
	note    *os.File         // held while the copy is under way
	mark    string           // in the names of our partial files
	longest int64            // the longest file the drive can hold; 0 where there is no limit
	earlier []manifest.Entry // what an earlier copy's list names
	files   []manifest.Entry // what shall stand there: the cargo without what is too large
	todo    []manifest.Entry // of these, what must be copied
	done    int64
	total   int64
	tell    func(Progress)
	out     *Outcome
}

// look learns what can be told about the drive before anything is written.
func (r *run) look(context.Context) error {
	info, err := os.Stat(r.drive)
	if err != nil || !info.IsDir() {
		return fault.Of(fault.Fault{File: r.drive, Text: words.Tell("there is no such drive or folder"), Hint: words.Tell("plug the drive in and name the place where it shows up")})
	}
	for _, own := range append([]string{r.cargo.Root}, r.cargo.Own...) {
		if reach.Within(own, r.drive) {
			return fault.Of(fault.Fault{File: r.drive, Text: words.Tell("this lies in the job's own folder, and a copy there is none"), Hint: words.Tell("name a drive or a folder elsewhere")})
		}
	}
	facts, err := factsOf(r.drive)
	if err != nil {
		return err
	}
	r.longest, r.out.FAT32 = facts.longest, facts.longest == fat32
	r.out.SameDisk = sameDisk(r.cargo.Root, r.drive)
	r.out.Label, r.out.Serial = nameOf(r.drive)
	r.divide()
	return nil
}

// divide parts what the drive's file system can hold from what it can't.
func (r *run) divide() {
	for _, f := range r.cargo.Files {
		if r.longest > 0 && f.Size > r.longest {
			r.out.TooLarge = append(r.out.TooLarge, f.Name)
			continue
		}
		r.files = append(r.files, f)
		r.total += 2 * f.Size
	}
}

// keepProven reads back what an earlier try left under its final name.
func (r *run) keepProven(ctx context.Context) error {
	for _, f := range r.files {
		info, err := r.root.Lstat(f.Name)
		if err != nil || !info.Mode().IsRegular() || info.Size() != f.Size {
			r.todo = append(r.todo, f)
			continue
		}
		same, err := r.readBack(ctx, f.Name, f)
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
// byte of it. Where room is short, what an earlier copy of ours left and the
// handover no longer holds goes first.
func (r *run) checkRoom(ctx context.Context) error {
	const perFile = 64 << 10 // the largest cluster in ordinary use, lost at each file's end
	need := int64(1 << 20)
	for _, f := range r.todo {
		need += f.Size + perFile
	}
	cleared := 0
	for {
		facts, err := factsOf(r.drive)
		if err != nil {
			return err
		}
		if facts.free < 0 || facts.free >= need {
			return nil
		}
		n, err := r.clearStale(ctx)
		if err != nil {
			return err
		}
		if cleared += n; n > 0 {
			continue
		}
		if cleared == 0 {
			r.withdraw()
		}
		return fault.Of(fault.Fault{File: r.drive,
			Text: words.Tell("there is room for %s on the drive, and %s are to be copied", megabytes(facts.free), megabytes(need)),
			Hint: words.Tell("make room on it or take a larger one")})
	}
}

func (r *run) progress(step words.Sentence, name string, n int64) {
	r.done += n
	r.tell(Progress{Step: step, Name: name, Done: r.done, Total: r.total})
}

// readList reads a list of sums in a folder. It has a line of some 100 bytes a file.
func readList(dir, name string) ([]manifest.Entry, error) {
	const most = 64 << 20
	f, err := reach.Beneath(dir, name, most)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return manifest.ReadCoreutils(f, manifest.SHA256)
}

func megabytes(n int64) words.Sentence {
	if n >= 10_000_000_000 {
		return words.Plain("%.1f GB", float64(n)/1e9)
	}
	return words.Plain("%.1f MB", float64(n)/1e6)
}
