package report

import (
	"bytes"
	"cmp"
	"crypto/sha256"
	"errors"
	"fmt"
	"image/color"
	"image/jpeg"
	"io"
	"slices"
	"strconv"
)

// The PDF writer holds all that it writes in memory, every picture twice. So it is
// given a stub for each, a JPEG head of the same shape that holds nothing, and the
// pictures take the stubs' places as the file goes out.

// A stub stands in for a picture.
type stub struct {
	head []byte // JPEG with the picture's size and number of colours, and its sum, which no other has
	size int64  // of the picture, in bytes
	open func() (io.ReadCloser, error)
}

// stubFor reads a picture once, to its end, to know its shape, length and sum. The
// sum is its name: the PDF writer stores the same picture under two names twice with
// one key, which no PDF may have.
func stubFor(open func() (io.ReadCloser, error)) (name string, s stub, err error) {
	r, err := open()
	if err != nil {
		return "", s, err
	}
	defer r.Close()
	sum := sha256.New()
	read := &counted{r: io.TeeReader(r, sum)}
	shape, err := jpeg.DecodeConfig(read)
	if err != nil {
		return "", s, err
	}
	if _, err := io.Copy(io.Discard, read); err != nil {
		return "", s, err
	}
	name = fmt.Sprintf("%x", sum.Sum(nil))
	colours := byte(3)
	if shape.ColorModel == color.GrayModel {
		colours = 1
	}
	return name, stub{head: head(name, shape.Width, shape.Height, colours), size: read.n, open: open}, nil
}

type counted struct {
	r io.Reader
	n int64
}

func (c *counted) Read(b []byte) (int, error) {
	n, err := c.r.Read(b)
	c.n += int64(n)
	return n, err
}

// opening is how each stub begins: JFIF, then a comment, which is the picture's sum.
var opening = []byte{0xff, 0xd8, 0xff, 0xe0, 0, 16, 'J', 'F', 'I', 'F', 0, 1, 1, 0, 0, 1, 0, 1, 0, 0, 0xff, 0xfe, 0, 2 + sumDigits}

const sumDigits = 2 * sha256.Size

// head is the beginning of a JPEG (ITU-T T.81, annex B): enough to tell its shape.
func head(sum string, width, height int, colours byte) []byte {
	b := append(slices.Clone(opening), sum...)
	b = append(b, 0xff, 0xc0, 0, 8+3*colours, 8, byte(height>>8), byte(height), byte(width>>8), byte(width), colours)
	for i := range colours {
		b = append(b, i+1, 0x11, 0)
	}
	return append(b, 0xff, 0xd9)
}

// An edit puts something else in the place of a piece of a file.
type edit struct {
	at, end int
	text    []byte // what comes instead, or
	stub    *stub  // the picture
}

func (e *edit) grows() int64 {
	if e.stub != nil {
		return e.stub.size - int64(e.end-e.at)
	}
	return int64(len(e.text) - (e.end - e.at))
}

var errForm = errors.New("the PDF isn't in the form that pictures are put into")

// pour writes the PDF with the pictures in the places of their stubs, and the table of
// where its objects begin (ISO 32000-1, 7.5.4) set right.
func pour(w io.Writer, pdf []byte, stubs map[string]stub) error {
	var edits []edit
	for at := 0; ; {
		next := bytes.Index(pdf[at:], opening)
		if next < 0 {
			break
		}
		at += next
		name := pdf[at+len(opening):]
		s, known := stubs[string(name[:min(sumDigits, len(name))])]
		if !known { // a logo
			at += len(opening)
			continue
		}
		tail := fmt.Appendf(nil, "/Length %d>>\nstream\n", len(s.head))
		if !bytes.HasPrefix(pdf[at:], s.head) || !bytes.HasSuffix(pdf[:at], tail) {
			return errForm
		}
		edits = append(edits,
			edit{at: at - len(tail), end: at, text: fmt.Appendf(nil, "/Length %d>>\nstream\n", s.size)},
			edit{at: at, end: at + len(s.head), stub: &s})
		at += len(s.head)
	}
	if len(edits) != 2*len(stubs) {
		return errForm
	}
	table, err := moved(pdf, edits)
	if err != nil {
		return err
	}
	return apply(w, pdf, append(edits, table))
}

// moved is the table at the end of the file, made anew.
func moved(pdf []byte, edits []edit) (edit, error) {
	const mark, entry = "startxref\n", 20
	last := bytes.LastIndex(pdf, []byte(mark))
	if last < 0 {
		return edit{}, errForm
	}
	number, _, _ := bytes.Cut(pdf[last+len(mark):], []byte("\n"))
	start, err := strconv.Atoi(string(number))
	if err != nil || start < 0 || start > last || !bytes.HasPrefix(pdf[start:], []byte("xref\n0 ")) {
		return edit{}, errForm
	}
	grown := make([]int64, len(edits)+1) // by the edits before each
	for i, e := range edits {
		grown[i+1] = grown[i] + e.grows()
	}
	shift := func(at int) int64 {
		before, _ := slices.BinarySearchFunc(edits, at, func(e edit, at int) int { return cmp.Compare(e.at, at) })
		return int64(at) + grown[before]
	}
	text := bytes.Clone(pdf[start:])
	entries := len("xref\n0 ") + bytes.IndexByte(text[len("xref\n0 "):], '\n') + 1
	for at := entries; at+entry <= len(text) && text[at+entry-1] == '\n' && text[at+10] == ' '; at += entry {
		if text[at+17] != 'n' {
			continue
		}
		offset, err := strconv.Atoi(string(text[at : at+10]))
		if err != nil {
			return edit{}, errForm
		}
		copy(text[at:], fmt.Sprintf("%010d", shift(offset)))
	}
	tail := bytes.LastIndex(text, []byte(mark))
	text = fmt.Appendf(text[:tail:tail], "%s%d\n%%%%EOF\n", mark, shift(start))
	return edit{at: start, end: len(pdf), text: text}, nil
}

// apply writes the file with the edits, which stand in order.
func apply(w io.Writer, pdf []byte, edits []edit) error {
	from := 0
	for _, e := range edits {
		if _, err := w.Write(pdf[from:e.at]); err != nil {
			return err
		}
		from = e.end
		if e.stub == nil {
			if _, err := w.Write(e.text); err != nil {
				return err
			}
			continue
		}
		if err := e.stub.copyTo(w); err != nil {
			return err
		}
	}
	_, err := w.Write(pdf[from:])
	return err
}

func (s *stub) copyTo(w io.Writer) error {
	r, err := s.open()
	if err != nil {
		return err
	}
	defer r.Close()
	n, err := io.Copy(w, r)
	if err == nil && n != s.size {
		err = errors.New("a picture changed while the report was written")
	}
	return err
}
