package job

import (
	"path/filepath"
	"strings"

	"pushcue/internal/reach"
)

// FolderName is what a job's folder is called. In an archive that was unpacked each is
// called data; there it is what the archive says that it was (RFC 8493 section 2.2.2,
// Internal-Sender-Identifier), so that a handover made again is the same.
func FolderName(dir string) string {
	base := filepath.Base(dir)
	if base != "data" || !IsFile(filepath.Join(filepath.Dir(dir), "bagit.txt")) {
		return base
	}
	text, err := reach.ReadBeneath(filepath.Dir(dir), "bag-info.txt", 1<<20)
	if err != nil {
		return base
	}
	name, inside := "", false
	for line := range strings.Lines(string(text)) {
		switch value, begins := strings.CutPrefix(line, "Internal-Sender-Identifier: "); {
		case begins:
			name, inside = strings.TrimSpace(value), true
		case inside && strings.HasPrefix(line, " "): // a long line goes on in the next
			name += " " + strings.TrimSpace(line)
		default:
			inside = false
		}
	}
	if name == "" {
		return base
	}
	return name
}
