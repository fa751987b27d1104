package bag

import (
	"archive/tar"
	"archive/zip"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path"
	"time"

	"pushcue/internal/manifest"
	"pushcue/internal/safefile"
)

// A container takes a bag's files one after the other.
type container interface {
	// put stores exactly size bytes under the name and returns their sums.
	put(ctx context.Context, name string, r io.Reader, size int64, read func(int)) (manifest.Entry, error)
	close() error
}

// create starts a container in dir, where nothing stands at target yet. name is the
// folder that an archive unpacks into.
func create(dir *safefile.Folder, target, name string) (container, error) {
	form := FormOf(target)
	if form == Folder {
		made, err := dir.MakeFolder(target)
		if err != nil {
			return nil, err
		}
		return folder{made}, nil
	}
	f, err := dir.OpenFile(target, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o644)
	if err != nil {
		return nil, err
	}
	if form == Tar {
		return &tarball{f, tar.NewWriter(f), name, now()}, nil
	}
	return &zipball{f, zip.NewWriter(f), name, now()}, nil
}

// pour copies size bytes to w and sums them; a file that grew or shrank while it
// was read is an error.
func pour(ctx context.Context, w io.Writer, name string, r io.Reader, size int64, read func(int)) (manifest.Entry, error) {
	sums, n, err := manifest.SumReader(ctx, io.TeeReader(io.LimitReader(r, size+1), w), algorithms, read)
	if err == nil && n != size {
		err = fmt.Errorf("%q changed while it was read", name)
	}
	return manifest.Entry{Name: name, Size: size, Sums: sums}, err
}

type folder struct{ at *safefile.Folder }

func (d folder) put(ctx context.Context, name string, r io.Reader, size int64, read func(int)) (manifest.Entry, error) {
	if err := d.make(path.Dir(name)); err != nil {
		return manifest.Entry{}, err
	}
	f, err := d.at.OpenFile(name, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o644)
	if err != nil {
		return manifest.Entry{}, err
	}
	e, err := pour(ctx, f, name, r, size, read)
	if err == nil {
		err = f.Sync()
		safefile.DropCache(f) // what is read back should come from the disk
	}
	if closing := f.Close(); err == nil {
		err = closing
	}
	return e, err
}

// close has nothing left to do, but for the payload folder, which a bag must have
// even when it holds nothing (RFC 8493 section 2.1.2).
func (d folder) close() error {
	return errors.Join(d.make("data"), d.at.Close())
}

func (d folder) make(name string) error {
	if name == "." {
		return nil
	}
	made, err := d.at.MakeFolder(name)
	if err != nil {
		return err
	}
	return made.Close()
}

type tarball struct {
	file  *os.File
	tar   *tar.Writer
	name  string
	stamp time.Time
}

func (t *tarball) put(ctx context.Context, name string, r io.Reader, size int64, read func(int)) (manifest.Entry, error) {
	header := &tar.Header{Name: path.Join(t.name, name), Size: size, Mode: 0o644, ModTime: t.stamp.Truncate(time.Second), Format: tar.FormatPAX}
	if err := t.tar.WriteHeader(header); err != nil {
		return manifest.Entry{}, err
	}
	return pour(ctx, t.tar, name, r, size, read)
}

func (t *tarball) close() error { return closeFile(t.tar, t.file) }

type zipball struct {
	file  *os.File
	zip   *zip.Writer
	name  string
	stamp time.Time
}

// put stores without packing: recordings and pictures are packed already.
func (z *zipball) put(ctx context.Context, name string, r io.Reader, size int64, read func(int)) (manifest.Entry, error) {
	w, err := z.zip.CreateHeader(&zip.FileHeader{Name: path.Join(z.name, name), Method: zip.Store, Modified: z.stamp})
	if err != nil {
		return manifest.Entry{}, err
	}
	return pour(ctx, w, name, r, size, read)
}

func (z *zipball) close() error { return closeFile(z.zip, z.file) }

func closeFile(archive io.Closer, f *os.File) error {
	err := archive.Close()
	if err == nil {
		err = f.Sync()
		safefile.DropCache(f) // what is read back should come from the disk
	}
	if closing := f.Close(); err == nil {
		err = closing
	}
	return err
}
