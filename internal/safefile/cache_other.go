//go:build !linux && !darwin

package safefile

import "os"

// DropCache asks that reading the file come from the device from now on and not from
// the system's memory; what was written must be synced first. False where that can't
// be had.
//
// Windows can't do it on a file that is already open: reading past the system's memory
// needs sector-aligned buffers.
func DropCache(*os.File) bool { return false }
