package ffmpeg

import ff "github.com/u2takey/ffmpeg-go"

// lumaFormats are the pixel formats of 8 bits that hold brightness in a plane of its own,
// which is taken as it is. ffmpeg turns every other one, such as the RGB of screen
// recorders and old codecs, into the nearest of these. All have one depth, since
// extractplanes can't choose between several.
const lumaFormats = "yuv420p|yuvj420p|yuv422p|yuvj422p|yuv444p|yuvj444p|yuv410p|yuv411p|yuvj411p|yuv440p|yuvj440p"

// Luma is a picture's brightness alone, as a gray picture. A picture that has a plane of
// brightness gives that plane as it is.
func Luma(v *ff.Stream) *ff.Stream {
	return v.Filter("format", ff.Args{lumaFormats}).Filter("extractplanes", ff.Args{"y"})
}
