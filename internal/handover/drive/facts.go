package drive

// facts is what can be told about a drive before anything is written to it.
type facts struct {
	free    int64 // bytes that may still be written; -1 when the drive doesn't tell
	longest int64 // the longest file its file system can hold; 0 when there is no such limit
	noFiles bool  // its table of files is full, whatever room there is
}

// fat32 is the longest file on FAT32: a length of 32 bits (common knowledge of
// the format, from memory).
const fat32 = 1<<32 - 1

// Free is how many bytes may still be written to a drive; -1 when it doesn't tell.
func Free(dir string) (int64, error) {
	f, err := factsOf(dir)
	return f.free, err
}
