package handover

import (
	"bytes"
	"image"
	_ "image/jpeg" // the two forms that a logo comes in
	"image/png"
	"io"
	"os"
	"path/filepath"
	"slices"

	"github.com/disintegration/imaging"

	"pushcue/internal/reach"
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

// Bounds on a logo: what is larger isn't one, and is scaled to what a page needs.
const (
	logoBytes  = 20 << 20
	logoPixels = 50_000_000
	logoWide   = 600
	logoHigh   = 270
)

// logoPath is where the firm's logo lies, as the sheet that names it says; "" where
// none is named.
func (j *Job) logoPath() string {
	f := j.Sheet.Firm
	path := filepath.FromSlash(f.Logo)
	switch {
	case f.Logo == "" || filepath.IsAbs(path):
		return path
	case f.LogoDir == "": // named by a person's correction
		return filepath.Join(j.Dir, path)
	}
	return filepath.Join(f.LogoDir, path)
}

// openLogo opens the firm's logo, which lies in the job or beside the sheet that names
// it. The user's own settings may hold a link to it.
func (j *Job) openLogo() (*os.File, error) {
	f, path := j.Sheet.Firm, j.logoPath()
	if j.ask.Settings != "" && f.LogoDir == j.ask.Settings && filepath.IsLocal(filepath.FromSlash(f.Logo)) {
		return reach.Open(path, logoBytes)
	}
	may := *j.reach
	if f.LogoDir != "" {
		may.Folders = append(slices.Clone(may.Folders), f.LogoDir)
	}
	return may.Open(path, logoBytes)
}

// readLogo reads the firm's logo; nil without one. One that can't be used is a
// warning and no reason to make nothing.
func (j *Job) readLogo() (*logo, *timeline.Warning) {
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
	file, err := j.openLogo()
	if err != nil {
		hint = hintOf(err, hint)
		return warn(plainCause(err))
	}
	defer file.Close()
	data, err := io.ReadAll(io.LimitReader(file, logoBytes))
	if err != nil {
		return warn(plainCause(err))
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
