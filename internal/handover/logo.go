package handover

import (
	"bytes"
	"image"
	_ "image/jpeg" // the two forms that a logo comes in
	"image/png"
	"io"
	"os"
	"path/filepath"

	"github.com/disintegration/imaging"

	"pushcue/timeline"
	"pushcue/timeline/jobsheet"
	"pushcue/timeline/words"
)

// A logo is the firm's picture, decoded and encoded anew, so that only pixels of the
// file reach the customer.
type logo struct{ png []byte }

func (l *logo) bytes() []byte {
	if l == nil {
		return nil
	}
	return l.png
}

// Bounds on a logo: what is larger isn't one, and is scaled to what a page needs.
const (
	logoBytes  = 20 << 20
	logoPixels = 50_000_000
	logoWide   = 600
	logoHigh   = 270
)

// readLogo reads the firm's logo; nil without one. One that can't be used is a
// warning and no reason to make nothing.
func readLogo(f jobsheet.Firm) (*logo, *timeline.Warning) {
	if f.Logo == "" {
		return nil, nil
	}
	path := filepath.FromSlash(f.Logo)
	if !filepath.IsAbs(path) {
		path = filepath.Join(f.LogoDir, path)
	}
	warn := func(why words.Sentence) (*logo, *timeline.Warning) {
		return nil, &timeline.Warning{
			Code: "logo-unreadable", Text: words.Tell("the firm's logo %s is left out: %s", f.Logo, why),
			Hint: words.Tell("give a PNG or JPEG picture under [firm] logo"),
		}
	}
	file, err := os.Open(path)
	if err != nil {
		return warn(plainCause(err))
	}
	defer file.Close()
	data, err := io.ReadAll(io.LimitReader(file, logoBytes+1))
	if err != nil || len(data) > logoBytes {
		return warn(words.Tell("it is far too large, or can't be read"))
	}
	shape, form, err := image.DecodeConfig(bytes.NewReader(data))
	if err != nil || form != "png" && form != "jpeg" {
		return warn(words.Tell("it is neither PNG nor JPEG"))
	}
	if shape.Width*shape.Height > logoPixels {
		return warn(words.Tell("it is far too large"))
	}
	picture, _, err := image.Decode(bytes.NewReader(data))
	if err != nil {
		return warn(words.Tell("the picture is damaged"))
	}
	var b bytes.Buffer
	if err := png.Encode(&b, imaging.Fit(plainPixels(picture), logoWide, logoHigh, imaging.Lanczos)); err != nil {
		return warn(words.Tell("it can't be encoded"))
	}
	return &logo{b.Bytes()}, nil
}
