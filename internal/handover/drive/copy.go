package drive

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"syscall"

	"pushcue/internal/manifest"
	"pushcue/timeline/fault"
)

// partial is the end of a name whose bytes aren't proven yet.
const partial = ".partial"

// A batch is flushed and read back together: waiting for the device once for
// many small files is what makes a copy of stills bearable, and a bounded batch
// keeps little unproven when the drive is pulled out.
const (
	batchBytes = 256 << 20
	batchFiles = 200
)

func (r *run) copyAll(ctx context.Context) error {
	for len(r.todo) > 0 {
		n, bytes := 0, int64(0)
		for n < len(r.todo) && n < batchFiles && (n == 0 || bytes+r.todo[n].Size <= batchBytes) {
			bytes += r.todo[n].Size
			n++
		}
		if err := r.copyBatch(ctx, r.todo[:n]); err != nil {
			return err
		}
		r.todo = r.todo[n:]
	}
	return nil
}

func (r *run) copyBatch(ctx context.Context, batch []manifest.Entry) error {
	for _, f := range batch {
		if err := r.writePartial(ctx, f); err != nil {
			return err
		}
	}
	for _, f := range batch {
		if err := r.flush(r.path(f.Name) + partial); err != nil {
			return err
		}
	}
	for _, f := range batch {
		same, err := r.readBack(ctx, r.path(f.Name)+partial, f)
		if err != nil {
			return err
		}
		if !same {
			_ = os.Remove(r.path(f.Name) + partial)
			return &Unproven{Text: fmt.Sprintf("%q reads back from the drive differently from what was written", f.Name),
				Hint: "don't trust this drive: take another one"}
		}
		if err := os.Rename(r.path(f.Name)+partial, r.path(f.Name)); err != nil {
			return err
		}
		r.out.Copied++
		r.out.Bytes += f.Size
	}
	return nil
}

// create opens a file on the drive for writing; tests put failing devices here.
var create = func(file string) (device, error) {
	return os.OpenFile(file, os.O_CREATE|os.O_TRUNC|os.O_WRONLY, 0o644)
}

type device interface {
	io.Writer
	Sync() error
	Close() error
}

// writePartial copies one file under its partial name, and makes sure that what
// was read from the handover is what its list says.
func (r *run) writePartial(ctx context.Context, f manifest.Entry) error {
	to := r.path(f.Name) + partial
	if err := os.MkdirAll(filepath.Dir(to), 0o755); err != nil {
		return err
	}
	from, err := os.Open(filepath.Join(r.cargo.Root, filepath.FromSlash(f.Name)))
	if err != nil {
		return err
	}
	defer from.Close()
	out, err := create(to)
	if err != nil {
		return err
	}
	sums, _, err := manifest.SumReader(ctx, io.TeeReader(from, out), []manifest.Algorithm{manifest.SHA256}, func(n int) {
		r.progress("copying", f.Name, int64(n))
	})
	if err == nil && sums[manifest.SHA256] != f.Sums[manifest.SHA256] {
		err = &Unproven{Text: fmt.Sprintf("%q in the handover isn't what its list of sums says", f.Name), Hint: "somebody changed it: run `pushcue make` again"}
	}
	if closing := out.Close(); err == nil {
		err = closing
	}
	if err != nil {
		_ = os.Remove(to)
	}
	return err
}

// flush waits until the file has left the system's memory for the device, and
// asks that reading it back come from there.
func (r *run) flush(file string) error {
	f, err := os.OpenFile(file, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	err = f.Sync()
	if err == nil && !dropCache(f) {
		r.out.Dropped = false
	}
	if closing := f.Close(); err == nil {
		err = closing
	}
	return err
}

// readBack tells whether the file on the drive is the one that is wanted.
func (r *run) readBack(ctx context.Context, file string, want manifest.Entry) (bool, error) {
	f, err := os.Open(file)
	if err != nil {
		return false, err
	}
	defer f.Close()
	if !dropCache(f) {
		r.out.Dropped = false
	}
	sums, size, err := manifest.SumReader(ctx, f, []manifest.Algorithm{manifest.SHA256}, func(n int) {
		r.progress("reading back", want.Name, int64(n))
	})
	return err == nil && size == want.Size && sums[manifest.SHA256] == want.Sums[manifest.SHA256], err
}

// sweep clears what an earlier copy of ours left and the handover no longer
// holds, and finds what isn't ours.
func (r *run) sweep(ctx context.Context) error {
	wanted := map[string]bool{ListName: true, NoteName: true, oldList: true}
	for _, f := range r.files {
		wanted[f.Name] = true
	}
	ours := map[string]manifest.Entry{}
	for _, e := range r.earlier {
		ours[e.Name] = e
	}
	present, err := manifest.Walk(ctx, r.folder)
	if err != nil {
		return err
	}
	for _, name := range present {
		if wanted[name] {
			continue
		}
		file := r.path(name)
		if before, known := ours[name]; known {
			if sums, _, err := manifest.SumFile(ctx, file, []manifest.Algorithm{manifest.SHA256}, nil); err == nil && sums[manifest.SHA256] == before.Sums[manifest.SHA256] {
				if err := os.Remove(file); err != nil {
					return err
				}
				_ = os.Remove(filepath.Dir(file)) // goes only when it is empty
				continue
			}
		}
		if filepath.Ext(name) == partial && r.isCargo(name[:len(name)-len(partial)]) {
			if err := os.Remove(file); err != nil {
				return err
			}
			continue
		}
		r.out.Foreign = append(r.out.Foreign, name)
	}
	return nil
}

func (r *run) isCargo(name string) bool {
	for _, f := range r.cargo.Files {
		if f.Name == name {
			return true
		}
	}
	return false
}

// finish writes the list of sums, last of all, and takes the note away.
func (r *run) finish(ctx context.Context) error {
	var text bytes.Buffer
	if err := manifest.WriteCoreutils(&text, manifest.SHA256, r.files); err != nil {
		return err
	}
	list := filepath.Join(r.folder, ListName)
	if err := writeFlushed(list+partial, text.Bytes()); err != nil {
		return err
	}
	if err := r.flush(list + partial); err != nil {
		return err
	}
	if back, err := os.ReadFile(list + partial); err != nil {
		return err
	} else if !bytes.Equal(back, text.Bytes()) {
		return &Unproven{Text: "the list of sums reads back from the drive differently from what was written", Hint: "don't trust this drive: take another one"}
	}
	if err := os.Rename(list+partial, list); err != nil {
		return err
	}
	for _, name := range []string{oldList, NoteName} {
		if err := os.Remove(filepath.Join(r.folder, name)); err != nil && !os.IsNotExist(err) {
			return err
		}
	}
	return flushFolder(r.folder)
}

const note = "This copy isn't finished.\r\n\r\n" +
	"The drive was taken out, or filled up, while files were being copied to it.\r\n" +
	"Don't rely on what is in this folder: ask whoever gave you the drive to copy it again.\r\n"

func writeNote(file string) error { return writeFlushed(file, []byte(note)) }

func writeFlushed(file string, text []byte) error {
	f, err := create(file)
	if err != nil {
		return err
	}
	_, err = f.Write(text)
	if err == nil {
		err = f.Sync()
	}
	if closing := f.Close(); err == nil {
		err = closing
	}
	return err
}

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
	again := "; run the same command again: what was proven isn't copied again"
	switch {
	case isFull(err):
		return fault.Of(fault.Fault{File: r.drive, Text: fmt.Sprintf("the drive is full: %d of %d files stand proven on it, the copy isn't finished", r.out.Copied+r.out.Kept, len(r.files)),
			Hint: "make room on it or take a larger one" + again})
	case errors.Is(err, os.ErrPermission), errors.Is(err, syscall.EROFS):
		return fault.Of(fault.Fault{File: r.drive, Text: "the drive can't be written to", Hint: "look for a write-protect switch on it, or for your rights on this folder"})
	}
	return fault.Of(fault.Fault{File: r.drive, Text: fmt.Sprintf("the drive stopped answering (%v): %d of %d files stand proven on it, the copy isn't finished", cause(err), r.out.Copied+r.out.Kept, len(r.files)),
		Hint: "plug it in again" + again})
}

func cause(err error) error {
	var p *os.PathError
	if errors.As(err, &p) {
		return p.Err
	}
	return err
}
