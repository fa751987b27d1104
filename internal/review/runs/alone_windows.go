package runs

import "io/fs"

// isOursAlone trusts the folder: it lies in the user's profile, which Windows keeps from
// other users.
func isOursAlone(fs.FileInfo) bool { return true }
