package manifest

import "path"

// IsLitter reports a file that systems leave in any folder they show, which says
// nothing about what the folder holds.
func IsLitter(name string) bool {
	base := path.Base(name)
	switch base {
	case ".DS_Store", "Thumbs.db", "desktop.ini", ".directory":
		return true
	}
	return len(base) > 2 && base[:2] == "._"
}
