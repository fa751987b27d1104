package handover

import (
	"bytes"
	"image"
	_ "image/jpeg"
	"image/png"
	"io"

	"github.com/disintegration/imaging"

	"pushcue/internal/job"
	"pushcue/internal/safefile"
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
	pixels, why := logoOf(data)
	if !why.Empty() {
		return warn(why)
	}
	return &logo{pixels}, nil
}

// leastLogo is the shortest side of a picture that anybody would recognise, in pixels.
const leastLogo = 16

// logoOf decodes a picture and encodes it anew, no larger than a page needs; why it can't be
// a logo is empty where it can.
func logoOf(data []byte) (pixels []byte, why words.Sentence) {
	shape, form, err := image.DecodeConfig(bytes.NewReader(data))
	if err != nil || form != "png" && form != "jpeg" {
		return nil, words.Tell("it is neither PNG nor JPEG")
	}
	if shape.Width*shape.Height > job.LogoPixels {
		return nil, words.Tell("it is far too large")
	}
	if min(shape.Width, shape.Height) < leastLogo {
		return nil, words.Tell("it is far too small")
	}
	picture, _, err := image.Decode(bytes.NewReader(data))
	if err != nil {
		return nil, words.Tell("the picture is damaged")
	}
	var b bytes.Buffer
	if err := png.Encode(&b, imaging.Fit(plainPixels(picture), job.LogoWide, job.LogoHigh, imaging.Lanczos)); err != nil {
		return nil, words.Tell("it can't be encoded")
	}
	return b.Bytes(), words.Sentence{}
}

// KeepLogo puts a picture into the user's settings as the firm's logo of every job that names
// none. It is decoded and encoded anew. One that can't be a logo is a Refusal, and nothing is
// written then.
func KeepLogo(settings string, data []byte) error {
	pixels, why := logoOf(data)
	if !why.Empty() {
		return &trouble.Refusal{Text: words.Tell("this picture can't be the logo: %s", why), Hint: words.Tell("choose a PNG or JPEG picture")}
	}
	dir, err := safefile.Make(settings)
	if err != nil {
		return trouble.Writing(settings, err)
	}
	defer dir.Close()
	return trouble.Writing(dir.At(job.ChosenLogo), dir.WriteBytes(job.ChosenLogo, pixels))
}

// Logo is the firm's logo as PNG; nil without one, and where it can't be used.
func Logo(j *job.Job) []byte {
	l, _ := readLogo(j)
	return l.bytes()
}
