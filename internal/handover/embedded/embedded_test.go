package embedded

import (
	"bytes"
	"encoding/binary"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"testing"
)

// ffmpeg writes the files: what phones put into theirs goes into the same boxes.
func TestPositionsAreFoundWhereFilesCarryThem(t *testing.T) {
	dir := t.TempDir()
	for name, c := range map[string]struct {
		args     []string
		position string
		sound    bool
	}{
		"loci.mp4":     {[]string{"-metadata", "location=+38.7223-009.1393/"}, "+38.7223-9.1393", false},
		"xyz.mov":      {[]string{"-metadata", "location=+38.7223-009.1393/"}, "+38.7223-009.1393", false},
		"apple.mov":    {[]string{"-movflags", "use_metadata_tags", "-metadata", "com.apple.quicktime.location.ISO6709=+38.7223-009.1393+012.000/"}, "+38.7223-009.1393+012.000", false},
		"tag.mkv":      {[]string{"-metadata", "LOCATION=+38.7223-009.1393/"}, "+38.7223-009.1393", false},
		"comment.avi":  {[]string{"-metadata", "comment=+38.7223-009.1393/"}, "+38.7223-009.1393", false},
		"service.ts":   {[]string{"-metadata", "service_name=+38.7223-009.1393/"}, "+38.7223-009.1393", false},
		"nothing.mp4":  {nil, "", false},
		"nothing.ts":   {nil, "", false},
		"sounding.mp4": {[]string{"-f", "lavfi", "-i", "sine=d=0.1", "-c:a", "aac"}, "", true},
	} {
		path := filepath.Join(dir, name)
		args := append([]string{"-v", "error", "-nostdin", "-f", "lavfi", "-i", "color=s=32x32:d=0.1"}, c.args...)
		if out, err := exec.Command("ffmpeg", append(args, "-c:v", "mpeg4", path)...).CombinedOutput(); err != nil {
			t.Fatalf("%s: %v\n%s", name, err, out)
		}
		got := read(t, path)
		if c.position == "" && len(got.Positions) > 0 || c.position != "" && !slices.Contains(got.Positions, c.position) {
			t.Errorf("%s: positions %q", name, got.Positions)
		}
		if got.Sound != c.sound || got.Track {
			t.Errorf("%s: %+v", name, got)
		}
	}
}

func read(t *testing.T, path string) Facts {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	facts, err := Read(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	return facts
}

func box(name string, body ...byte) []byte {
	return append(append(binary.BigEndian.AppendUint32(nil, uint32(8+len(body))), name...), body...)
}

func TestTracksOfPositionsAreNamed(t *testing.T) {
	for name, c := range map[string]struct {
		data []byte
		want bool
	}{
		"a camera's track":              {append(box("ftyp"), box("moov", box("stsd", box("gpmd")...)...)...), true},
		"that word among the pictures":  {append(box("ftyp"), box("mdat", []byte("gpmd +38.7223-009.1393/")...)...), false},
		"a receiver's sentences":        {[]byte("RIFF....AVI $GPRMC,123519,A,4807.038,N,01131.000,E"), true},
		"a camcorder's block":           {append([]byte("G...MDPM\x02"), 0x18, 0, 0, 0, 0, 0xb2, 0, 38, 0, 1), true},
		"a camcorder's block without":   {append([]byte("G...MDPM\x01"), 0x18, 0, 0, 0, 0, 0xb2, 0, 38, 0, 1), false},
		"an index that is cut off":      {append(box("ftyp"), 0, 0, 1, 0, 'm', 'o', 'o', 'v'), false},
		"an empty file":                 {nil, false},
		"a location that names no name": {append(box("ftyp"), box("moov", box("loci", 0, 0, 0, 0, 0, 0)...)...), false},
	} {
		got, err := Read(bytes.NewReader(c.data), int64(len(c.data)))
		if err != nil || got.Track != c.want || len(got.Positions) > 0 {
			t.Errorf("%s: %+v, %v", name, got, err)
		}
	}
}

func FuzzRead(f *testing.F) {
	f.Add(append(box("ftyp"), box("moov", box("loci", 0, 0, 0, 0, 0, 0, 0, 0, 0, 1, 0, 0, 0, 1, 0, 0)...)...))
	f.Add([]byte("MDPM\xff"))
	f.Fuzz(func(t *testing.T, data []byte) {
		if _, err := Read(bytes.NewReader(data), int64(len(data))); err != nil {
			t.Error(err)
		}
	})
}
