package photo

import (
	"bytes"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// picture is red at the left, blue at the right, dark in its upper left corner.
func picture(w, h int) image.Image {
	p := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			c := color.RGBA{200, 0, 0, 255}
			if x >= w/2 {
				c = color.RGBA{0, 0, 200, 255}
			}
			if x < w/4 && y < h/4 {
				c = color.RGBA{0, 0, 0, 255}
			}
			p.SetRGBA(x, y, c)
		}
	}
	return p
}

func encoded(t *testing.T, p image.Image) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := jpeg.Encode(&b, p, nil); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// exiftool writes the notes and reads them back: a program of its own.
func tagged(t *testing.T, args ...string) []byte {
	t.Helper()
	file := filepath.Join(t.TempDir(), "photo.jpg")
	if err := os.WriteFile(file, encoded(t, picture(64, 32)), 0o644); err != nil {
		t.Fatal(err)
	}
	exiftool(t, append(args, "-overwrite_original", "-q", file)...)
	data, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	return data
}

func exiftool(t *testing.T, args ...string) string {
	t.Helper()
	out, err := exec.Command("exiftool", args...).CombinedOutput()
	if err != nil {
		t.Fatalf("exiftool is needed to test with (package libimage-exiftool-perl): %v\n%s", err, out)
	}
	return string(out)
}

var everything = []string{"-n", "-Orientation=6", "-DateTimeOriginal=2026:03:02 10:07:31", "-ModifyDate=2026:03:05 09:00:00", "-GPSLatitude=41.5", "-GPSLatitudeRef=N", "-GPSLongitude=2.1", "-GPSLongitudeRef=E", "-Make=Nobody", "-Artist=somebody", "-XMP:Title=x", "-IPTC:City=y", "-Comment=z"}

func TestNothingBesideThePixelsIsHandedOver(t *testing.T) {
	t.Parallel()
	p, err := Open(tagged(t, everything...))
	if err != nil {
		t.Fatal(err)
	}
	if !p.HasTime || p.Taken.Format("2006-01-02 15:04:05") != "2026-03-02 10:07:31" {
		t.Errorf("taken %v", p.Taken)
	}
	said := written(t, p, false)
	for _, gone := range []string{"GPS", "Make", "Artist", "Date/Time", "Orientation", "Title", "City", "Comment"} {
		if strings.Contains(said, gone) {
			t.Errorf("%s is still told:\n%s", gone, said)
		}
	}
}

func TestLocationIsKeptWhereAskedFor(t *testing.T) {
	t.Parallel()
	p, err := Open(tagged(t, everything...))
	if err != nil {
		t.Fatal(err)
	}
	said := written(t, p, true)
	for _, want := range []string{"GPSLatitude", "41.5", "DateTimeOriginal", "Orientation                     : 1", "ImageWidth                      : 32"} {
		if !strings.Contains(said, want) {
			t.Errorf("no %s in\n%s", want, said)
		}
	}
}

func written(t *testing.T, p *Photo, keep bool) string {
	t.Helper()
	var b bytes.Buffer
	if err := p.WriteJPEG(&b, keep); err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(t.TempDir(), "out.jpg")
	if err := os.WriteFile(file, b.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
	return exiftool(t, "-s", "-n", "-x", "FileModifyDate", "-x", "FileAccessDate", "-x", "FileInodeChangeDate", file)
}

// What each orientation does to the dark corner is told by Exif's own words: where
// the 0th row and the 0th column are seen.
func TestEachOrientationIsTurnedUpright(t *testing.T) {
	t.Parallel()
	corners := map[string]image.Point{
		"1": {0, 0}, "2": {1, 0}, "3": {1, 1}, "4": {0, 1}, // row top, columns left, right; row bottom …
		"5": {0, 0}, "6": {1, 0}, "7": {1, 1}, "8": {0, 1},
	}
	dir := t.TempDir()
	lying := encoded(t, picture(64, 32))
	file := func(orientation string) string { return filepath.Join(dir, orientation+".jpg") }
	var args []string // one start of exiftool writes all of them
	for orientation := range corners {
		if err := os.WriteFile(file(orientation), lying, 0o644); err != nil {
			t.Fatal(err)
		}
		args = append(args, "-Orientation="+orientation, file(orientation), "-execute")
	}
	exiftool(t, append(args, "-common_args", "-n", "-overwrite_original", "-q")...)
	for orientation, corner := range corners {
		data, err := os.ReadFile(file(orientation))
		if err != nil {
			t.Fatal(err)
		}
		p, err := Open(data)
		if err != nil {
			t.Fatal(err)
		}
		b := p.picture.Bounds()
		if lying := b.Dx() > b.Dy(); lying != (orientation < "5") {
			t.Errorf("orientation %s: %v", orientation, b)
		}
		x, y := 2+corner.X*(b.Dx()-5), 2+corner.Y*(b.Dy()-5)
		if r, _, bl, _ := p.picture.At(b.Min.X+x, b.Min.Y+y).RGBA(); r > 0x3000 || bl > 0x3000 {
			t.Errorf("orientation %s: the dark corner isn't at %v", orientation, corner)
		}
	}
}

func TestLargePhotosAreMadeFit(t *testing.T) {
	p, err := Open(encoded(t, picture(4200, 300)))
	if err != nil {
		t.Fatal(err)
	}
	if b := p.picture.Bounds(); b.Dx() != longest {
		t.Errorf("%v", b)
	}
}

func TestOthersAreRefused(t *testing.T) {
	bomb := encoded(t, picture(64, 32))
	at := bytes.Index(bomb, []byte{0xff, 0xc0})
	copy(bomb[at+5:], []byte{0xff, 0xff, 0xff, 0xff}) // 65,535 by 65,535 pixels
	var drawn bytes.Buffer
	if err := png.Encode(&drawn, picture(20, 20)); err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct {
		data []byte
		good bool
	}{
		"a text": {[]byte("GIF89a or so"), false}, "nothing": {nil, false}, "cut short": {encoded(t, picture(64, 32))[:200], false},
		"far too large": {bomb, false}, "a drawing": {drawn.Bytes(), true},
	} {
		if _, err := Open(c.data); (err == nil) != c.good {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func FuzzNotes(f *testing.F) {
	f.Add([]byte("Exif\x00\x00II*\x00\x08\x00\x00\x00\x02\x00\x12\x01\x03\x00\x01\x00\x00\x00\x06\x00\x00\x00\x69\x87\x04\x00\x01\x00\x00\x00\x08\x00\x00\x00"))
	f.Add([]byte("\xff\xe1\x00\x20Exif\x00\x00MM\x00*\x00\x00\x00\x08\x00\x01\x01\x12\x00\x03\x00\x00\x00\x01\x00\x06"))
	f.Add([]byte("....ispe\x00\x00\x00\x00\x00\x00\x02\x00\x00\x00\x02\x00"))
	f.Fuzz(func(t *testing.T, data []byte) {
		notes := FindNotes(data)
		readNotes(notes).taken()
		if out := saidUpright(notes); len(out) != len(notes) {
			t.Error("the notes changed their length")
		}
		Largest(data)
	})
}

func TestAPositionInTheCamerasNotesIsFound(t *testing.T) {
	if !Located(tagged(t, everything...)) {
		t.Error("the position isn't found")
	}
	if data := tagged(t, "-Make=Nobody", "-DateTimeOriginal=2026:03:02 10:07:31"); Located(data) || Located(nil) {
		t.Error("a position is found where there is none")
	}
}
