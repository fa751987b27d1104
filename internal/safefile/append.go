package safefile

import (
	"context"
	"errors"
	"io"
	"io/fs"
	"os"
	"time"
)

// ErrBusy says that another program holds the file that was to be appended to.
var ErrBusy = errors.New("another program is writing to it")

// What Append does to the disk, so that tests can make it fail.
var (
	writeAt = (*os.File).WriteAt
	syncEnd = func(f *os.File) error { return fsync(f) }
)

// Append puts whole lines behind those of a file of lines, which it creates where
// there is none. When it returns nil they are on the disk; when it fails none of them
// is in the file, or, where even taking them back failed, a torn one is that the next
// Append closes with a line end. Programs that append at the same time take turns;
// ErrBusy where one doesn't end within a few seconds. lines must end with a line end.
func (f *Folder) Append(ctx context.Context, name string, lines []byte) error {
	path := f.At(name)
	_, err := f.Lstat(name)
	isNew := errors.Is(err, fs.ErrNotExist)
	file, err := f.openFile(name, os.O_RDWR|os.O_CREATE, 0o666)
	if err != nil {
		return cause(path, err)
	}
	err = appendTo(ctx, file, lines)
	if closed := file.Close(); err == nil {
		err = closed
	}
	if err == nil && isNew {
		var dir *os.Root
		if dir, _, err = f.parent(name, false); err == nil {
			err = syncDir(dir)
			dir.Close()
		}
	}
	return cause(path, err)
}

func appendTo(ctx context.Context, f *os.File, lines []byte) error {
	if err := takeTurn(ctx, f); err != nil {
		return err
	}
	info, err := f.Stat()
	if err != nil {
		return err
	}
	end := info.Size()
	if end > 0 {
		last := make([]byte, 1)
		if _, err := f.ReadAt(last, end-1); err != nil && err != io.EOF {
			return err
		}
		if last[0] != '\n' { // the power went in the middle of a line
			lines = append([]byte{'\n'}, lines...)
		}
	}
	if err = step("append", f.Name()); err == nil {
		_, err = writeAt(f, lines, end)
	}
	if err == nil {
		if err = syncEnd(f); err == nil || unsupported(err) {
			return nil
		}
	}
	// Nothing half stays: whoever reads next would take it for a correction.
	_ = f.Truncate(end)
	_ = f.Sync()
	return err
}

// takeTurn locks f until it is closed. A disk that knows no locks leaves programs to
// their luck.
func takeTurn(ctx context.Context, f *os.File) error {
	const patience, between = 3 * time.Second, 5 * time.Millisecond
	limit := time.NewTimer(patience)
	defer limit.Stop()
	for {
		if taken, err := Lock(f, true); taken || err != nil {
			return nil
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-limit.C:
			return ErrBusy
		case <-time.After(between):
		}
	}
}
