package handover

import (
	"bytes"
	"image"
	_ "image/jpeg"
	"image/png"
	"io"

	"github.com/disintegration/imaging"

	"pushcue/internal/job"
	"pushcue/internal/trouble"
	"pushcue/timeline"
	"pushcue/timeline/codes"
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

// readLogo reads the firm's logo; nil without one. One that can't be used is a
// warning and no reason to make nothing.
func readLogo(j *job.Job) (*logo, *timeline.Warning) {
	f := j.Sheet.Firm
	if f.Logo == "" {
		return nil, nil
	}
	hint := words.Tell("give a PNG or JPEG picture under [firm] logo")
	warn := func(why words.Sentence) (*logo, *timeline.Warning) {
		return nil, &timeline.Warning{
			Code: codes.LogoUnreadable, Text: words.Tell("the firm's logo %s is left out: %s", f.Logo, why),
			Hint: hint,
		}
	}
	file, err := j.OpenLogo()
	if err != nil {
		hint = job.HintOf(err, hint)
		return warn(trouble.PlainCause(err))
	}
	defer file.Close()
	data, err := io.ReadAll(io.LimitReader(file, job.LogoBytes))
	if err != nil {
		return warn(trouble.PlainCause(err))
	}
	shape, form, err := image.DecodeConfig(bytes.NewReader(data))
	if err != nil || form != "png" && form != "jpeg" {
		return warn(words.Tell("it is neither PNG nor JPEG"))
	}
	if shape.Width*shape.Height > job.LogoPixels {
		return warn(words.Tell("it is far too large"))
	}
	picture, _, err := image.Decode(bytes.NewReader(data))
	if err != nil {
		return warn(words.Tell("the picture is damaged"))
	}
	var b bytes.Buffer
	if err := png.Encode(&b, imaging.Fit(plainPixels(picture), job.LogoWide, job.LogoHigh, imaging.Lanczos)); err != nil {
		return warn(words.Tell("it can't be encoded"))
	}
	return &logo{b.Bytes()}, nil
}
