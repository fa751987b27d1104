package handover

import (
	"context"
	"fmt"
	"image"
	"image/color"
	"io"
	"maps"
	"math"
	"path/filepath"
	"strings"
	"testing"

	"pushcue/frames"
	"pushcue/internal/ffmpeg"
	"pushcue/internal/placing"
	"pushcue/internal/reach"
	"pushcue/internal/soak"
	"pushcue/internal/testfootage"
)

// patches of known colours, in columns.
var patches = []color.RGBA{
	{255, 255, 255, 255}, {191, 191, 0, 255}, {0, 191, 191, 255}, {20, 160, 60, 255},
	{191, 0, 191, 255}, {200, 40, 30, 255}, {30, 60, 220, 255}, {128, 128, 128, 255}, {150, 110, 70, 255}, {0, 0, 0, 255},
}

// A painting is footage of the patches, encoded so.
type painting struct {
	file          string
	width, height int
	filter        string // makes of RGB what is encoded
	codec         []string
}

const paintedFrames = 6

func (p painting) make(t *testing.T) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), p.file)
	row := make([]byte, 0, 3*p.width)
	for x := range p.width {
		c := patches[x*len(patches)/p.width]
		row = append(row, c.R, c.G, c.B)
	}
	args := []string{"-f", "rawvideo", "-pix_fmt", "rgb24", "-s", fmt.Sprintf("%dx%d", p.width, p.height), "-r", "25", "-i", "pipe:0", "-vf", p.filter}
	err := testfootage.Encode(context.Background(), func(w io.Writer) error {
		for range paintedFrames * p.height {
			if _, err := w.Write(row); err != nil {
				return err
			}
		}
		return nil
	}, append(append(args, p.codec...), path)...)
	if err != nil {
		t.Fatal(err)
	}
	return path
}

func matrixed(matrix, fullness, tags string) string {
	f := "scale=out_color_matrix=" + matrix + ":out_range=" + fullness + ",format=yuv420p"
	if tags != "" {
		f += fmt.Sprintf(",setparams=range=%s:colorspace=%s:color_primaries=%[2]s:color_trc=bt709", fullness, tags)
	}
	return f
}

var (
	x264   = []string{"-c:v", "libx264", "-preset", "veryfast", "-qp", "4"}
	sd601  = painting{"sd.mp4", 160, 120, matrixed("bt601", "tv", "smpte170m"), x264}
	hd709  = painting{"hd.mp4", 960, 720, matrixed("bt709", "tv", "bt709"), x264}
	motion = painting{"full.avi", 160, 120, "scale=out_color_matrix=bt601:out_range=pc,format=yuvj420p", []string{"-c:v", "mjpeg", "-q:v", "2"}}
)

// What a colour is in the recording it is in the captioned video, read as its tags
// say, and in the still, read as JPEG. Two jobs of several parts bring every kind into
// the first one's; those that are alone, or in another order, are left to a soak.
func TestColoursAreThoseOfTheRecording(t *testing.T) {
	rgb := painting{"rgb.avi", 160, 120, "null", []string{"-c:v", "rawvideo", "-pix_fmt", "bgr24"}}
	silent601 := painting{"silent.mp4", 160, 120, matrixed("bt601", "tv", ""), x264}
	silent709 := painting{"large.mp4", 960, 720, matrixed("bt709", "tv", ""), x264}
	small709 := painting{"small.mkv", 160, 120, matrixed("bt709", "tv", "bt709"), x264}
	full709 := painting{"wide.mp4", 160, 120, strings.Replace(matrixed("bt709", "pc", "bt709"), "yuv420p", "yuvj420p", 1), x264}
	jobs := map[string][]painting{
		"BT.709, small": {small709},
		"says nothing, then full range, RGB, full range BT.709": {silent601, motion, rgb, full709},
		"large and says nothing, then BT.601, full range":       {silent709, sd601, motion},
	}
	if soak.On() {
		maps.Copy(jobs, map[string][]painting{
			"RGB, uncompressed": {rgb}, "BT.601, says nothing": {silent601}, "BT.709, says nothing": {silent709}, "full range, Motion JPEG": {motion}, "full range, BT.709": {full709},
			"BT.601, large":             {{"a.mp4", 960, 720, matrixed("bt601", "tv", "smpte170m"), x264}},
			"small BT.601, then BT.709": {sd601, hd709}, "large BT.709, then BT.601": {hd709, sd601}, "full range, then BT.709": {motion, hd709},
		})
	}
	for name, parts := range jobs {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			var files []string
			var log strings.Builder
			log.WriteString("video,what\n")
			for i, p := range parts {
				files = append(files, p.make(t))
				fmt.Fprintf(&log, "%.2f,roots\n", float64(i*paintedFrames+3)/25)
			}
			r := makeJob(t, jobOf(t, "[counter]\nlook = \"off\"\n[stills]\nwindow = \"0s\"\n", log.String(), files...), Options{Only: []string{"video", "stills"}})
			rec := r.Placed[0].Recording
			var frames []int
			for i := range parts {
				frames = append(frames, i*paintedFrames+3)
			}
			video := videoColours(t, filepath.Join(r.Out, "video", "job.mp4"), frames...)
			for i := range parts {
				stills, err := filepath.Glob(filepath.Join(r.Out, "stills", fmt.Sprintf("%02d*.jpg", i+1)))
				if err != nil || len(stills) != 1 {
					t.Fatalf("stills: %q %v", stills, err)
				}
				checkPatches(t, "the still of part "+fmt.Sprint(i+1), rec.Height, stillColours(t, stills[0]))
				checkPatches(t, "the captioned video's part "+fmt.Sprint(i+1), rec.Height, video[i])
			}
		})
	}
}

// highRange encodes the patches as PQ or HLG do, with white at 203 candelas (BT.2408).
func highRange(file, transfer string) painting {
	return painting{file, 320, 240, "format=gbrp,setparams=range=pc:colorspace=gbr:color_primaries=bt709:color_trc=bt709,zscale=transfer=linear:npl=203,format=gbrpf32le," +
		"zscale=primaries=2020,zscale=transfer=" + transfer + ":matrix=2020_ncl:range=limited:npl=203,format=yuv420p10le," +
		"setparams=range=tv:colorspace=bt2020nc:color_primaries=bt2020:color_trc=" + transfer,
		x264}
}

// A recording of high dynamic range is shown as an ordinary screen shows light: dark
// and middling colours are those that were filmed, and white is bright.
func TestAHighDynamicRangeIsBroughtIntoAnOrdinaryScreens(t *testing.T) {
	transfers := []string{"smpte2084"}
	if soak.On() {
		transfers = append(transfers, "arib-std-b67")
	}
	for _, transfer := range transfers {
		t.Run(transfer, func(t *testing.T) {
			t.Parallel()
			filmed := highRange("a.mp4", transfer).make(t)
			namesThatItCantMapTones(t, filmed)
			r := makeJob(t, jobOf(t, "[stills]\nwindow = \"0s\"\n", "video,what\n0.12,roots\n", filmed), Options{Only: []string{"video", "stills"}})
			for _, w := range r.Warnings {
				t.Errorf("warned: %s", w.Text)
			}
			stills, err := filepath.Glob(filepath.Join(r.Out, "stills", "01*.jpg"))
			if err != nil || len(stills) != 1 {
				t.Fatalf("stills: %q %v", stills, err)
			}
			for what, s := range map[string]shown{"still": stillColours(t, stills[0]), "video": videoColours(t, filepath.Join(r.Out, "video", "job.mp4"), 3)[0]} {
				for i, want := range patches {
					got := s.at((2*i+1)*s.size.X/(2*len(patches)), s.size.Y-160)
					most := 12 // of 255: the most colourful are bright in one colour
					if i == 0 {
						most = 40 // white makes room for what is brighter
					}
					if d := max(far(got.R, want.R), far(got.G, want.G), far(got.B, want.B)); d > most {
						t.Errorf("%s: patch %d is %v, was %v", what, i+1, got, want)
					}
				}
			}
		})
	}
}

// namesThatItCantMapTones opens a recording of high dynamic range with an ffmpeg that
// can't bring it into an ordinary screen's.
func namesThatItCantMapTones(t *testing.T, path string) {
	t.Helper()
	tools := *realTools(t)
	tools.MapsTones = false
	rec, err := frames.Open(context.Background(), &tools, []*reach.Source{reach.Named(path, "a.mp4")}, frames.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if said := placing.WashedOut(rec); len(said) != 1 || !strings.Contains(said[0].Text.String(), "a.mp4") {
		t.Errorf("it can't map tones, and says %v", said)
	}
}

// A shown is a picture with a strip above: its size, and the colour of each pixel.
type shown struct {
	size image.Point
	at   func(x, y int) color.RGBA
}

// checkPatches looks at the middle of each patch, a third from the picture's top.
func checkPatches(t *testing.T, what string, lines int, s shown) {
	t.Helper()
	const most = 6 // of 255: roundings, and what two encoders lose
	for i, want := range patches {
		x := (2*i + 1) * s.size.X / (2 * len(patches))
		got := s.at(x, s.size.Y-lines*2/3)
		if far(got.R, want.R) > most || far(got.G, want.G) > most || far(got.B, want.B) > most {
			t.Errorf("%s: patch %d is %v, was %v", what, i+1, got, want)
		}
	}
}

func far(a, b uint8) int { return max(int(a)-int(b), int(b)-int(a)) }

func stillColours(t *testing.T, path string) shown {
	t.Helper()
	img := still(t, path)
	return shown{img.Bounds().Size(), func(x, y int) color.RGBA { return color.RGBAModel.Convert(img.At(x, y)).(color.RGBA) }}
}

// videoColours reads some frames by the formulas of ITU-R BT.601 and BT.709: 219 steps of
// luma from 16, 224 of colour difference around 128.
func videoColours(t *testing.T, path string, frames ...int) (all []shown) {
	t.Helper()
	media, err := realTools(t).Probe(context.Background(), reach.Named(path, filepath.Base(path)))
	if err != nil {
		t.Fatal(err)
	}
	v := media.Video
	kr, kb := 0.299, 0.114
	switch v.Color.Space {
	case "bt709":
		kr, kb = 0.2126, 0.0722
	case "smpte170m", "bt470bg":
	default:
		t.Errorf("%s doesn't say what its colours mean: %+v", filepath.Base(path), v.Color)
	}
	if v.Color.Range != "tv" || v.PixelFormat != "yuv420p" {
		t.Errorf("%s has range %q, pixels %q", filepath.Base(path), v.Color.Range, v.PixelFormat)
	}
	var decoded []byte
	_, err = realTools(t).Do(context.Background(), ffmpeg.Run{
		Sources: []*reach.Source{media.Source},
		Args:    []string{"-i", "file:" + path, "-fps_mode", "passthrough", "-f", "rawvideo", "pipe:1"},
		Stdout:  func(r io.Reader) error { decoded, err = io.ReadAll(r); return err },
	})
	if err != nil {
		t.Fatal(err)
	}
	w, h := v.Width, v.Height
	size := w * h * 3 / 2
	for _, n := range frames {
		if (n+1)*size > len(decoded) {
			t.Fatalf("%s has no frame %d", filepath.Base(path), n)
		}
		pix := decoded[n*size:]
		all = append(all, shown{image.Pt(w, h), func(x, y int) color.RGBA {
			c := y/2*(w/2) + x/2
			luma := (float64(pix[y*w+x]) - 16) / 219
			blue, red := (float64(pix[w*h+c])-128)/224, (float64(pix[w*h+w*h/4+c])-128)/224
			r, b := luma+2*(1-kr)*red, luma+2*(1-kb)*blue
			g := (luma - kr*r - kb*b) / (1 - kr - kb)
			level := func(f float64) uint8 { return uint8(math.Round(255 * min(max(f, 0), 1))) }
			return color.RGBA{level(r), level(g), level(b), 255}
		}})
	}
	return all
}
