package manifest

import (
	"cmp"
	"context"
	"encoding/hex"
	"errors"
	"hash"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"sync"

	"pushcue/internal/crew"
	"pushcue/internal/reach"
)

// Progress is told how many bytes were read since it was last called, and of
// which file. It may be called from several goroutines at once.
type Progress func(name string, bytes int)

// Sum reads the named files below root and returns an entry for each, in the
// order of names. Files are read side by side, one a processor.
func Sum(ctx context.Context, root string, names []string, algorithms []Algorithm, progress Progress) ([]Entry, error) {
	list := make([]Entry, len(names))
	err := each(ctx, root, names, func(ctx context.Context, i int) error {
		sums, size, err := SumFile(ctx, root, names[i], algorithms, func(n int) {
			if progress != nil {
				progress(names[i], n)
			}
		})
		list[i] = Entry{Name: names[i], Size: size, Sums: sums}
		return err
	})
	if err != nil {
		return nil, err
	}
	return list, nil
}

// SumFile reads one file below root, to which no link may lead, and returns its sums and
// its length in bytes.
func SumFile(ctx context.Context, root, name string, algorithms []Algorithm, read func(bytes int)) (map[Algorithm]string, int64, error) {
	f, err := reach.Beneath(root, name, reach.AnySize)
	if err != nil {
		return nil, 0, err
	}
	defer f.Close()
	return SumReader(ctx, f, algorithms, read)
}

// SumReader is SumFile for an open file.
func SumReader(ctx context.Context, r io.Reader, algorithms []Algorithm, read func(bytes int)) (map[Algorithm]string, int64, error) {
	hashes := make([]hash.Hash, len(algorithms))
	for i, a := range algorithms {
		h, err := a.New()
		if err != nil {
			return nil, 0, err
		}
		hashes[i] = h
	}
	buffer := buffers.Get().(*[]byte)
	defer buffers.Put(buffer)
	var size int64
	for {
		if err := ctx.Err(); err != nil {
			return nil, size, err
		}
		n, err := r.Read(*buffer)
		for _, h := range hashes {
			h.Write((*buffer)[:n]) // a hash never fails to take bytes
		}
		size += int64(n)
		if read != nil && n > 0 {
			read(n)
		}
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, size, err
		}
	}
	sums := make(map[Algorithm]string, len(hashes))
	for i, a := range algorithms {
		sums[a] = hex.EncodeToString(hashes[i].Sum(nil))
	}
	return sums, size, nil
}

// buffers are large enough that the cost of a system call vanishes beside the sum.
var buffers = sync.Pool{New: func() any { b := make([]byte, 256<<10); return &b }}

// each has one hand a processor at the files below root. The longest come first, so
// that no hand is left alone with one at the end.
func each(ctx context.Context, root string, names []string, do func(ctx context.Context, i int) error) error {
	sizes, order := make([]int64, len(names)), make([]int, len(names))
	for i, name := range names {
		order[i] = i
		if info, err := os.Lstat(filepath.Join(root, filepath.FromSlash(name))); err == nil {
			sizes[i] = info.Size()
		}
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(sizes[b], sizes[a]) })
	return crew.Each(ctx, len(names), runtime.GOMAXPROCS(0), func(ctx context.Context, i int) error { return do(ctx, order[i]) })
}
