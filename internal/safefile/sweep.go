package safefile

import (
	"context"
	"os"
	"path/filepath"
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

// Sweep removes what an interrupted run left in dir, not in the folders below, and
// names it. Only one program may be writing there: the caller holds the lock. A
// missing folder has no leftovers.
func Sweep(ctx context.Context, dir string) (removed []string, err error) {
	entries, err := os.ReadDir(dir)
	if os.IsNotExist(err) {
		return nil, nil
	}
	for _, e := range entries {
		if ctx.Err() != nil {
			return removed, ctx.Err()
		}
		if !e.Type().IsRegular() || !IsLeftover(e.Name()) {
			continue
		}
		if failed := os.Remove(filepath.Join(dir, e.Name())); failed != nil {
			if err == nil {
				err = failed
			}
			continue
		}
		removed = append(removed, e.Name())
	}
	return removed, err
}
