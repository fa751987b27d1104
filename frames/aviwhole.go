package frames

import (
	"encoding/binary"
	"io"

	"pushcue/internal/ffmpeg"
)

// aviWhole reports whether an AVI ends where its chunks do. One with empty chunks, as
// recorders write for pictures that they dropped, has fewer packets than it claims pictures
// and is whole all the same. A file of more than 1 GB has several RIFF chunks, one behind
// the other (OpenDML AVI File Format Extensions 1.02).
func aviWhole(m *ffmpeg.Media) bool {
	f, err := m.Source.Open()
	if err != nil {
		return false
	}
	defer f.Close()
	const head = 8
	for at := int64(0); at < m.Size; {
		var chunk [head]byte
		if _, err := f.ReadAt(chunk[:], at); err != nil && err != io.EOF {
			return false
		}
		if string(chunk[:4]) != "RIFF" {
			return at > 0 // what stands behind the last one isn't the recording's
		}
		size := int64(binary.LittleEndian.Uint32(chunk[4:]))
		if at += head + size + size%2; at-size%2 > m.Size {
			return false
		}
	}
	return true
}
