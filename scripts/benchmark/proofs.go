package main

import (
	"context"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"time"

	"pushcue/internal/handover/bag"
	"pushcue/internal/manifest"
)

// A hoard is 2 GB that nobody can guess, laid out as handovers are: two long
// recordings, and many small files.
type hoard struct {
	folder  string   // a handover with its list of sums
	archive string   // a bag of the same
	names   []string // of the files in folder, without the list
	sizes   []int64
}

var hoardFiles = []struct {
	name  string
	count int
	size  int64
}{
	{"as-filmed/push%d.mp4", 1, 800e6},
	{"video/captioned%d.mp4", 1, 700e6},
	{"clips/finding%d.mp4", 40, 7e6},
	{"stills/picture%d.jpg", 2000, 110e3},
	{"timeline.json", 1, 2},
}

// hoard makes it, or takes what an earlier run left.
func (b *bench) hoard(ctx context.Context) (*hoard, error) {
	h := &hoard{folder: filepath.Join(b.work, "hoard", "handover"), archive: filepath.Join(b.work, "hoard", "archive")}
	for _, f := range hoardFiles {
		for i := range f.count {
			name := f.name
			if f.count > 1 || f.size > 2 {
				name = fmt.Sprintf(f.name, i)
			}
			h.names, h.sizes = append(h.names, name), append(h.sizes, f.size)
		}
	}
	if _, err := os.Stat(filepath.Join(h.archive, "bagit.txt")); err == nil {
		return h, nil
	}
	if err := os.RemoveAll(filepath.Dir(h.folder)); err != nil {
		return nil, err
	}
	fmt.Fprintln(os.Stderr, "filling", h.folder)
	if err := h.fill(); err != nil {
		return nil, err
	}
	return h, h.list(ctx)
}

// fill writes the files.
func (h *hoard) fill() error {
	random := rand.NewChaCha8([32]byte{1})
	for i, name := range h.names {
		path := filepath.Join(h.folder, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			return err
		}
		if name == "timeline.json" {
			if err := os.WriteFile(path, []byte("{}"), 0o644); err != nil {
				return err
			}
			continue
		}
		f, err := os.Create(path)
		if err != nil {
			return err
		}
		_, err = io.CopyN(f, random, h.sizes[i])
		if closing := f.Close(); err == nil {
			err = closing
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// list writes the handover's list of sums, and archives it all.
func (h *hoard) list(ctx context.Context) error {
	entries, err := manifest.Sum(ctx, h.folder, h.names, []manifest.Algorithm{manifest.SHA256}, nil)
	if err != nil {
		return err
	}
	f, err := os.Create(filepath.Join(h.folder, "SHA256SUMS"))
	if err != nil {
		return err
	}
	defer f.Close()
	if err := manifest.WriteCoreutils(f, manifest.SHA256, entries); err != nil {
		return err
	}
	payload := make([]bag.File, len(h.names))
	for i, name := range h.names {
		payload[i] = bag.File{Path: filepath.Join(h.folder, filepath.FromSlash(name)), Name: name}
	}
	_, err = bag.Write(ctx, h.archive, payload, nil, nil)
	return err
}

// sums has openssl take one sum of every file below root, on as many processors
// as we use, none of them with more to read than it must.
func (h *hoard) sums(ctx context.Context, root, algorithm string) (usage, error) {
	order := make([]int, len(h.names))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return int(h.sizes[b] - h.sizes[a]) })
	calls := make([][]string, runtime.GOMAXPROCS(0))
	loads := make([]int64, len(calls))
	for i := range calls {
		calls[i] = []string{"dgst", "-" + algorithm}
	}
	for _, i := range order {
		least := slices.Index(loads, slices.Min(loads))
		calls[least] = append(calls[least], filepath.FromSlash(h.names[i]))
		loads[least] += h.sizes[i]
	}
	return together(ctx, root, "openssl", calls)
}

// verifyRow: reading 2 GB again, against openssl taking the same sums.
func verifyRow(ctx context.Context, b *bench) ([]result, error) {
	h, err := b.hoard(ctx)
	if err != nil {
		return nil, err
	}
	const most = 1.1
	var results []result
	row := func(what, place, root string, algorithms ...string) error {
		mine, bare, err := inTurn(b.rounds,
			func() (usage, error) { return measure(ctx, b.work, nil, b.pushcue, "verify", "--quiet", place) },
			func() (all usage, err error) {
				for _, a := range algorithms {
					u, err := h.sums(ctx, root, a)
					if err != nil {
						return all, err
					}
					all = all.plus(u)
				}
				return all, nil
			})
		if err != nil {
			return err
		}
		wall, cpu := ratios(mine, bare)
		results = append(results,
			result{what: "verify " + what + ", wall by openssl's", value: wall, limit: most, detail: against(mine, bare)},
			result{what: "verify " + what + ", processor by openssl's", value: cpu})
		return nil
	}
	if err := row("2 GB of handover", h.folder, h.folder, "sha256"); err != nil {
		return nil, err
	}
	return results, row("2 GB of archive, both lists", h.archive, filepath.Join(h.archive, "data"), "sha512", "sha256")
}

// copyRow: a copy onto a drive, against cp, sync, a dropped cache and a sum read back.
func copyRow(ctx context.Context, b *bench) ([]result, error) {
	h, err := b.hoard(ctx)
	if err != nil {
		return nil, err
	}
	to := filepath.Join(b.work, "drive")
	fresh := func() error {
		if err := os.RemoveAll(to); err != nil {
			return err
		}
		return os.MkdirAll(to, 0o755)
	}
	mine, bare, err := inTurn(b.rounds,
		func() (usage, error) {
			if err := fresh(); err != nil {
				return usage{}, err
			}
			return measure(ctx, b.work, nil, b.pushcue, "copy", "--quiet", "--out", h.folder, "--as", "copy", filepath.Dir(h.folder), to)
		},
		func() (usage, error) {
			if err := fresh(); err != nil {
				return usage{}, err
			}
			return h.plainCopy(ctx, filepath.Join(to, "copy"))
		})
	if err != nil {
		return nil, err
	}
	wall, cpu := ratios(mine, bare)
	return []result{
		{what: "copy of 2 GB, wall by cp, sync and reading back", value: wall, limit: 1.15, detail: against(mine, bare)},
		{what: "copy of 2 GB, processor", value: cpu},
	}, os.RemoveAll(to)
}

// plainCopy is what somebody careful would type.
func (h *hoard) plainCopy(ctx context.Context, to string) (usage, error) {
	all, err := measure(ctx, h.folder, nil, "cp", "-r", h.folder, to)
	if err != nil {
		return all, err
	}
	u, err := measure(ctx, to, nil, "sync", "-f", to)
	if err != nil {
		return all, err
	}
	all = all.plus(u)
	began := time.Now()
	for _, name := range h.names {
		if err := forget(filepath.Join(to, filepath.FromSlash(name))); err != nil {
			return all, err
		}
	}
	all.wall += time.Since(began)
	u, err = measure(ctx, to, nil, "sha256sum", "--quiet", "-c", "SHA256SUMS")
	return all.plus(u), err
}
