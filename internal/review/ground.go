package review

import (
	"errors"
	"io/fs"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"pushcue/timeline/words"
)

// ground is where a page may list folders, open jobs and make new ones: below the home
// folder, on drives and network shares, and below the folder that pushcue was started in.
type ground struct {
	own    []ownFolder
	drives func() []string // links resolved
}

// ownFolder is a folder as it is named, and with its links resolved.
type ownFolder struct{ named, real string }

func newGround(drives func() []string) ground {
	g := ground{drives: drives}
	for _, folder := range []func() (string, error){os.UserHomeDir, os.Getwd} {
		named, err := folder()
		if err != nil {
			continue
		}
		// What a desktop starts may stand at the top of the disk: this opens nothing.
		if real, err := filepath.EvalSymlinks(named); err == nil && !isTop(real) {
			g.own = append(g.own, ownFolder{named, real})
		}
	}
	return g
}

// find returns the folder at an absolute path with its links resolved, if it lies within.
func (g ground) find(path string) (string, error) {
	if !filepath.IsAbs(path) {
		return "", rejected(http.StatusUnprocessableEntity, words.Tell("this isn't a whole path"), words.Tell("choose a folder"))
	}
	path = filepath.Clean(path)
	// By the words alone first: on Windows a look at another computer's path sends it
	// the user's name.
	if !g.names(path) {
		return "", elsewhere(path)
	}
	real, err := filepath.EvalSymlinks(path)
	if err != nil {
		return "", rejected(http.StatusNotFound, words.Tell("%s can't be looked into", path), words.Tell("choose another folder"))
	}
	if !g.onDrives(real) && !slices.ContainsFunc(g.own, func(o ownFolder) bool { return within(o.real, real) }) {
		return "", elsewhere(path)
	}
	return real, nil
}

// names reports whether a path lies within by its words.
func (g ground) names(path string) bool {
	return g.onDrives(path) || slices.ContainsFunc(g.own, func(o ownFolder) bool { return within(o.named, path) || within(o.real, path) })
}

func (g ground) onDrives(path string) bool {
	return slices.ContainsFunc(g.drives(), func(drive string) bool { return within(drive, path) })
}

func elsewhere(path string) error {
	return rejected(http.StatusForbidden, words.Tell("%s is neither below your home folder nor on a drive nor where pushcue was started", path),
		words.Tell("a job elsewhere is opened by naming it: pushcue review FOLDER"))
}

// has reports whether a folder lies within.
func (g ground) has(path string) bool {
	_, err := g.find(path)
	return err == nil
}

// within reports whether path is folder or lies below it, by the words alone.
func within(folder, path string) bool {
	rel, err := filepath.Rel(folder, path)
	return err == nil && filepath.IsLocal(rel)
}

// besidesSystem are the drives of Windows, named as D:\, without the one that its own
// folder stands on. That one holds everybody's programs and settings: of it only the home
// folder and where pushcue was started are shown.
func besidesSystem(drives []string, windowsFolder string) []string {
	system := "C"
	if len(windowsFolder) > 1 && windowsFolder[1] == ':' {
		system = windowsFolder[:1]
	}
	return slices.DeleteFunc(slices.Clone(drives), func(drive string) bool {
		return drive == "" || strings.EqualFold(drive[:1], system)
	})
}

// isTop reports whether a folder is the top of a disk.
func isTop(folder string) bool { return filepath.Dir(folder) == filepath.Clean(folder) }

// onDrive returns a folder on a drive with its links resolved. One that isn't there is
// left to whoever copies: a drive that was pulled out has words of its own.
func (g ground) onDrive(path string) (string, error) {
	path = filepath.Clean(strings.TrimSpace(path))
	drives := ground{drives: g.drives}
	real, err := drives.find(path)
	if _, gone := os.Lstat(path); errors.Is(gone, fs.ErrNotExist) && drives.names(path) {
		return path, nil
	}
	return real, err
}
