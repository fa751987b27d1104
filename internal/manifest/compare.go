package manifest

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"sort"
	"strings"

	"golang.org/x/text/unicode/norm"
)

// Change is what happened to a file since its list was made.
type Change string

const (
	Changed    Change = "changed"    // its bytes differ
	Missing    Change = "missing"    // in the list, not in the folder
	Added      Change = "added"      // in the folder, not in the list
	Renamed    Change = "renamed"    // the same bytes under another name
	Unreadable Change = "unreadable" // the device or the rights refuse
)

// A Finding is one file that isn't as its list says.
type Finding struct {
	Change Change
	Name   string
	Now    string // the new name, for Renamed
	Detail string // the cause, for Unreadable; lengths, for Changed
}

// String tells the finding in plain words.
func (f Finding) String() string {
	switch f.Change {
	case Changed:
		return fmt.Sprintf("changed: %q isn't what it was%s", f.Name, f.Detail)
	case Missing:
		return fmt.Sprintf("missing: %q is gone", f.Name)
	case Added:
		return fmt.Sprintf("added: %q wasn't there before", f.Name)
	case Renamed:
		return fmt.Sprintf("renamed: %q is now called %q", f.Name, f.Now)
	}
	return fmt.Sprintf("unreadable: %q can't be read: %s", f.Name, f.Detail)
}

// Options steers Compare.
type Options struct {
	Skip     func(name string) bool // files that stand outside the list on purpose
	Progress Progress
}

// Compare reads every file of the list below root and returns what isn't as the
// list says, by name. A name whose accents are stored in the other normal form
// (as some file systems do) counts as the same name. Links are never followed: one
// that stands where a file should be is a change.
func Compare(ctx context.Context, root string, list []Entry, o Options) ([]Finding, error) {
	present, err := Walk(ctx, root)
	if err != nil {
		return nil, err
	}
	onDisk, extra := match(list, present)
	findings := make([][]Finding, len(list))
	err = each(ctx, len(list), func(ctx context.Context, i int) error {
		if onDisk[i] == "" {
			findings[i] = []Finding{{Change: Missing, Name: list[i].Name}}
			return nil
		}
		finding, err := compareFile(ctx, root, onDisk[i], list[i], o.Progress)
		if finding != nil {
			findings[i] = []Finding{*finding}
		}
		return err
	})
	if err != nil {
		return nil, err
	}
	var all []Finding
	for _, f := range findings {
		all = append(all, f...)
	}
	for _, name := range extra {
		if o.Skip == nil || !o.Skip(name) {
			all = append(all, Finding{Change: Added, Name: name})
		}
	}
	if all, err = renames(ctx, root, list, all); err != nil {
		return nil, err
	}
	sort.SliceStable(all, func(i, j int) bool { return all[i].Name < all[j].Name })
	return all, nil
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

// match finds each entry's name as the disk spells it, "" where there is none,
// and the names on the disk that no entry claims.
func match(list []Entry, present []string) (onDisk []string, extra []string) {
	exact := map[string]bool{}
	composed := map[string][]string{}
	for _, name := range present {
		exact[name] = true
		composed[norm.NFC.String(name)] = append(composed[norm.NFC.String(name)], name)
	}
	onDisk = make([]string, len(list))
	claimed := map[string]bool{}
	for i, e := range list {
		if exact[e.Name] {
			onDisk[i], claimed[e.Name] = e.Name, true
		}
	}
	for i, e := range list {
		if onDisk[i] != "" {
			continue
		}
		for _, name := range composed[norm.NFC.String(e.Name)] {
			if !claimed[name] {
				onDisk[i], claimed[name] = name, true
				break
			}
		}
	}
	for _, name := range present {
		if !claimed[name] {
			extra = append(extra, name)
		}
	}
	return onDisk, extra
}

// compareFile returns what is wrong with one file, nil when nothing is. Only an
// interruption is an error.
func compareFile(ctx context.Context, root, onDisk string, want Entry, progress Progress) (*Finding, error) {
	file := filepath.Join(root, filepath.FromSlash(onDisk))
	info, err := os.Lstat(file)
	if err != nil {
		return unreadable(want.Name, err), nil
	}
	if !info.Mode().IsRegular() {
		return &Finding{Change: Changed, Name: want.Name, Detail: ": it is no longer a plain file"}, nil
	}
	if want.Size >= 0 && info.Size() != want.Size {
		return &Finding{Change: Changed, Name: want.Name, Detail: fmt.Sprintf(": %d bytes long, was %d", info.Size(), want.Size)}, nil
	}
	sums, _, err := SumFile(ctx, file, algorithmsOf(want), func(n int) {
		if progress != nil {
			progress(want.Name, n)
		}
	})
	switch {
	case ctx.Err() != nil:
		return nil, ctx.Err()
	case err != nil:
		return unreadable(want.Name, err), nil
	}
	for a, sum := range want.Sums {
		if sums[a] != sum {
			return &Finding{Change: Changed, Name: want.Name}, nil
		}
	}
	return nil, nil
}

func unreadable(name string, err error) *Finding {
	var p *fs.PathError
	if errors.As(err, &p) {
		err = p.Err
	}
	return &Finding{Change: Unreadable, Name: name, Detail: err.Error()}
}

// algorithmsOf is sorted, so that entries of one list agree on the first.
func algorithmsOf(e Entry) []Algorithm { return slices.Sorted(maps.Keys(e.Sums)) }

// renames joins a missing and an added file with the same bytes into one finding.
func renames(ctx context.Context, root string, list []Entry, all []Finding) ([]Finding, error) {
	missing := map[string]Entry{} // by a sum
	byName := map[string]Entry{}
	for _, e := range list {
		byName[e.Name] = e
	}
	var as []Algorithm
	for _, f := range all {
		if f.Change == Missing {
			e := byName[f.Name]
			as = algorithmsOf(e)[:1]
			missing[e.Sums[as[0]]] = e
		}
	}
	if len(missing) == 0 {
		return all, nil
	}
	gone := map[string]bool{}
	out := all[:0:0]
	for _, f := range all {
		if f.Change != Added {
			continue
		}
		file := filepath.Join(root, filepath.FromSlash(f.Name))
		if info, err := os.Lstat(file); err != nil || !info.Mode().IsRegular() {
			continue
		}
		sums, _, err := SumFile(ctx, file, as, nil)
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		if err != nil {
			continue
		}
		if e, ok := missing[sums[as[0]]]; ok && !gone[e.Name] {
			gone[e.Name], gone[f.Name] = true, true
			out = append(out, Finding{Change: Renamed, Name: e.Name, Now: f.Name})
		}
	}
	for _, f := range all {
		if (f.Change != Missing && f.Change != Added) || !gone[f.Name] {
			out = append(out, f)
		}
	}
	return out, nil
}

// Totals counts findings by kind for one closing sentence: "2 changed, 1 missing".
func Totals(fs []Finding) string {
	counts := map[Change]int{}
	for _, f := range fs {
		counts[f.Change]++
	}
	var parts []string
	for _, c := range []Change{Changed, Missing, Renamed, Added, Unreadable} {
		if counts[c] > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", counts[c], c))
		}
	}
	return strings.Join(parts, ", ")
}
