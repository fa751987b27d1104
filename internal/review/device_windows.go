package review

// isOwnDevice isn't asked here: drives have letters.
func isOwnDevice(string) bool { return true }
