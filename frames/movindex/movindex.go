// Package movindex reads from the index of an MP4 or MOV file when each of its
// pictures is shown, without reading the pictures.
//
//	index, ok := movindex.Read(file, size)
//
// It reads what recorders write as a rule: one track of pictures, whole in one index,
// shown from its beginning to its end. Whatever else a file may be (fragments, several
// edits, pictures cut away by an edit, times before zero, a second track of pictures),
// it says that it can't tell, and doesn't guess.
//
// The boxes are those of ISO/IEC 14496-12, written down from memory; that they mean
// what ffprobe takes them for is what the tests of package frames hold it to.
package movindex

import (
	"encoding/binary"
	"io"
	"math"
	"math/bits"
)

// An Index tells when the pictures of a file are shown. Times count ticks.
type Index struct {
	Ticks int64   // a second
	Shown []int64 // when each picture is shown, in the order of decoding
	Keys  []int   // which of them decoding can begin at, ascending
	Last  int64   // how long the picture shown last is shown; 0 when not told
}

const (
	mostIndex = 64 << 20 // bytes of an index; that of a day of recording has a tenth
	mostBoxes = 4096     // at the top of a file
)

// Read reads the index of a file of size bytes. It reports false where it can't be told
// from the index alone, or the index is damaged.
func Read(file io.ReaderAt, size int64) (*Index, bool) {
	moov, ok := find(file, size)
	if !ok {
		return nil, false
	}
	var t *track
	var movieTicks int64
	whole := each(moov, func(kind string, b []byte) bool {
		switch kind {
		case "mvhd":
			movieTicks, _, ok = clock(b)
			return ok
		case "mvex": // more of the index lies elsewhere
			return false
		case "trak":
			one, ok := readTrack(b)
			if !ok || one.pictures && t != nil {
				return false
			}
			if one.pictures {
				t = one
			}
		}
		return true
	})
	if !whole || t == nil || movieTicks <= 0 {
		return nil, false
	}
	return t.index(movieTicks, size)
}

// find gets the index out of a file: it may stand before or after the pictures.
func find(file io.ReaderAt, size int64) (moov []byte, ok bool) {
	for at, n := int64(0), 0; at < size && n < mostBoxes; n++ {
		head := make([]byte, min(16, size-at))
		if _, err := file.ReadAt(head, at); err != nil || len(head) < 8 {
			return nil, false
		}
		long, skip := int64(binary.BigEndian.Uint32(head)), int64(8)
		switch {
		case long == 0:
			long = size - at
		case long == 1 && len(head) == 16:
			long, skip = int64(binary.BigEndian.Uint64(head[8:])), 16
		}
		if long < skip || long > size-at {
			return nil, false
		}
		switch string(head[4:8]) {
		case "moof":
			return nil, false
		case "moov":
			if moov != nil || long > mostIndex {
				return nil, false
			}
			moov = make([]byte, long-skip)
			if _, err := file.ReadAt(moov, at+skip); err != nil {
				return nil, false
			}
		}
		at += long
	}
	return moov, moov != nil
}

// each hands the boxes inside b over, until f says no.
func each(b []byte, f func(kind string, body []byte) bool) bool {
	for len(b) >= 8 {
		long := int64(binary.BigEndian.Uint32(b))
		if long < 8 || long > int64(len(b)) {
			return false
		}
		if !f(string(b[4:8]), b[8:long]) {
			return false
		}
		b = b[long:]
	}
	return true
}

// inside descends from box to box by name.
func inside(b []byte, path ...string) (found []byte) {
	for _, name := range path {
		found = nil
		each(b, func(kind string, body []byte) bool {
			if kind == name {
				found = body
			}
			return found == nil
		})
		b = found
	}
	return found
}

// clock reads mvhd or mdhd: ticks a second, and how many of them it all lasts.
func clock(b []byte) (ticks, lasts int64, ok bool) {
	switch {
	case len(b) >= 20 && b[0] == 0:
		ticks, lasts = int64(binary.BigEndian.Uint32(b[12:])), int64(binary.BigEndian.Uint32(b[16:]))
	case len(b) >= 32 && b[0] == 1:
		ticks, lasts = int64(binary.BigEndian.Uint32(b[20:])), int64(binary.BigEndian.Uint64(b[24:]))
	}
	return ticks, lasts, ticks > 0 && lasts >= 0
}

// An edit says that so much of the movie's time shows the track from a moment on.
type edit struct{ lasts, from int64 } // in ticks of the movie; of the track, -1 for nothing

type track struct {
	pictures     bool
	ticks, lasts int64
	edits        []edit
	stbl         []byte
}

func readTrack(b []byte) (*track, bool) {
	handler := inside(b, "mdia", "hdlr")
	if len(handler) < 12 {
		return nil, false
	}
	t := &track{pictures: string(handler[8:12]) == "vide"}
	if !t.pictures {
		return t, true
	}
	var ok bool
	if t.ticks, t.lasts, ok = clock(inside(b, "mdia", "mdhd")); !ok {
		return nil, false
	}
	if list := inside(b, "edts", "elst"); list != nil {
		if t.edits, ok = readEdits(list); !ok {
			return nil, false
		}
	}
	t.stbl = inside(b, "mdia", "minf", "stbl")
	return t, t.stbl != nil
}

func readEdits(b []byte) ([]edit, bool) {
	long := len(b) > 0 && b[0] == 1
	size := 12
	if long {
		size = 20
	}
	rows, n, ok := table(b, size)
	if !ok || n > 2 {
		return nil, false
	}
	var all []edit
	for ; len(rows) > 0; rows = rows[size:] {
		e := edit{int64(binary.BigEndian.Uint32(rows)), int64(int32(binary.BigEndian.Uint32(rows[4:])))}
		if long {
			e = edit{int64(binary.BigEndian.Uint64(rows)), int64(binary.BigEndian.Uint64(rows[8:]))}
		}
		const plain = 1 << 16 // at the speed that it was filmed at
		if speed := binary.BigEndian.Uint32(rows[size-4:]); speed != plain || e.lasts < 0 || e.from < -1 {
			return nil, false
		}
		all = append(all, e)
	}
	return all, true
}

// table is a box that holds a count and as many rows of so many bytes.
func table(b []byte, row int) (rows []byte, n int, ok bool) {
	if len(b) < 8 {
		return nil, 0, false
	}
	count := int64(binary.BigEndian.Uint32(b[4:]))
	if rows = b[8:]; count*int64(row) > int64(len(rows)) {
		return nil, 0, false
	}
	return rows[:count*int64(row)], int(count), true
}

// index works out the times of a track's pictures in a file of size bytes.
func (t *track) index(movieTicks, size int64) (*Index, bool) {
	boxes := map[string][]byte{}
	if !each(t.stbl, func(kind string, body []byte) bool { boxes[kind] = body; return true }) {
		return nil, false
	}
	// Other lists of places to begin at, and pictures of several kinds.
	if boxes["stps"] != nil || boxes["sgpd"] != nil || len(boxes["stsd"]) < 8 || binary.BigEndian.Uint32(boxes["stsd"][4:]) != 1 || !inFile(boxes, size) {
		return nil, false
	}
	sizes := boxes["stsz"]
	if len(sizes) < 12 || binary.BigEndian.Uint32(sizes[4:]) != 0 {
		return nil, false
	}
	_, n, ok := table(sizes[4:], 4)
	if !ok || n == 0 {
		return nil, false
	}
	x := &Index{Ticks: t.ticks}
	var lastStep int64
	if x.Shown, lastStep, ok = decoding(boxes["stts"], n); !ok {
		return nil, false
	}
	end := x.Shown[n-1] + lastStep
	if moved := boxes["ctts"]; moved != nil {
		if !shift(x.Shown, moved) {
			return nil, false
		}
	} else {
		x.Last = max(end, t.lasts) - (end - lastStep)
	}
	if x.Keys, ok = keys(boxes["stss"], n); !ok {
		return nil, false
	}
	return x, t.edit(x.Shown, movieTicks)
}

// inFile tells whether the pictures begin before the file ends.
func inFile(boxes map[string][]byte, size int64) bool {
	if rows, _, ok := table(boxes["stco"], 4); ok {
		for ; len(rows) > 0; rows = rows[4:] {
			if int64(binary.BigEndian.Uint32(rows)) >= size {
				return false
			}
		}
		return true
	}
	rows, _, ok := table(boxes["co64"], 8)
	for ; len(rows) > 0; rows = rows[8:] {
		if binary.BigEndian.Uint64(rows) >= uint64(size) {
			return false
		}
	}
	return ok
}

// decoding is when each of n pictures is decoded, and how long the last one takes.
func decoding(stts []byte, n int) (at []int64, step int64, ok bool) {
	rows, _, ok := table(stts, 8)
	if !ok {
		return nil, 0, false
	}
	at = make([]int64, 0, n)
	var now int64
	for ; len(rows) > 0; rows = rows[8:] {
		count := int64(binary.BigEndian.Uint32(rows))
		step = int64(binary.BigEndian.Uint32(rows[4:]))
		if count > int64(n-len(at)) || step == 0 || step > math.MaxInt32 {
			return nil, 0, false
		}
		for range count {
			at = append(at, now)
			now += step
		}
	}
	return at, step, len(at) == n
}

// shift turns times of decoding into times of showing.
func shift(at []int64, ctts []byte) bool {
	rows, _, ok := table(ctts, 8)
	if !ok {
		return false
	}
	for ; len(rows) > 0; rows = rows[8:] {
		count, by := int64(binary.BigEndian.Uint32(rows)), int64(binary.BigEndian.Uint32(rows[4:]))
		if count > int64(len(at)) || by > math.MaxInt32 { // to others a time before that of decoding
			return false
		}
		for i := range count {
			at[i] += by
		}
		at = at[count:]
	}
	return len(at) == 0
}

// keys are the pictures that decoding can begin at: all where the file doesn't say.
func keys(stss []byte, n int) ([]int, bool) {
	var all []int
	if stss == nil {
		for i := range n {
			all = append(all, i)
		}
		return all, true
	}
	rows, _, ok := table(stss, 4)
	for ; len(rows) > 0; rows = rows[4:] {
		i := int(binary.BigEndian.Uint32(rows)) - 1
		if i < 0 || i >= n || len(all) > 0 && i <= all[len(all)-1] {
			return nil, false
		}
		all = append(all, i)
	}
	return all, ok && len(all) > 0
}

// edit moves the times to where the movie shows them. It reports false where it
// doesn't show all of the pictures.
func (t *track) edit(at []int64, movieTicks int64) bool {
	edits := t.edits
	var waits int64
	if len(edits) > 0 && edits[0].from == -1 {
		var ok bool
		if waits, ok = rescale(edits[0].lasts, t.ticks, movieTicks); !ok {
			return false
		}
		edits = edits[1:]
	}
	if len(edits) == 0 {
		return len(t.edits) == 0
	}
	if len(edits) > 1 || edits[0].from < 0 {
		return false
	}
	from := edits[0].from
	lasts, ok := rescale(edits[0].lasts, t.ticks, movieTicks)
	if !ok {
		return false
	}
	for i, n := range at {
		if n < from || n-from >= lasts {
			return false
		}
		at[i] = n - from + waits
	}
	return true
}

// rescale is n*to/from to the nearest.
func rescale(n, to, from int64) (int64, bool) {
	hi, lo := bits.Mul64(uint64(n), uint64(to))
	lo, carry := bits.Add64(lo, uint64(from)/2, 0)
	if hi += carry; hi >= uint64(from) {
		return 0, false
	}
	q, _ := bits.Div64(hi, lo, uint64(from))
	return int64(q), q < math.MaxInt64>>1
}
