package manifest

import (
	"context"
	"errors"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"sort"
	"sync"
)

// Options steers Compare.
type Options struct {
	Skip     func(name string) bool // files that stand outside the list on purpose
	Progress Progress
}

// Compare reads every file of the list below root and returns what isn't as the
// list says; see Judge for what counts. Links are never followed. Only an
// interruption, or a root that can't be listed, is an error.
func Compare(ctx context.Context, root string, list []Entry, o Options) ([]Finding, error) {
	names, err := Walk(ctx, root)
	if err != nil {
		return nil, err
	}
	if o.Skip != nil {
		names = slices.DeleteFunc(names, o.Skip)
	}
	claims, extra := match(list, names)
	worthReading := make([]string, 0, len(names))
	for _, name := range claims {
		if name != "" {
			worthReading = append(worthReading, name)
		}
	}
	if len(worthReading) < len(list) { // what is missing may stand there under another name
		worthReading = append(worthReading, extra...)
	}
	present, err := Look(ctx, root, worthReading, algorithmsOf(list), o.Progress)
	if err != nil {
		return nil, err
	}
	for _, name := range extra {
		if _, read := present[name]; !read {
			present[name] = Found{Size: -1}
		}
	}
	return Judge(list, present), nil
}

// Look reads the named files below root side by side. Files that can't be read are
// told of in what was found; only an interruption is an error.
func Look(ctx context.Context, root string, names []string, as []Algorithm, progress Progress) (map[string]Found, error) {
	present := make(map[string]Found, len(names))
	var guard sync.Mutex
	err := each(ctx, root, names, func(ctx context.Context, i int) error {
		found := lookAt(ctx, root, names[i], as, progress)
		guard.Lock()
		present[names[i]] = found
		guard.Unlock()
		return ctx.Err()
	})
	return present, err
}

func lookAt(ctx context.Context, root, name string, as []Algorithm, progress Progress) Found {
	file := filepath.Join(root, filepath.FromSlash(name))
	info, err := os.Lstat(file)
	if err != nil {
		return Found{Size: -1, Unreadable: cause(err)}
	}
	if !info.Mode().IsRegular() {
		return Found{Size: -1, Odd: true}
	}
	sums, size, err := SumFile(ctx, root, name, as, func(n int) {
		if progress != nil {
			progress(name, n)
		}
	})
	if err != nil {
		return Found{Size: -1, Unreadable: cause(err)}
	}
	return Found{Size: size, Sums: sums}
}

func cause(err error) string {
	var p *fs.PathError
	if errors.As(err, &p) {
		err = p.Err
	}
	return err.Error()
}

// Walk lists every file below root with forward slashes, sorted; a link counts as
// a file and is not followed.
func Walk(ctx context.Context, root string) ([]string, error) {
	var names []string
	err := filepath.WalkDir(root, func(p string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if err := ctx.Err(); err != nil {
			return err
		}
		if d.IsDir() {
			return nil
		}
		rel, err := filepath.Rel(root, p)
		if err != nil {
			return err
		}
		names = append(names, filepath.ToSlash(rel))
		return nil
	})
	sort.Strings(names)
	return names, err
}

// algorithmsOf is sorted, so that a list is always read the same way.
func algorithmsOf(list []Entry) []Algorithm {
	set := map[Algorithm]bool{}
	for _, e := range list {
		for a := range e.Sums {
			set[a] = true
		}
	}
	return slices.Sorted(maps.Keys(set))
}
