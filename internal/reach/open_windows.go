package reach

const (
	nonblock = 0 // no pipe has a name in a folder

	// Resolving a link that leads to another computer would send it our user's name.
	followsAbsolute = false
)
