package frames

import (
	"strings"

	ff "github.com/u2takey/ffmpeg-go"

	"pushcue/internal/ffmpeg"
)

// meaning is what the part's values stand for. What a file leaves open is taken the
// way players take it: as BT.709 in a large picture, as BT.601 in a small one (common
// practice, no published source). It has to be said in what is made from it, since
// players would judge the captioned picture by its own size, which the strip changes.
func (p *Part) meaning() ffmpeg.Color {
	v := p.Media.Video
	c := v.Color
	c.Range = "tv" // of what Joined gives, whatever the file has
	if p.mapped {
		return ffmpeg.Color{Range: "tv", Space: "bt709", Primaries: "bt709", Transfer: "bt709"}
	}
	switch {
	case c.Space != "" && !p.rgb():
		return c
	case v.Height >= 720 || v.Width >= 1280:
		c.Space = "bt709"
	case v.Height == 576 || v.Height == 288:
		c.Space = "bt470bg"
	default:
		c.Space = "smpte170m"
	}
	if c.Primaries == "" {
		c.Primaries = c.Space
	}
	if c.Transfer == "" {
		c.Transfer = "bt709" // BT.601 has the same curve
	}
	return c
}

// rgb tells a recording that has no matrix, such as uncompressed AVI.
func (p *Part) rgb() bool {
	f := p.Media.Video.PixelFormat
	return p.Media.Video.Color.Space == "gbr" || f == "pal8" ||
		strings.Contains(f, "rgb") || strings.Contains(f, "bgr") || strings.HasPrefix(f, "gbr")
}

// fullRange tells whether black is 0 in the file, as in Motion JPEG, and not 16.
func (p *Part) fullRange() bool {
	return p.Media.Video.Color.Range == "pc" || strings.HasPrefix(p.Media.Video.PixelFormat, "yuvj")
}

// converted are the scaler's options that give a part's values the meaning of the
// first part's. Asked for only where needed: it costs a pass over every picture.
func (r *Recording) converted(p *Part) ff.KwArgs {
	options := ff.KwArgs{"flags": "bicubic+accurate_rnd"}
	if p.fullRange() && !p.mapped {
		options["out_range"] = "tv"
	}
	from, to := scalerName(p.meaning().Space), scalerName(r.Parts[0].meaning().Space)
	switch {
	case p.rgb():
		options["out_color_matrix"] = to
	case from != to:
		options["in_color_matrix"], options["out_color_matrix"] = from, to
	}
	return options
}

// scalerName is what ffmpeg's scaler calls a matrix.
func scalerName(space string) string {
	switch space {
	case "smpte170m", "bt470bg":
		return "bt601"
	case "bt2020nc", "bt2020c":
		return "bt2020"
	case "bt709", "smpte240m", "fcc":
		return space
	}
	return "auto"
}

// tagged writes on the pictures what their values mean.
func (r *Recording) tagged(v *ff.Stream) *ff.Stream {
	c := r.Parts[0].meaning()
	tags := ff.KwArgs{"range": c.Range, "colorspace": c.Space}
	if c.Primaries != "" {
		tags["color_primaries"] = c.Primaries
	}
	if c.Transfer != "" {
		tags["color_trc"] = c.Transfer
	}
	return v.Filter("setparams", nil, tags)
}
