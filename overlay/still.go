package overlay

import (
	"image"
	"image/color"
	"image/draw"
	"math"

	"golang.org/x/image/font"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/math/fixed"

	"pushcue/timeline"
)

// CaptionStill returns img with its caption, for a layout made with Spec.Still:
// what is known of the moment of that frame, and of the observation (nil: none) its
// number, kind and distance, which may be another than where a picture taken a little
// before or after it shows the pipe. The picture's own pixels stay as they are unless the
// captions stand over it. img may be of any size; captions are placed as for the
// layout's.
func (l *Layout) CaptionStill(img image.Image, frame int, o *timeline.Observation) image.Image {
	out := image.NewRGBA(image.Rect(0, 0, l.Width, l.Height))
	if l.Width != l.Picture.Dx() || l.Height != l.Picture.Dy() {
		draw.Draw(out, out.Rect, image.NewUniform(color.Gray{groundLevel}), image.Point{}, draw.Src)
	}
	draw.Draw(out, l.Picture, img, img.Bounds().Min, draw.Src)
	if l.Place.Rows == 0 {
		return out
	}
	draw.Draw(out, l.Place.Ground, image.NewUniform(color.Gray{groundLevel}), image.Point{}, draw.Src)
	pen := l.pen(out.SubImage(l.Place.Ground).(draw.Image))
	line := 0
	at := l.teller.t.Recording.Frames[frame]
	for _, s := range l.set.slots {
		var text string
		switch s.field {
		case fieldLine:
			text = l.set.line[line]
			line++
		case fieldDistance:
			text = l.teller.words.WhereShown(o, at)
		case fieldTime:
			text = l.teller.words.TimeAt(at)
		case fieldLabel:
			if o == nil {
				continue
			}
			lines, _ := l.size.wrap(l.teller.label(o), s.wide, 1, l.more)
			text = lines[0]
		}
		l.write(pen, s, text)
	}
	return out
}

// A pen draws text without the font's kerning: libass, as ffmpeg runs it, sets
// none either, so that a still's caption looks like the video's.
type pen struct {
	onto draw.Image
	face font.Face
}

var ink = image.NewUniform(color.Gray{inkLevel})

func (l *Layout) pen(onto draw.Image) pen {
	face, err := opentype.NewFace(parsed(), &opentype.FaceOptions{Size: l.size.em(), DPI: 72})
	if err != nil {
		panic(err) // the options are ours
	}
	return pen{onto, face}
}

func (l *Layout) write(p pen, s slot, text string) {
	text = visual(shape(text))
	x := l.across(l.Place, s)
	if s.right {
		x -= float64(p.wide(text)) / 64
	}
	p.draw(text, fixed.Point26_6{X: fixed.Int26_6(math.Round(x * 64)), Y: fixed.I(int(l.baseline(l.Place, s.row)))})
}

func (p pen) wide(text string) (w fixed.Int26_6) {
	for _, r := range text {
		a, _ := p.face.GlyphAdvance(r)
		w += a
	}
	return w
}

func (p pen) draw(text string, at fixed.Point26_6) {
	for _, r := range text {
		where, mask, from, advance, ok := p.face.Glyph(at, r)
		if ok {
			draw.DrawMask(p.onto, where, ink, image.Point{}, mask, from, draw.Over)
		}
		at.X += advance
	}
}
