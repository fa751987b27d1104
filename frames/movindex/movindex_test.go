package movindex

import (
	"bytes"
	"encoding/binary"
	"slices"
	"testing"
)

// box writes a box from its name and what is in it: text, bytes, or 32-bit numbers.
func box(name string, parts ...any) []byte {
	var body []byte
	for _, p := range parts {
		switch p := p.(type) {
		case []byte:
			body = append(body, p...)
		case string:
			body = append(body, p...)
		case int:
			body = binary.BigEndian.AppendUint32(body, uint32(p))
		}
	}
	return append(append(binary.BigEndian.AppendUint32(nil, uint32(8+len(body))), name...), body...)
}

// A film is an MP4 with four pictures of 100 ticks, shown in another order than decoded.
type film struct{ stts, ctts, stss, elst, more []byte }

func plain() film {
	return film{
		stts: box("stts", 0, 1, 4, 100),
		ctts: box("ctts", 0, 4, 1, 200, 1, 300, 1, 100, 1, 200),
		stss: box("stss", 0, 2, 1, 4),
		elst: box("elst", 0, 1, 400, 200, 1<<16),
	}
}

func (f film) bytes() []byte {
	stbl := box("stbl", box("stsd", 0, 1, box("avc1")), f.stts, f.ctts, f.stss, box("stsz", 0, 0, 4, 1, 1, 1, 1), box("stco", 0, 1, 8))
	trak := box("trak", box("tkhd", 0, 0, 0), box("edts", f.elst),
		box("mdia", box("mdhd", 0, 0, 0, 1000, 400), box("hdlr", 0, 0, "vide"), box("minf", stbl)))
	sound := box("trak", box("mdia", box("hdlr", 0, 0, "soun")))
	return slices.Concat(box("ftyp", "isom"), box("mdat", 0), box("moov", box("mvhd", 0, 0, 0, 1000, 400), sound, trak, f.more))
}

func read(b []byte) (*Index, bool) { return Read(bytes.NewReader(b), int64(len(b))) }

func TestTimesAreThoseOfShowing(t *testing.T) {
	x, ok := read(plain().bytes())
	if !ok || x.Ticks != 1000 || !slices.Equal(x.Shown, []int64{0, 200, 100, 300}) || !slices.Equal(x.Keys, []int{0, 3}) {
		t.Fatalf("%+v, %v", x, ok)
	}
	late := plain()
	late.elst = box("elst", 0, 2, 500, -1, 1<<16, 400, 200, 1<<16)
	if x, ok := read(late.bytes()); !ok || x.Shown[0] != 500 {
		t.Errorf("shown half a second late: %+v, %v", x, ok)
	}
	straight := plain()
	straight.ctts, straight.stss, straight.elst = nil, nil, nil
	if x, ok := read(straight.bytes()); !ok || x.Last != 100 || len(x.Keys) != 4 {
		t.Errorf("each a key, shown as decoded: %+v, %v", x, ok)
	}
}

func TestWhatTheIndexDoesntTell(t *testing.T) {
	for name, change := range map[string]func(*film){
		"more of the index elsewhere":     func(f *film) { f.more = box("mvex") },
		"a second track of pictures":      func(f *film) { f.more = box("trak", box("mdia", box("hdlr", 0, 0, "vide"))) },
		"the beginning cut away":          func(f *film) { f.elst = box("elst", 0, 1, 400, 300, 1<<16) },
		"the end cut away":                func(f *film) { f.elst = box("elst", 0, 1, 300, 200, 1<<16) },
		"shown at half speed":             func(f *film) { f.elst = box("elst", 0, 1, 400, 200, 1<<15) },
		"three edits":                     func(f *film) { f.elst = box("elst", 0, 3, 1, -1, 1<<16, 1, -1, 1<<16, 400, 200, 1<<16) },
		"fewer times than pictures":       func(f *film) { f.stts = box("stts", 0, 1, 3, 100) },
		"more times than pictures":        func(f *film) { f.stts = box("stts", 0, 1, 1<<31-1, 100) },
		"a count beyond the box":          func(f *film) { f.stts = box("stts", 0, 1<<31-1, 4, 100) },
		"pictures that take no time":      func(f *film) { f.stts = box("stts", 0, 1, 4, 0) },
		"shown before it is decoded":      func(f *film) { f.ctts = box("ctts", 0, 1, 4, -100) },
		"fewer shifts than pictures":      func(f *film) { f.ctts = box("ctts", 0, 1, 3, 100) },
		"a key that no picture is":        func(f *film) { f.stss = box("stss", 0, 1, 5) },
		"keys in disorder":                func(f *film) { f.stss = box("stss", 0, 2, 4, 1) },
		"a box longer than what it is in": func(f *film) { f.more = []byte{0, 0, 1, 0, 'f', 'r', 'e', 'e'} },
		"another list of beginnings":      func(f *film) { f.stss = append(f.stss, box("stps", 0, 0)...) },
		"no times at all":                 func(f *film) { f.stts = nil },
	} {
		f := plain()
		change(&f)
		if x, ok := read(f.bytes()); ok {
			t.Errorf("%s: %+v", name, x)
		}
	}
	whole := plain().bytes()
	if _, ok := read(append(whole, whole...)); ok {
		t.Error("a file with two indexes is told")
	}
	for n := range whole {
		if _, ok := read(whole[:n]); ok {
			t.Errorf("cut after %d of %d bytes it is told", n, len(whole))
		}
	}
}

func FuzzRead(f *testing.F) {
	f.Add(plain().bytes())
	f.Fuzz(func(t *testing.T, b []byte) {
		x, ok := read(b)
		if ok && (x.Ticks <= 0 || len(x.Shown) == 0 || len(x.Keys) == 0 || len(x.Shown) > len(b)) {
			t.Errorf("%+v", x)
		}
	})
}
