package drive

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"os"
	"path"
	"slices"

	"pushcue/internal/manifest"
	"pushcue/internal/reach"
	"pushcue/internal/safefile"
	"pushcue/timeline/words"
)

// A batch is flushed and read back together: waiting for the device once for
// many small files is what makes a copy of stills bearable, and a bounded batch
// keeps little unproven when the drive is pulled out.
const (
	batchBytes = 256 << 20
	batchFiles = 100 // held open until they are flushed
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

// written is a file on the drive under its partial name, still open: the system
// tells what went wrong in writing it to whoever wrote it, and to nobody later.
type written struct {
	manifest.Entry
	to device
}

// copyBatch writes, flushes, reads back and names some files. When the drive fills
// up half-way, those that were written whole are brought to their end all the same.
func (r *run) copyBatch(ctx context.Context, batch []manifest.Entry) error {
	var begun []written
	defer func() {
		for _, w := range begun {
			w.to.Close()
		}
	}()
	var failed error
	for _, f := range batch {
		to, err := r.writePartial(ctx, f)
		if isTooLong(err) {
			r.leaveOut(f)
			continue
		}
		if err != nil {
			failed = err
			break
		}
		begun = append(begun, written{f, to})
	}
	if failed != nil && !isFull(failed) {
		return failed
	}
	for i, w := range begun {
		err := r.flush(w.to)
		if closing := w.to.Close(); err == nil {
			err = closing
		}
		if err != nil {
			return err
		}
		begun[i].to = closed{}
	}
	for _, w := range begun {
		if err := r.prove(ctx, w.Entry); err != nil {
			return err
		}
	}
	return failed
}

// prove reads a file back, and gives it its name when it is the same.
func (r *run) prove(ctx context.Context, f manifest.Entry) error {
	same, err := r.readBack(ctx, r.partial(f.Name), f)
	if err != nil {
		return err
	}
	if !same {
		_ = r.root.Remove(r.partial(f.Name))
		return &Unproven{Text: fmt.Sprintf("%q reads back from the drive differently from what was written", f.Name),
			Hint: "don't trust this drive: take another one"}
	}
	if err := r.root.Replace(r.partial(f.Name), f.Name); err != nil {
		return err
	}
	r.out.Copied++
	r.out.Bytes += f.Size
	return nil
}

// leaveOut takes a file off the list that the drive turned out unable to hold.
func (r *run) leaveOut(f manifest.Entry) {
	r.out.TooLarge = append(r.out.TooLarge, f.Name)
	r.files = slices.DeleteFunc(r.files, func(e manifest.Entry) bool { return e.Name == f.Name })
	r.total -= 2 * f.Size
}

// window is how many bytes are on their way to the device at a time; twice as many
// may wait in the system's memory.
const window = 4 << 20

type device interface {
	io.Writer
	Sync() error
	Close() error
}

// closed stands for a file that has been closed.
type closed struct{ device }

func (closed) Close() error { return nil }

// create opens a new file on the drive for writing; tests put failing devices here.
var create = func(root *safefile.Folder, file string) (device, error) {
	return root.OpenFile(file, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o644)
}

// writePartial copies one file under its partial name, and makes sure that what
// was read from the handover is what its list says.
func (r *run) writePartial(ctx context.Context, f manifest.Entry) (device, error) {
	if dir := path.Dir(f.Name); dir != "." {
		made, err := r.root.MakeFolder(dir)
		if err != nil {
			return nil, err
		}
		made.Close()
	}
	from, err := reach.Beneath(r.cargo.Root, f.Name, reach.AnySize)
	if err != nil { // no fault of the drive's
		return nil, &Unproven{Text: fmt.Sprintf("%q in the handover can't be read: %v", f.Name, cause(err)), Hint: "it isn't what it was when the handover was made: run `pushcue make` again"}
	}
	defer from.Close()
	to, err := create(r.root, r.partial(f.Name))
	if err != nil {
		return nil, err
	}
	begun := r.done
	sums, _, err := manifest.SumReader(ctx, io.TeeReader(from, underWay(to)), []manifest.Algorithm{manifest.SHA256}, func(n int) {
		r.progress(words.Tell("copying"), f.Name, int64(n))
	})
	if err == nil && sums[manifest.SHA256] != f.Sums[manifest.SHA256] {
		err = &Unproven{Text: fmt.Sprintf("%q in the handover isn't what its list of sums says", f.Name), Hint: "somebody changed it: run `pushcue make` again"}
	}
	if err != nil {
		r.done = begun
		to.Close()
		_ = r.root.Remove(r.partial(f.Name))
		return nil, err
	}
	return to, nil
}

// flush waits until the file has left the system's memory for the device, and
// asks that reading it back come from there.
func (r *run) flush(to device) error {
	if err := to.Sync(); err != nil {
		return err
	}
	if f, ok := to.(*os.File); ok && !safefile.DropCache(f) {
		r.out.Dropped = false
	}
	return nil
}

// readBack tells whether the file on the drive is the one that is wanted.
func (r *run) readBack(ctx context.Context, name string, want manifest.Entry) (bool, error) {
	f, err := r.root.Open(name)
	if err != nil {
		return false, err
	}
	defer f.Close()
	if !safefile.DropCache(f) {
		r.out.Dropped = false
	}
	sums, size, err := manifest.SumReader(ctx, f, []manifest.Algorithm{manifest.SHA256}, func(n int) {
		r.progress(words.Tell("reading back"), want.Name, int64(n))
	})
	return err == nil && size == want.Size && sums[manifest.SHA256] == want.Sums[manifest.SHA256], err
}

// finish writes the list of sums, last of all, and takes the note away.
func (r *run) finish(ctx context.Context) error {
	var text bytes.Buffer
	if err := manifest.WriteCoreutils(&text, manifest.SHA256, r.files); err != nil {
		return err
	}
	fresh := ListName + ".new." + r.mark + ".partial"
	if err := r.writeList(fresh, text.Bytes()); err != nil {
		return err
	}
	if back, err := r.root.ReadFile(fresh, int64(text.Len())); err != nil {
		return err
	} else if !bytes.Equal(back, text.Bytes()) {
		return &Unproven{Text: "the list of sums reads back from the drive differently from what was written", Hint: "don't trust this drive: take another one"}
	}
	if err := r.root.Replace(fresh, ListName); err != nil {
		return err
	}
	r.letGoOfNote()
	for _, name := range []string{r.oldListName(), NoteName} {
		if err := r.root.Remove(name); err != nil && !os.IsNotExist(err) {
			return err
		}
	}
	return flushFolder(r.out.Folder)
}

func (r *run) writeList(name string, text []byte) error {
	to, err := create(r.root, name)
	if err != nil {
		return err
	}
	_, err = to.Write(text)
	if err == nil {
		err = r.flush(to)
	}
	if closing := to.Close(); err == nil {
		err = closing
	}
	return err
}
