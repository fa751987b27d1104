//go:build unix && !linux && !darwin

package safefile

import "os"

// renameNew gives the new name unless it is taken.
func renameNew(dir *os.Root, from, to string) error { return linkNew(dir, from, to) }
