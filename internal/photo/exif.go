package photo

import (
	"bytes"
	"encoding/binary"
	"slices"
	"strings"
	"time"
)

// exifMark begins the camera's notes in a file (Exif 2.3 section 4.7.2).
var exifMark = []byte("Exif\x00\x00")

// mostNotes bounds what is believed to be a camera's notes: in a JPEG they can't be
// longer.
const mostNotes = 0xffff

// FindNotes returns the camera's notes of a JPEG or HEIF file, a TIFF structure; nil
// without any.
func FindNotes(data []byte) []byte {
	for at := 0; ; {
		i := bytes.Index(data[at:], exifMark)
		if i < 0 {
			return nil
		}
		at += i + len(exifMark)
		notes := data[at:]
		if len(notes) > mostNotes {
			notes = notes[:mostNotes]
		}
		if _, ok := byteOrder(notes); ok {
			return inSegment(data, at, notes)
		}
	}
}

// inSegment cuts the notes where the JPEG's own segment ends, so that pictures behind
// it aren't taken along.
func inSegment(data []byte, at int, notes []byte) []byte {
	head := at - len(exifMark) - 4
	if head >= 0 && data[head] == 0xff && data[head+1] == 0xe1 {
		long := int(binary.BigEndian.Uint16(data[head+2:])) - 2 - len(exifMark)
		if long >= 0 && long < len(notes) {
			return notes[:long]
		}
	}
	return notes
}

// byteOrder reads the head of a TIFF structure (TIFF 6.0 section 2).
func byteOrder(notes []byte) (binary.ByteOrder, bool) {
	switch {
	case len(notes) < 8:
	case bytes.HasPrefix(notes, []byte("II*\x00")):
		return binary.LittleEndian, true
	case bytes.HasPrefix(notes, []byte("MM\x00*")):
		return binary.BigEndian, true
	}
	return nil, false
}

// Tags of a camera's notes (Exif 2.3).
const (
	tagOrientation = 0x0112
	tagWritten     = 0x0132 // when the file was written
	tagExif        = 0x8769 // where the next directory lies
	tagGPS         = 0x8825 // where the directory with the position lies
	tagLatitude    = 0x0002 // in that directory
	tagTaken       = 0x9003 // when the picture was taken
)

// exif is what is read of a camera's notes.
type exif struct {
	orientation   int
	orientationAt int // of its value in the notes; 0: none
	when          []string
	located       bool // it says where the picture was taken
}

func readNotes(notes []byte) exif {
	e := exif{orientation: 1}
	order, ok := byteOrder(notes)
	if !ok {
		return e
	}
	e.directory(notes, order, int(order.Uint32(notes[4:])), 0)
	return e
}

// directory reads one list of tags: a count, then twelve bytes each.
func (e *exif) directory(notes []byte, order binary.ByteOrder, at, depth int) {
	if at < 8 || at+2 > len(notes) || depth > 1 {
		return
	}
	for n := int(order.Uint16(notes[at:])); n > 0; n-- {
		tag := at + 2
		at += 12
		if tag+12 > len(notes) {
			return
		}
		value := int(order.Uint32(notes[tag+8:]))
		switch order.Uint16(notes[tag:]) {
		case tagOrientation:
			e.orientation, e.orientationAt = int(order.Uint16(notes[tag+8:])), tag+8
		case tagExif:
			e.directory(notes, order, value, depth+1)
		case tagGPS:
			e.located = e.located || holdsTag(notes, order, value, tagLatitude)
		case tagTaken:
			e.when = slices.Insert(e.when, 0, textAt(notes, value))
		case tagWritten:
			e.when = append(e.when, textAt(notes, value))
		}
	}
}

// holdsTag reports whether the directory at has a tag.
func holdsTag(notes []byte, order binary.ByteOrder, at int, tag uint16) bool {
	if at < 8 || at+2 > len(notes) {
		return false
	}
	for n := int(order.Uint16(notes[at:])); n > 0 && at+4 <= len(notes); n-- {
		if order.Uint16(notes[at+2:]) == tag {
			return true
		}
		at += 12
	}
	return false
}

// Located reports whether a picture's notes say where it was taken.
func Located(data []byte) bool { return readNotes(FindNotes(data)).located }

// textAt is a date and time: "2026:03:02 10:07:31".
func textAt(notes []byte, at int) string {
	const long = 19
	if at < 0 || at+long > len(notes) {
		return ""
	}
	return string(notes[at : at+long])
}

func (e exif) taken() (time.Time, bool) {
	for _, text := range e.when {
		t, err := time.Parse("2006:01:02 15:04:05", strings.TrimSpace(text))
		if err == nil && t.Year() > 1980 { // a clock that was never set says less than none
			return t, true
		}
	}
	return time.Time{}, false
}

// Taken is when a picture was taken, as its camera's clock showed it, in UTC for want
// of a zone.
func Taken(data []byte) (time.Time, bool) { return readNotes(FindNotes(data)).taken() }

// saidUpright is the notes with the picture said to be upright, as it now is.
func saidUpright(notes []byte) []byte {
	out := slices.Clone(notes)
	if order, ok := byteOrder(out); ok {
		if e := readNotes(out); e.orientationAt > 0 {
			order.PutUint16(out[e.orientationAt:], 1)
		}
	}
	return out
}

// Largest is the largest picture that a HEIF file says it holds, in pixels, by its
// image spatial extents (ISO/IEC 23008-12 section 6.5.3); 0 when it says none.
func Largest(data []byte) (width, height int) {
	const head = 1 << 20 // the boxes stand ahead of the pictures
	if len(data) > head {
		data = data[:head]
	}
	for at := 0; ; {
		i := bytes.Index(data[at:], []byte("ispe"))
		if i < 0 || at+i+16 > len(data) {
			return width, height
		}
		at += i
		w, h := int(binary.BigEndian.Uint32(data[at+8:])), int(binary.BigEndian.Uint32(data[at+12:]))
		if w > 0 && h > 0 && w < 1<<16 && h < 1<<16 && w*h > width*height {
			width, height = w, h
		}
		at += 4
	}
}
