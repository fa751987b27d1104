// Package safefile writes files whole or not at all: a temporary file beside the
// final name, synced and closed, then renamed.
//
//	err := safefile.Write("handover/log.csv", func(w io.Writer) error {
//		return aligned.WriteTo(w)
//	})
//
// Whoever looks at the final name, however the program or the computer stopped, sees
// the old content or the new, never a part. It doesn't promise that a disk keeps
// what it said it had written, nor that file systems without hard links and without
// a rename that refuses to replace (some network drives) keep two programs that
// create the same new file at the same moment apart.
package safefile

import (
	"io"
)

// Write puts what write produces in the file at path, which it creates or replaces.
// Nothing changes when write fails. The folder must exist.
func Write(path string, write func(io.Writer) error) error {
	return produce(path, write, (*File).Commit)
}

// WriteBytes is Write for bytes at hand.
func WriteBytes(path string, b []byte) error {
	return Write(path, bytesWriter(b))
}

// WriteNew is Write for a file that mustn't exist yet; the error is fs.ErrExist when
// it does.
func WriteNew(path string, write func(io.Writer) error) error {
	return produce(path, write, (*File).CommitNew)
}

// CreateNew is WriteNew for bytes at hand.
func CreateNew(path string, b []byte) error {
	return WriteNew(path, bytesWriter(b))
}

func bytesWriter(b []byte) func(io.Writer) error {
	return func(w io.Writer) error {
		_, err := w.Write(b)
		return err
	}
}

func produce(path string, write func(io.Writer) error, commit func(*File) error) error {
	f, err := Create(path)
	if err != nil {
		return err
	}
	defer f.Abort() // also when write panics
	if err := write(f); err != nil {
		return err
	}
	return commit(f)
}
