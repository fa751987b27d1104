package bag

import (
	"archive/tar"
	"archive/zip"
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"pushcue/internal/manifest"
	"pushcue/timeline/fault"
)

// contents is a bag as it was read.
type contents struct {
	present map[string]manifest.Found
	tags    map[string][]byte // texts at the top of the bag
	faults  []string          // what was wrong with the container itself
}

// longestTag bounds what is held in memory of a bag's own notes: a list of sums
// of 100,000 files is about 20 MB.
const longestTag = 64 << 20

func read(ctx context.Context, target string, progress manifest.Progress) (*contents, error) {
	info, err := os.Stat(target)
	if err != nil {
		return nil, fault.Of(fault.Fault{File: target, Text: "there is no such file or folder", Hint: "name a bag: a folder, a .tar or a .zip"})
	}
	c := &contents{present: map[string]manifest.Found{}, tags: map[string][]byte{}}
	switch {
	case info.IsDir():
		return c, c.readFolder(ctx, target, progress)
	case FormOf(target) == Tar:
		return c, c.readTar(ctx, target, progress)
	case FormOf(target) == Zip:
		return c, c.readZip(ctx, target, progress)
	}
	return nil, fault.Of(fault.Fault{File: target, Text: "isn't a bag", Hint: "a bag is a folder, a .tar or a .zip"})
}

func (c *contents) readFolder(ctx context.Context, root string, progress manifest.Progress) error {
	names, err := manifest.Walk(ctx, root)
	if err != nil {
		return err
	}
	if c.present, err = manifest.Look(ctx, root, names, algorithms, progress); err != nil {
		return err
	}
	for _, name := range names {
		if isTopText(name) && !c.present[name].Odd && c.present[name].Size <= longestTag {
			if c.tags[name], err = os.ReadFile(filepath.Join(root, name)); err != nil {
				return err
			}
		}
	}
	return nil
}

func (c *contents) readTar(ctx context.Context, target string, progress manifest.Progress) error {
	f, err := os.Open(target)
	if err != nil {
		return err
	}
	defer f.Close()
	in := tar.NewReader(f)
	for {
		header, err := in.Next()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			c.faults = append(c.faults, fmt.Sprintf("the archive is damaged or cut short: %v", err))
			return ctx.Err()
		}
		if header.Typeflag == tar.TypeDir {
			continue
		}
		if err := c.take(ctx, header.Name, header.Typeflag == tar.TypeReg, in, progress); err != nil {
			return err
		}
	}
}

func (c *contents) readZip(ctx context.Context, target string, progress manifest.Progress) error {
	in, err := zip.OpenReader(target)
	if err != nil {
		c.faults = append(c.faults, fmt.Sprintf("the archive is damaged or cut short: %v", err))
		return nil
	}
	defer in.Close()
	for _, f := range in.File {
		if f.FileInfo().IsDir() {
			continue
		}
		if err := c.takeZipped(ctx, f, progress); err != nil {
			return err
		}
	}
	return nil
}

func (c *contents) takeZipped(ctx context.Context, f *zip.File, progress manifest.Progress) error {
	r, err := f.Open()
	if err != nil {
		c.faults = append(c.faults, fmt.Sprintf("%q can't be unpacked: %v", f.Name, err))
		return nil
	}
	defer r.Close()
	return c.take(ctx, f.Name, f.Mode().IsRegular(), r, progress)
}

// take reads one file of an archive. Its name loses the bag's own folder (RFC 8493
// section 4: one folder, named as the bag).
func (c *contents) take(ctx context.Context, full string, plain bool, r io.Reader, progress manifest.Progress) error {
	_, name, inFolder := strings.Cut(strings.TrimPrefix(full, "./"), "/")
	if !inFolder {
		c.faults = append(c.faults, fmt.Sprintf("%q stands beside the bag's folder in the archive", full))
		return nil
	}
	if err := manifest.CheckName(name); err != nil {
		c.faults = append(c.faults, err.Error())
		return nil
	}
	if _, twice := c.present[name]; twice {
		c.faults = append(c.faults, fmt.Sprintf("%q stands in the archive twice", name))
		return nil
	}
	if !plain {
		c.present[name] = manifest.Found{Size: -1, Odd: true}
		return nil
	}
	var text bytes.Buffer
	if isTopText(name) {
		r = io.TeeReader(r, &bounded{&text, longestTag})
	}
	sums, size, err := manifest.SumReader(ctx, r, algorithms, func(n int) { progress(name, n) })
	if ctx.Err() != nil {
		return ctx.Err()
	}
	if err != nil {
		c.present[name] = manifest.Found{Size: -1, Unreadable: err.Error()}
		return nil
	}
	c.present[name] = manifest.Found{Size: size, Sums: sums}
	if isTopText(name) {
		c.tags[name] = text.Bytes()
	}
	return nil
}

// bounded keeps the first bytes written to it and lets the rest go.
type bounded struct {
	to   *bytes.Buffer
	left int
}

func (b *bounded) Write(p []byte) (int, error) {
	n := min(len(p), b.left)
	b.left -= n
	b.to.Write(p[:n])
	return len(p), nil
}

func isTopText(name string) bool {
	return !strings.Contains(name, "/") && strings.HasSuffix(name, ".txt")
}
