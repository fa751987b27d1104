package safefile

import (
	"context"
	"strings"
)

const (
	tempPrefix = ".pushcue-"
	tempSuffix = ".tmp"
)

// IsLeftover tells by its name whether a file is one of this package's temporary
// files.
func IsLeftover(name string) bool {
	middle, ok := strings.CutPrefix(name, tempPrefix)
	middle, end := strings.CutSuffix(middle, tempSuffix)
	return ok && end && len(middle) == 16 && strings.Trim(middle, "0123456789abcdef") == ""
}

// Sweep removes what an interrupted run left in the folder, not in those below, and
// names it. Only one program may be writing there: the caller holds the lock.
func (f *Folder) Sweep(ctx context.Context) (removed []string, err error) {
	entries, err := f.ReadDir(".")
	for _, e := range entries {
		if ctx.Err() != nil {
			return removed, ctx.Err()
		}
		if !e.Type().IsRegular() || !IsLeftover(e.Name()) {
			continue
		}
		if failed := f.Remove(e.Name()); failed != nil {
			if err == nil {
				err = failed
			}
			continue
		}
		removed = append(removed, e.Name())
	}
	return removed, err
}
