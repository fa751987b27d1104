package frames

import (
	"bytes"
	"context"
	"encoding/binary"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"pushcue/internal/reach"
	"pushcue/internal/soak"
	"pushcue/internal/testfootage"
	"pushcue/timeline/fault"
)

// changed copies a recording as change makes it.
func changed(t *testing.T, path string, change func([]byte) []byte) string {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	to := filepath.Join(t.TempDir(), "changed"+filepath.Ext(path))
	if err := os.WriteFile(to, change(b), 0o600); err != nil {
		t.Fatal(err)
	}
	return to
}

// indexFirst copies an MP4 with its index ahead of the pictures, so that a cut leaves it whole.
func indexFirst(t *testing.T, path string) string {
	t.Helper()
	return changed(t, path, func(b []byte) []byte {
		size := func(at int) int { return int(binary.BigEndian.Uint32(b[at:])) }
		data := 0
		for string(b[data+4:data+8]) != "mdat" {
			data += size(data)
		}
		index := data + size(data)
		if string(b[index+4:index+8]) != "moov" || index+size(index) != len(b) {
			t.Fatalf("%s doesn't end with its index", path)
		}
		moov := bytes.Clone(b[index:])
		for rest := moov; ; { // each track's chunks stand further back now
			at := bytes.Index(rest, []byte("stco"))
			if at < 0 {
				break
			}
			rest = rest[at:]
			for i := range binary.BigEndian.Uint32(rest[8:]) {
				chunk := rest[12+4*i:]
				binary.BigEndian.PutUint32(chunk, binary.BigEndian.Uint32(chunk)+uint32(len(moov)))
			}
			rest = rest[4:]
		}
		return slices.Concat(b[:data], moov, b[data:index])
	})
}

// spoilt copies a recording with a twentieth of it overwritten, two thirds of the way in:
// well behind the frames that are decoded at first sight.
func spoilt(t *testing.T, path string) string {
	t.Helper()
	return changed(t, path, func(b []byte) []byte {
		part := b[len(b)*2/3:][:len(b)/20]
		copy(part, bytes.Repeat([]byte{0x5a}, len(part)))
		return b
	})
}

func cutTo(share float64) func([]byte) []byte {
	return func(b []byte) []byte { return b[:int(float64(len(b))*share)] }
}

func TestCutOffRecordingIsUsedAsFarAsItGoes(t *testing.T) {
	for _, container := range []string{"mp4", "mkv", "avi", "ts", "mpg", "flv"} {
		if like := container == "mpg" || container == "flv"; like && !soak.On() {
			continue // they have no index either, as ts
		}
		t.Run(container, func(t *testing.T) {
			t.Parallel()
			path := testfootage.Numbered(t, testfootage.Spec{Container: container, Frames: 120, GOP: 12, BFrames: 2, Width: 160, Height: 120, Codec: map[string]string{"avi": "mjpeg"}[container]})
			if container == "mp4" {
				path = indexFirst(t, path)
			}
			r := open(t, changed(t, path, cutTo(0.6)))
			if n := len(r.Times); n < 48 || n > 96 {
				t.Errorf("of 120 frames cut to six tenths there are %d", n)
			}
			damage := r.Parts[0].Damage
			if knows := container == "mp4" || container == "mkv" || container == "avi"; knows && !strings.Contains(damage.String(), "cut off") {
				t.Errorf("the damage is %q", damage)
			}
			p := pass(t, r, true)
			if len(p.numbers) != len(r.Times) {
				t.Errorf("%d frames passed, the table has %d", len(p.numbers), len(r.Times))
			}
			for i, n := range p.numbers[:len(p.numbers)-2] { // the last may be half a picture
				if n != i {
					t.Fatalf("picture %d carries %d", i, n)
				}
			}
		})
	}
}

func TestDamageInTheMiddle(t *testing.T) {
	for _, container := range []string{"ts", "mkv", "avi"} {
		t.Run(container, func(t *testing.T) {
			t.Parallel()
			path := testfootage.Numbered(t, testfootage.Spec{Container: container, Frames: 120, GOP: 12, BFrames: 2, Width: 160, Height: 120, Codec: map[string]string{"avi": "mpeg4"}[container]})
			r := open(t, spoilt(t, path))
			if r.Parts[0].Damage.Empty() {
				t.Error("the damage isn't mentioned")
			}
			if p := pass(t, r, false); len(p.numbers) != len(r.Times) {
				t.Errorf("%d frames passed, the table has %d", len(p.numbers), len(r.Times))
			}
		})
	}
}

func TestLateJoinedStreamStartsWithItsFirstWholePicture(t *testing.T) {
	path := testfootage.Numbered(t, testfootage.Spec{Container: "ts", Codec: "mpeg2", Frames: 100, GOP: 25, BFrames: 2, Width: 160, Height: 120})
	const packet = 188
	r := open(t, changed(t, path, func(b []byte) []byte { // from the middle of a group of pictures
		head, rest := b[:3*packet], b[len(b)/8/packet*packet:]
		return append(append([]byte{}, head...), rest...)
	}))
	p := pass(t, r, false)
	if len(p.numbers) != len(r.Times) || len(p.numbers) == 0 {
		t.Fatalf("%d frames passed, the table has %d", len(p.numbers), len(r.Times))
	}
	for i, n := range p.numbers[1:] {
		if n != p.numbers[0]+1+i {
			t.Fatalf("picture %d carries %d, the first %d", i+1, n, p.numbers[0])
		}
	}
	for id, s := range fetch(t, r, every(r, 0, 20, 0)) {
		if n, _ := testfootage.ReadNumber(s.Picture); n != p.numbers[id] {
			t.Errorf("the still of frame %d carries %d, not %d", id, n, p.numbers[id])
		}
	}
}

func TestClockSetAnewInTheMiddle(t *testing.T) {
	first := testfootage.Numbered(t, testfootage.Spec{Container: "ts", BFrames: 2, Frames: 60, StartOffset: time.Hour, Audio: true})
	second, err := os.ReadFile(testfootage.Numbered(t, testfootage.Spec{Container: "ts", BFrames: 2, Frames: 60, First: 60, Audio: true}))
	if err != nil {
		t.Fatal(err)
	}
	r := open(t, changed(t, first, func(b []byte) []byte { return append(b, second...) }))
	if len(r.Times) != 120 {
		t.Fatalf("%d frames", len(r.Times))
	}
	if want := 120 * time.Second / 25; (r.End.Sub(0) - want).Abs() > 100*time.Millisecond {
		t.Errorf("it is %v long, should be %v", r.End.Sub(0), want)
	}
	if !strings.Contains(r.Parts[0].Damage.String(), "clock starts anew") {
		t.Errorf("the damage is %q", r.Parts[0].Damage)
	}
	inOrder(t, r, pass(t, r, true))
	for id, s := range fetch(t, r, every(r, 10, 50, 0)) {
		if n, _ := testfootage.ReadNumber(s.Picture); n != id {
			t.Errorf("the still of frame %d carries %d", id, n)
		}
	}
}

func TestEveryUnusablePartIsNamed(t *testing.T) {
	good := testfootage.Numbered(t, testfootage.Spec{})
	empty := changed(t, good, func([]byte) []byte { return nil })
	headless := changed(t, good, cutTo(0.5))
	_, err := Open(context.Background(), tools(t), []*reach.Source{reach.Named(empty, "1.mp4"), reach.Named(good, "2.mp4"), reach.Named(headless, "3.mp4")}, Options{})
	list, ok := fault.In(err)
	if !ok || len(list) != 2 || list[0].File != "1.mp4" || list[1].File != "3.mp4" {
		t.Errorf("got %v", err)
	}
	if _, err := Open(context.Background(), tools(t), nil, Options{}); err == nil {
		t.Error("no recording at all is fine")
	}
}

func TestDecodingGivesTheSameTable(t *testing.T) {
	names := []string{"mp4, GOP 60, B-frames, late start, 29.97", "ts", "mp4, edit list"}
	if soak.On() {
		names = kinds(true)
	}
	for _, name := range names {
		quick := shared(t, name)
		whole, err := Open(context.Background(), tools(t), named(quick.Parts[0].Path), Options{Decode: true})
		if err != nil {
			t.Fatal(err)
		}
		if len(quick.Times) != len(whole.Times) || quick.End != whole.End {
			t.Errorf("%s: %d frames to %v, decoded %d to %v", name, len(quick.Times), quick.End, len(whole.Times), whole.End)
		}
	}
}
