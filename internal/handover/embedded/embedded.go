// Package embedded reads what a media file carries besides its pictures: the position at
// which it was filmed, and whether there is sound.
//
//	facts, err := embedded.Read(file, size)
//
// It reads the file's own notes: the index of an MP4 or MOV, the beginning and the end of
// every other file. Positions that are written between the pictures, as some dashboard
// cameras do in a track of their own, are only said to be likely there.
package embedded

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"io"
	"regexp"
	"slices"
)

// Facts is what was found in a file.
type Facts struct {
	Positions []string // as written, or as latitude and longitude in degrees; each once
	Track     bool     // a track that holds positions as a rule; they weren't read
	Indexed   bool     // it is an MP4 or MOV: Sound is known
	Sound     bool
}

const (
	mostNotes = 64 << 20 // bytes of one index
	mostEnds  = 4 << 20  // bytes looked through at each end of a file of another kind
	mostBoxes = 4096     // at the top of a file
)

// Read looks through a file of size bytes.
func Read(f io.ReaderAt, size int64) (Facts, error) {
	var facts Facts
	head := make([]byte, min(8, size))
	if _, err := f.ReadAt(head, 0); err != nil && err != io.EOF {
		return facts, err
	}
	if len(head) == 8 && slices.Contains([]string{"ftyp", "moov", "mdat", "free", "skip", "wide", "pnot"}, string(head[4:])) {
		return facts, facts.boxes(f, size)
	}
	for _, from := range ends(size) {
		text := make([]byte, min(mostEnds, size-from))
		if _, err := f.ReadAt(text, from); err != nil && err != io.EOF {
			return facts, err
		}
		facts.text(text)
		facts.Track = facts.Track || nmea.Match(text) || camcorder(text)
	}
	return facts, nil
}

func ends(size int64) []int64 {
	if size <= mostEnds {
		return []int64{0}
	}
	return []int64{0, max(mostEnds, size-mostEnds)}
}

// boxes looks through an MP4 or MOV (ISO/IEC 14496-12): all that stands at its top, but
// for the pictures themselves.
func (f *Facts) boxes(file io.ReaderAt, size int64) error {
	for at, n := int64(0), 0; at+8 <= size && n < mostBoxes; n++ {
		head := make([]byte, min(16, size-at))
		if _, err := file.ReadAt(head, at); err != nil && err != io.EOF {
			return err
		}
		long, skip := int64(binary.BigEndian.Uint32(head)), int64(8)
		switch {
		case long == 0:
			long = size - at
		case long == 1 && len(head) == 16:
			long, skip = int64(binary.BigEndian.Uint64(head[8:])), 16
		}
		if long < skip || long > size-at {
			return nil // cut off: players find no more either
		}
		if kind := string(head[4:8]); kind != "mdat" && long <= mostNotes {
			body := make([]byte, long-skip)
			if _, err := file.ReadAt(body, at+skip); err != nil && err != io.EOF {
				return err
			}
			f.text(body)
			if kind == "moov" {
				f.index(body)
			}
		}
		at += long
	}
	return nil
}

// index looks through the index of an MP4 or MOV.
func (f *Facts) index(moov []byte) {
	f.Indexed = true
	for _, body := range after(moov, "hdlr") { // ISO/IEC 14496-12 section 8.4.3
		f.Sound = f.Sound || len(body) >= 12 && string(body[8:12]) == "soun"
	}
	for _, body := range after(moov, "loci") { // 3GPP TS 26.244 section 8.3
		if p, ok := location(body); ok {
			f.add(p)
		}
	}
	// The tracks of action and dashboard cameras; the names are from memory.
	for _, name := range []string{"gpmd", "camm", "gps "} {
		f.Track = f.Track || bytes.Contains(moov, []byte(name))
	}
}

// after returns what follows each occurrence of a box's name.
func after(b []byte, name string) [][]byte {
	var all [][]byte
	for {
		at := bytes.Index(b, []byte(name))
		if at < 0 {
			return all
		}
		b = b[at+4:]
		all = append(all, b)
	}
}

// location reads the box of 3GPP TS 26.244 section 8.3: version and flags, language, a name that
// ends with a zero, role, longitude, latitude, each of 16 bits before and after the point.
func location(b []byte) (string, bool) {
	if len(b) < 6 || b[0] != 0 {
		return "", false
	}
	end := bytes.IndexByte(b[6:], 0)
	if end < 0 || end > 256 || len(b) < 6+end+1+1+8 {
		return "", false
	}
	b = b[6+end+1+1:]
	degrees := func(b []byte) float64 { return float64(int32(binary.BigEndian.Uint32(b))) / 65536 }
	lon, lat := degrees(b), degrees(b[4:])
	if lat < -90 || lat > 90 || lon < -180 || lon > 180 || lat == 0 && lon == 0 {
		return "", false
	}
	return fmt.Sprintf("%+.4f%+.4f", lat, lon), true
}

// iso6709 is a position in text (ISO 6709 annex H), with decimals, as QuickTime files hold
// it under ©xyz and com.apple.quicktime.location.ISO6709.
var iso6709 = regexp.MustCompile(`[+-][0-9]{2}(?:[0-9]{2}){0,2}\.[0-9]{2,12}[+-][0-9]{3}(?:[0-9]{2}){0,2}\.[0-9]{2,12}(?:[+-][0-9]{1,6}(?:\.[0-9]{1,6})?)?`)

func (f *Facts) text(b []byte) {
	for _, p := range iso6709.FindAll(b, 8) {
		f.add(string(p))
	}
}

func (f *Facts) add(position string) {
	if !slices.Contains(f.Positions, position) {
		f.Positions = append(f.Positions, position)
	}
}

// nmea is the beginning of a receiver's sentence with a position (NMEA 0183, from memory).
var nmea = regexp.MustCompile(`\$G[PNLA](?:RMC|GGA),[0-9]`)

// camcorder reports the block that camcorders write beside H.264 pictures, with a latitude in
// it: "MDPM", a count, and five bytes for each value, the first of which says what it is
// (from memory; 0xb2 is the latitude's degrees).
func camcorder(b []byte) bool {
	for _, body := range after(b, "MDPM") {
		if len(body) == 0 {
			continue
		}
		for i := 0; i < int(body[0]) && 1+5*i < len(body); i++ {
			if body[1+5*i] == 0xb2 {
				return true
			}
		}
	}
	return false
}
