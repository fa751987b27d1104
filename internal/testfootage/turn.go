package testfootage

import (
	"bytes"
	"encoding/binary"
	"errors"
	"os"
)

// Turn writes the display matrix that says "turn clockwise by degrees" into the
// first track header of an MP4 or MOV file. ffmpeg's own option for it changed
// its name between versions; the file's layout (ISO/IEC 14496-12, track header
// box) doesn't.
func Turn(path string, degrees int) error {
	data, err := os.ReadFile(path)
	if err != nil {
		return err
	}
	at := bytes.Index(data, []byte("tkhd"))
	if at < 0 || data[at+4] != 0 {
		return errors.New("no track header of version 0 to write the rotation to")
	}
	matrix := data[at+4+4+36:]
	const one, w = 1 << 16, 1 << 30
	a, b := map[int][2]int32{90: {0, one}, 180: {-one, 0}, 270: {0, -one}}[degrees], int32(0)
	for i, v := range []int32{a[0], a[1], b, -a[1], a[0], b, 0, 0, w} {
		binary.BigEndian.PutUint32(matrix[4*i:], uint32(v))
	}
	return os.WriteFile(path, data, 0o644)
}
