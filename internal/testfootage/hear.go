package testfootage

import (
	"encoding/binary"
	"os/exec"
	"strconv"
	"testing"
)

// Hear gives a file's first sound as one channel of so many samples a second, each
// from -1 to 1.
func Hear(t testing.TB, path string, rate int) []float64 {
	t.Helper()
	raw, err := exec.CommandContext(t.Context(), "ffmpeg", "-nostdin", "-v", "error", "-i", "file:"+path,
		"-map", "0:a:0", "-ac", "1", "-ar", strconv.Itoa(rate), "-f", "s16le", "-").Output()
	if err != nil {
		t.Fatalf("%s can't be heard: %v", path, err)
	}
	all := make([]float64, len(raw)/2)
	for i := range all {
		all[i] = float64(int16(binary.LittleEndian.Uint16(raw[2*i:]))) / 32768
	}
	return all
}
