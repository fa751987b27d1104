//go:build unix && !linux && !darwin

package safefile

// renameNew gives the new name unless it is taken.
func renameNew(from, to string) error { return linkNew(from, to) }
