package shelf

import (
	"io/fs"
	"strings"

	"pushcue/internal/safefile"
	"pushcue/internal/trouble"
)

// WithoutLinks refuses a folder of ours in which somebody has put a link: what is
// written or removed through it would change something else.
func WithoutLinks(f *safefile.Folder) error {
	return f.Walk(func(name string, d fs.DirEntry) error {
		if d.Type()&(fs.ModeSymlink|fs.ModeIrregular) != 0 {
			return trouble.IsLinked(f.At(name))
		}
		return nil
	})
}

// FreshTemp makes a folder for this run's unfinished files, and clears away what
// runs that were cut short left.
func FreshTemp(work *safefile.Folder) (*safefile.Temp, error) {
	const prefix = "unfinished-"
	old, err := work.ReadDir(".")
	if err != nil {
		return nil, trouble.Writing(work.Path(), err)
	}
	for _, e := range old {
		if e.IsDir() && strings.HasPrefix(e.Name(), prefix) || safefile.IsLeftover(e.Name()) {
			if err := work.RemoveAll(e.Name()); err != nil {
				return nil, trouble.Writing(work.At(e.Name()), err)
			}
		}
	}
	tmp, err := work.TempFolder(prefix)
	return tmp, trouble.Writing(work.At(prefix), err)
}
