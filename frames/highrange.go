package frames

import (
	"fmt"

	ff "github.com/u2takey/ffmpeg-go"
)

// HighRange tells a recording whose values reach beyond an ordinary screen's (ITU-R
// BT.2100, by PQ or HLG), as newer phones film. Shown as they are, its pictures look
// grey and washed out.
func (p *Part) HighRange() bool {
	return p.Media.Video.Color.Transfer == "smpte2084" || p.Media.Video.Color.Transfer == "arib-std-b67"
}

// Mapped tells whether a high dynamic range is brought into an ordinary screen's, which
// not every ffmpeg can.
func (p *Part) Mapped() bool { return p.mapped }

// White in such a recording is 203 candelas a square metre (ITU-R BT.2408), and lights
// are kept up to 1,000, as they are usually mastered (common practice). Up to half of
// white nothing is changed; what is brighter is drawn together, so that it stays apart.
const (
	whiteNits   = 203
	brightNits  = 1000
	keptOfWhite = 0.5
)

// ordinary brings a high dynamic range into an ordinary screen's: light, then BT.709's
// colours, then the brightest drawn together.
func (p *Part) ordinary(v *ff.Stream) *ff.Stream {
	if !p.mapped {
		return v
	}
	c := p.Media.Video.Color
	from := ff.KwArgs{"transferin": c.Transfer, "matrixin": "2020_ncl", "primariesin": "2020", "rangein": "limited", "transfer": "linear", "npl": fmt.Sprint(whiteNits)}
	if c.Space == "bt2020c" {
		from["matrixin"] = "2020_cl"
	}
	if p.fullRange() {
		from["rangein"] = "full"
	}
	return v.Filter("zscale", nil, from).
		Filter("format", ff.Args{"gbrpf32le"}).
		Filter("zscale", nil, ff.KwArgs{"primaries": "709"}).
		Filter("tonemap", nil, ff.KwArgs{"tonemap": "mobius", "param": fmt.Sprint(keptOfWhite), "peak": fmt.Sprintf("%.3f", float64(brightNits)/whiteNits), "desat": "0"}).
		Filter("zscale", nil, ff.KwArgs{"transfer": "709", "matrix": "709", "range": "limited"}).
		Filter("format", ff.Args{"yuv420p"})
}
