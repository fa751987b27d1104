package report

import (
	"bytes"
	"encoding/gob"
	"errors"
	"io"

	"codeberg.org/go-pdf/fpdf"
)

// register hands a picture to the PDF writer, so that it has its place in the file by
// when it was first handed over. The writer places pictures by their width and else by
// chance, and all stills of a recording are equally wide: each one's width is told as
// a billionth of a pixel more than the last one's, of which nothing is written out.
func (s *sheets) register(name, kind string, picture io.Reader) (*fpdf.ImageInfoType, error) {
	if info := s.GetImageInfo(name); info != nil {
		return info, nil
	}
	info := s.RegisterImageOptionsReader(name, fpdf.ImageOptions{ImageType: kind}, picture)
	if s.Err() {
		return nil, s.Error()
	}
	if info == nil {
		return nil, errors.New("it isn't a picture")
	}
	s.registered++
	return info, widen(info, 1e-9*float64(s.registered))
}

// widen adds to a picture's width by way of the one form in which the PDF writer lets
// its fields be read and set.
func widen(info *fpdf.ImageInfoType, by float64) error {
	encoded, err := info.GobEncode()
	if err != nil {
		return err
	}
	var (
		data, mask, palette     []byte
		object, bits            int
		w, h, scale, dpi        float64
		space, filter, settings string
		transparent             []int
	)
	fields := []any{&data, &mask, &object, &w, &h, &space, &palette, &bits, &filter, &settings, &transparent, &scale, &dpi}
	in := gob.NewDecoder(bytes.NewReader(encoded))
	for _, f := range fields {
		if err := in.Decode(f); err != nil {
			return err
		}
	}
	w += by
	var changed bytes.Buffer
	out := gob.NewEncoder(&changed)
	for _, f := range fields {
		if err := out.Encode(f); err != nil {
			return err
		}
	}
	return info.GobDecode(changed.Bytes())
}
