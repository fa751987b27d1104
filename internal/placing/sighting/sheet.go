package sighting

import (
	"image"
	"image/color"
	"image/draw"
	"strings"
	"sync"

	"github.com/disintegration/imaging"
	"github.com/go-fonts/dejavu/dejavusans"
	"golang.org/x/image/font"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/math/fixed"
)

// A section of the sheet is one counter: where it stands on a frame, what is known
// of it, and some looks at it beside what was read.
type section struct {
	Picture image.Image
	Box     image.Rectangle // on Picture
	Facts   []string
	Crops   []crop
}

// A crop is one look at the counter.
type crop struct {
	Picture image.Image
	Read    string
	Note    string // when it was, and why it's shown
}

// The sheet's measures, in pixels.
const (
	sheetWidth   = 1000
	edge         = 24
	frameWidth   = 560
	frameHeight  = 420
	cropsInARow  = 5
	cropGap      = 16
	cropHeight   = 84
	cropWidth    = (sheetWidth - 2*edge - (cropsInARow-1)*cropGap) / cropsInARow
	smallText    = 15
	plainText    = 18
	largeText    = 26
	mostEnlarged = 6
)

var (
	ground = color.NRGBA{0xfb, 0xfa, 0xf7, 0xff}
	ink    = color.NRGBA{0x1d, 0x1d, 0x1d, 0xff}
	paler  = color.NRGBA{0x55, 0x55, 0x55, 0xff}
	ring   = color.NRGBA{0xff, 0x5a, 0x1f, 0xff}
)

// drawn is the sheet by which a person confirms what was read: a title, a
// section a counter, and what to do at the foot.
func drawn(title string, sections []section, foot []string) image.Image {
	s := &sheet{img: image.NewNRGBA(image.Rectangle{}), y: edge}
	s.text(edge, sheetWidth-edge, title, largeText, ink)
	for _, section := range sections {
		s.y += edge / 2
		s.section(section)
	}
	s.y += edge / 2
	for _, line := range foot {
		s.text(edge, sheetWidth-edge, line, plainText, ink)
	}
	s.grow(s.y + edge)
	return s.img.SubImage(image.Rect(0, 0, sheetWidth, s.y+edge))
}

// A sheet grows downwards as things are drawn.
type sheet struct {
	img *image.NRGBA
	y   int
}

func (s *sheet) grow(height int) {
	if height <= s.img.Rect.Dy() {
		return
	}
	larger := image.NewNRGBA(image.Rect(0, 0, sheetWidth, height+400))
	draw.Draw(larger, larger.Rect, image.NewUniform(ground), image.Point{}, draw.Src)
	draw.Draw(larger, s.img.Rect, s.img, image.Point{}, draw.Src)
	s.img = larger
}

func (s *sheet) section(c section) {
	top := s.y
	scaled := imaging.Fit(c.Picture, frameWidth, frameHeight, imaging.Lanczos)
	k := float64(scaled.Rect.Dx()) / float64(max(1, c.Picture.Bounds().Dx()))
	if k >= 1 {
		k = float64(frameWidth) / float64(c.Picture.Bounds().Dx())
		scaled = imaging.Resize(c.Picture, frameWidth, 0, imaging.Lanczos)
	}
	at := image.Pt(edge, top)
	s.grow(top + scaled.Rect.Dy())
	draw.Draw(s.img, scaled.Rect.Add(at), scaled, image.Point{}, draw.Src)
	mark := func(v int) int { return int(float64(v)*k + 0.5) }
	s.outline(image.Rect(mark(c.Box.Min.X), mark(c.Box.Min.Y), mark(c.Box.Max.X), mark(c.Box.Max.Y)).Inset(-4).Add(at).Intersect(scaled.Rect.Add(at)), 3)

	right := edge + scaled.Rect.Dx() + edge
	for _, fact := range c.Facts {
		s.text(right, sheetWidth-edge, fact, plainText, ink)
		s.y += 6
	}
	s.y = max(s.y, top+scaled.Rect.Dy()) + edge
	s.crops(c.Crops)
}

func (s *sheet) crops(crops []crop) {
	top, foot := s.y, s.y
	tallest := 0
	for i, c := range crops[:min(len(crops), cropsInARow)] {
		crops[i].Picture = enlarged(c.Picture)
		tallest = max(tallest, crops[i].Picture.Bounds().Dy())
	}
	s.grow(top + tallest)
	for i, c := range crops[:min(len(crops), cropsInARow)] {
		x := edge + i*(cropWidth+cropGap)
		b := c.Picture.Bounds()
		at := image.Pt(x, top+tallest-b.Dy())
		draw.Draw(s.img, image.Rectangle{Min: at, Max: at.Add(b.Size())}, c.Picture, b.Min, draw.Src)
		s.y = top + tallest + 6
		s.text(x, x+cropWidth, c.Read, largeText, ink)
		s.text(x, x+cropWidth, c.Note, smallText, paler)
		foot = max(foot, s.y)
	}
	s.y = foot
}

func enlarged(crop image.Image) image.Image {
	size := crop.Bounds().Size()
	k := min(mostEnlarged, float64(cropWidth)/float64(max(1, size.X)), float64(cropHeight)/float64(max(1, size.Y)))
	return imaging.Resize(crop, max(1, int(k*float64(size.X))), max(1, int(k*float64(size.Y))), imaging.CatmullRom)
}

func (s *sheet) outline(b image.Rectangle, wide int) {
	for _, side := range []image.Rectangle{
		image.Rect(b.Min.X, b.Min.Y, b.Max.X, b.Min.Y+wide), image.Rect(b.Min.X, b.Max.Y-wide, b.Max.X, b.Max.Y),
		image.Rect(b.Min.X, b.Min.Y, b.Min.X+wide, b.Max.Y), image.Rect(b.Max.X-wide, b.Min.Y, b.Max.X, b.Max.Y),
	} {
		draw.Draw(s.img, side, image.NewUniform(ring), image.Point{}, draw.Src)
	}
}

// text writes a paragraph between two edges and moves on below it.
func (s *sheet) text(from, to int, text string, size float64, c color.Color) {
	face, err := faceOf(size)
	if err != nil {
		return // the font is part of the program
	}
	defer face.Close()
	m := face.Metrics()
	for _, line := range wrapped(face, text, to-from) {
		s.grow(s.y + m.Height.Ceil())
		d := font.Drawer{Dst: s.img, Src: image.NewUniform(c), Face: face, Dot: fixed.P(from, s.y+m.Ascent.Ceil())}
		d.DrawString(line)
		s.y += m.Height.Ceil()
	}
}

func wrapped(face font.Face, text string, width int) (lines []string) {
	line := ""
	for _, word := range strings.Fields(text) {
		longer := word
		if line != "" {
			longer = line + " " + word
		}
		if line != "" && font.MeasureString(face, longer).Ceil() > width {
			lines = append(lines, line)
			longer = word
		}
		line = longer
	}
	return append(lines, line)
}

var parsed = sync.OnceValues(func() (*opentype.Font, error) { return opentype.Parse(dejavusans.TTF) })

func faceOf(size float64) (font.Face, error) {
	f, err := parsed()
	if err != nil {
		return nil, err
	}
	return opentype.NewFace(f, &opentype.FaceOptions{Size: size, DPI: 72, Hinting: font.HintingFull})
}
