package bag

import (
	"archive/tar"
	"archive/zip"
	"bufio"
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"iter"
	"maps"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"pushcue/internal/manifest"
	"pushcue/internal/reach"
	"pushcue/timeline/fault"
	"pushcue/timeline/words"
)

// contents is a bag as it was read.
type contents struct {
	present map[string]manifest.Found
	tags    map[string][]byte // texts at the top of the bag
	faults  []string          // what was wrong with the container itself
	top     string            // the folder that everything in an archive lies in
	sums    []manifest.Algorithm

	noPayload bool // a folder without a folder data in it
}

// choose sets which sums are made of each file: those that the lists among names hold.
func (c *contents) choose(names iter.Seq[string]) {
	wanted := map[manifest.Algorithm]bool{manifest.SHA512: true} // the seal's
	for name := range names {
		for _, prefix := range []string{"manifest-", "tagmanifest-"} {
			if a, isList := manifestAlgorithm(path.Base(name), prefix); isList && a.HexLen() > 0 {
				wanted[a] = true
			}
		}
	}
	c.sums = slices.Sorted(maps.Keys(wanted))
}

// longestTag bounds what is held in memory of a bag's own notes: a list of sums
// of 100,000 files is about 20 MB.
const longestTag = 64 << 20

func read(ctx context.Context, target string, progress manifest.Progress) (*contents, error) {
	info, err := os.Stat(target)
	if err != nil {
		return nil, fault.Of(fault.Fault{File: target, Text: words.Tell("there is no such file or folder"), Hint: words.Tell("name a bag: a folder, a .tar or a .zip")})
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
	return nil, fault.Of(fault.Fault{File: target, Text: words.Tell("isn't a bag"), Hint: words.Tell("a bag is a folder, a .tar or a .zip")})
}

func (c *contents) readFolder(ctx context.Context, root string, progress manifest.Progress) error {
	names, err := manifest.Walk(ctx, root)
	if err != nil {
		return err
	}
	payload, err := os.Lstat(filepath.Join(root, strings.TrimSuffix(payloadDir, "/")))
	c.noPayload = err != nil || !payload.IsDir()
	c.choose(slices.Values(names))
	if c.present, err = manifest.Look(ctx, root, names, c.sums, progress); err != nil {
		return err
	}
	for _, name := range names {
		if isTopText(name) && !c.present[name].Odd && c.present[name].Size <= longestTag {
			if c.tags[name], err = reach.ReadBeneath(root, name, longestTag); err != nil {
				return err
			}
		}
	}
	return nil
}

func (c *contents) readTar(ctx context.Context, target string, progress manifest.Progress) error {
	f, err := reach.Open(target, reach.AnySize)
	if err != nil {
		return err
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return err
	}
	limit := claims{archive: info.Size()}
	c.choose(tarNames(f))
	if _, err := f.Seek(0, io.SeekStart); err != nil {
		return err
	}
	in := tar.NewReader(f)
	for {
		header, err := in.Next()
		if errors.Is(err, io.EOF) {
			return c.nothingBehind(f)
		}
		if err != nil {
			c.faults = append(c.faults, fmt.Sprintf("the archive is damaged or cut short: %v", err))
			return ctx.Err()
		}
		if err := limit.add(header.Name, header.Size); err != nil {
			return err
		}
		if header.Typeflag == tar.TypeDir {
			continue
		}
		if err := c.take(ctx, header.Name, header.Typeflag == tar.TypeReg, in, progress); err != nil {
			return err
		}
	}
}

// tarNames are the names in a .tar, as far as it can be read; the files between them are
// leapt over.
func tarNames(f io.ReadSeeker) iter.Seq[string] {
	return func(yield func(string) bool) {
		in := tar.NewReader(f)
		for header, err := in.Next(); err == nil && yield(header.Name); header, err = in.Next() {
		}
	}
}

// nothingBehind reports bytes behind the end of a .tar, which may be padded with
// zeros only.
func (c *contents) nothingBehind(f io.Reader) error {
	for in := bufio.NewReader(f); ; {
		b, err := in.ReadByte()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
		if b != 0 {
			c.faults = append(c.faults, "something was put behind the archive's end")
			return nil
		}
	}
}

func (c *contents) readZip(ctx context.Context, target string, progress manifest.Progress) error {
	file, err := reach.Open(target, reach.AnySize)
	if err != nil {
		return err
	}
	defer file.Close()
	info, err := file.Stat()
	if err != nil {
		return err
	}
	in, err := zip.NewReader(file, info.Size())
	if err != nil {
		return refusal(fmt.Sprintf("the archive is damaged or cut short: %v", err))
	}
	limit := claims{archive: info.Size(), times: 1100}
	for _, f := range in.File {
		if err := limit.add(f.Name, int64(min(f.UncompressedSize64, 1<<60))); err != nil {
			return err
		}
	}
	c.choose(func(yield func(string) bool) {
		for _, f := range in.File {
			if !yield(f.Name) {
				return
			}
		}
	})
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
	whole := io.LimitReader(r, int64(min(f.UncompressedSize64, 1<<60))+1)
	return c.take(ctx, f.Name, f.Mode().IsRegular(), whole, progress)
}

// take reads one file of an archive. Its name loses the bag's own folder: the one
// that everything in the archive lies in, so that unpacking it scatters nothing.
// (RFC 8493 leaves single-file forms open; its forerunner 0.97 asked for this.)
func (c *contents) take(ctx context.Context, full string, plain bool, r io.Reader, progress manifest.Progress) error {
	if err := manifest.CheckName(strings.TrimPrefix(full, "./")); err != nil {
		return refusal(fmt.Sprintf("it holds %q, which unpacking might write outside its folder: don't unpack it", full))
	}
	top, name, inFolder := strings.Cut(strings.TrimPrefix(full, "./"), "/")
	if c.top == "" {
		c.top = top
	}
	if !inFolder || top != c.top {
		c.faults = append(c.faults, fmt.Sprintf("%q stands beside the bag's folder in the archive", full))
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
	sums, size, err := manifest.SumReader(ctx, r, c.sums, func(n int) { progress(name, n) })
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

// A refusal is why an archive isn't read any further.
type refusal string

func (r refusal) Error() string { return string(r) }

// claims adds up how much an archive says that it holds. One that unpacks to far more
// than it is long is made to fill disks. A .tar isn't packed; in a .zip the usual way
// of packing gains a factor of 1,032 at most (RFC 1951: two bits for 258 bytes).
type claims struct {
	archive, times, sum int64
}

func (c *claims) add(name string, size int64) error {
	const slack = 1 << 20
	c.sum += min(size, 1<<60)
	if size < 0 || c.sum < 0 || c.sum-slack > c.archive*max(c.times, 1) {
		return refusal(fmt.Sprintf("it is %d bytes long and claims to hold far more (at %q): don't unpack it", c.archive, name))
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
