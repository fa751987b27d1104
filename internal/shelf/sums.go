package shelf

import (
	"bytes"
	"fmt"

	"pushcue/internal/manifest"
)

const SumsName = "SHA256SUMS"

// SumsText is SHA256SUMS over files by name.
func SumsText(sums map[string]string) ([]byte, error) {
	list := make([]manifest.Entry, 0, len(sums))
	for _, name := range SortedKeys(sums) {
		if err := manifest.CheckName(name); err != nil {
			return nil, fmt.Errorf("%s can't be listed: %w", name, err)
		}
		list = append(list, manifest.Entry{Name: name, Size: -1, Sums: map[manifest.Algorithm]string{manifest.SHA256: sums[name]}})
	}
	var b bytes.Buffer
	err := manifest.WriteCoreutils(&b, manifest.SHA256, list)
	return b.Bytes(), err
}
