package handover

import (
	"bufio"
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	ff "github.com/u2takey/ffmpeg-go"

	"pushcue/frames"
	"pushcue/internal/ffmpeg"
	"pushcue/internal/job"
	"pushcue/internal/reach"
	"pushcue/internal/safefile"
	"pushcue/internal/shelf"
	"pushcue/internal/trouble"
	"pushcue/overlay"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// A setting is how x264 is asked to encode.
type setting struct {
	Preset string `json:"preset"`
	CRF    int    `json:"crf"`
	// Most is the largest size allowed, as a multiple of the recording's; 0: no limit is set.
	// With a limit the encoder works in one thread, since with several of them its rate
	// control gives other bytes in each run.
	Most float64 `json:"most,omitempty"`
}

// smallest is the setting for small files, and for recordings too short for a trial to pay.
var smallest = setting{Preset: "veryfast", CRF: 21, Most: mostTimes}

// What the setting has to keep, measured on the filmed picture against the source.
const (
	leastMean  = 0.985 // SSIM over all frames of the trial
	leastWorst = 0.96  // SSIM of the worst hundredth of them
	clearly    = 0.8   // of the size allowed: below it no limit has to be set
	fewBits    = 0.05  // bits a pixel of a recording that may grow by half
)

// figures are what a trial measured of a setting.
type figures struct {
	Mean  float64 `json:"ssim"`
	Worst float64 `json:"worst"` // hundredth of the frames
	Size  float64 `json:"size"`  // by the recording's, per second
}

func (f figures) good() bool { return f.Mean >= leastMean && f.Worst >= leastWorst }

// short is how far the figures are from what is asked for.
func (f figures) short() float64 { return max(leastMean-f.Mean, leastWorst-f.Worst) }

// presets are x264's, from the fastest on.
var presets = []string{"ultrafast", "superfast", "veryfast"}

// The qualities that are tried, the best one first. The size halves in halving steps of
// them, as measured on footage of drains.
const (
	bestRate, firstRate, worstRate, rateStep = 15, 21, 30, 3
	halving                                  = 6.3
)

// A choice is the setting for a recording, and what its trial measured.
type choice struct {
	setting
	Measured figures `json:"measured"`
	Tried    int     `json:"tried"` // settings; 0: none, the recording is too short, or small files were asked for
}

func (c choice) sentence() words.Sentence {
	if c.Tried == 0 {
		return words.Tell("encoding with x264 %s at quality %d", c.Preset, c.CRF)
	}
	return words.Tell("encoding with x264 %s at quality %d: measured SSIM %s, worst hundredth %s, size about %s of the recording's",
		c.Preset, c.CRF, fmt.Sprintf("%.4f", c.Measured.Mean), fmt.Sprintf("%.4f", c.Measured.Worst), fmt.Sprintf("%.2f", c.Measured.Size))
}

// record is what the handover's record tells of the choice.
func (c choice) record() string { return c.sentence().String() }

// encoderKey is what the key of a video has of its encoder and its setting. That of the
// smallest is the encoder's name alone, as before there was a choice, so that handovers made
// then are still right.
func (m *making) encoderKey(most float64) string {
	s := m.encoding.setting
	if s.Most = most; s == smallest {
		return m.tools.Encoder
	}
	return fmt.Sprintf("%s %s %d %g", m.tools.Encoder, s.Preset, s.CRF, s.Most)
}

// fastest picks the fastest setting that keeps quality and size. Within a preset the rate
// goes down where the quality doesn't hold, and up by as much as is needed where the size
// doesn't; the next preset begins where this one ended. Where no setting keeps both, quality
// comes before size.
func fastest(most float64, try func(setting) (figures, error)) (choice, error) {
	var all []choice
	rate := firstRate
	for _, preset := range presets {
		for large, ugly := false, false; !(large && ugly); {
			s := setting{Preset: preset, CRF: rate}
			f, err := try(s)
			if err != nil {
				return choice{}, err
			}
			small := f.Size <= most
			if f.Size > most*clearly {
				s.Most = most
			}
			all = append(all, choice{setting: s, Measured: f, Tried: len(all) + 1})
			if f.good() && small {
				return all[len(all)-1], nil
			}
			large, ugly = large || !small, ugly || !f.good()
			next := rate - rateStep
			if !small {
				next = rate + max(1, int(math.Ceil(halving*math.Log2(f.Size/most))))
			}
			if next = min(max(next, bestRate), worstRate); next == rate {
				break
			}
			if !(large && ugly) {
				rate = next
			}
		}
	}
	best := slices.MinFunc(all, func(a, b choice) int {
		return cmp.Or(cmp.Compare(max(0, a.Measured.short()), max(0, b.Measured.short())), cmp.Compare(a.Measured.Size, b.Measured.Size))
	})
	best.Most, best.Tried = max(mostTimes, most), len(all)
	return best, nil
}

// The pieces of a trial. A recording shorter than worthTrying costs less to encode slowly
// than to try out.
const (
	pieceSeconds = 1
	worthTrying  = 60 * timecode.Video(1e9)
	trialName    = "encoding.json"
	trialBytes   = 1 << 20
)

// A kept choice stands in the work folder. A stranger's, or one for anything else, is made anew.
type keptChoice struct {
	Of     string `json:"of"` // the sum of what the choice hangs on
	Choice choice `json:"choice"`
	Seal   string `json:"seal"`
}

func (k keptChoice) claim() []any { return []any{"encoding", k.Of, k.Choice} }

// chooseEncoding finds how the recording's pictures are to be encoded: by the recording and the
// sheet alone, so that the same job gives the same bytes.
func (m *making) chooseEncoding(ctx context.Context) (choice, error) {
	rec := m.placed.Recording
	c := choice{setting: smallest}
	if m.tools.Encoder != "libx264" || m.placed.Timeline.Sheet.Captions.Encode == "small" || rec.End < worthTrying {
		return c, nil
	}
	picture := m.captions.video.Picture.Size()
	kept := keptChoice{Of: shelf.KeyOf("encoding", m.sourceKeys(), m.slow, picture)}
	if text, err := m.shelf.Record.Work.ReadFile(trialName, trialBytes); err == nil {
		var old keptChoice
		if json.Unmarshal(text, &old) == nil && old.Of == kept.Of && m.job.Seal().Holds(old.Seal, old.claim()...) {
			return old.Choice, nil
		}
	}
	films := func(name string) bool { return strings.HasPrefix(name, "video/") || strings.HasPrefix(name, "clips/") }
	if (m.opts.Quick || !m.wants["video"] && !m.wants["clips"]) && !slices.ContainsFunc(shelf.SortedKeys(m.shelf.Record.Files), films) {
		return c, nil
	}
	m.progress.Step(words.Tell("trying out how to encode"), 0)
	tried, err := m.tryOut(ctx)
	if ctx.Err() != nil {
		return c, ctx.Err()
	}
	if err != nil { // a trial spares time; the recording is encoded without it
		m.progress.Say(words.Plain("%s", err))
		return c, nil
	}
	c = tried
	kept.Choice = c
	kept.Seal = m.job.Seal().Over(kept.claim()...)
	text, err := json.MarshalIndent(kept, "", "  ")
	if err != nil {
		return c, err
	}
	return c, trouble.Writing(m.shelf.Record.Work.At(trialName), m.shelf.Record.Work.WriteBytes(trialName, text))
}

// readChoice is the choice that is kept in a job's work folder, whatever it is of.
func readChoice(j *job.Job) (choice, error) {
	work, err := safefile.OpenWithin(j.Top, j.Work, nil)
	if err != nil {
		return choice{}, err
	}
	defer work.Close()
	var kept keptChoice
	text, err := work.ReadFile(trialName, trialBytes)
	if err == nil {
		err = json.Unmarshal(text, &kept)
	}
	return kept.Choice, err
}

// tryOut measures settings on pieces of the recording.
func (m *making) tryOut(ctx context.Context) (choice, error) {
	rec := m.placed.Recording
	weights, err := rec.Weights(ctx, m.tools, pieceSeconds*1e9)
	if err != nil {
		return choice{}, err
	}
	t := trial{tools: m.tools, rec: rec, layout: m.captions.video, temp: filepath.Join(m.shelf.Temp.Path(), "trial.mp4")}
	for _, w := range telling(weights) {
		t.from = append(t.from, rec.FrameAt(timecode.Video(w)*pieceSeconds*1e9).Index)
	}
	rate := rec.Parts[0].Rate
	t.count = max(1, pieceSeconds*rate.Num/rate.Den)
	t.source = float64(m.job.RecordedBytes()) / rec.End.Seconds() * float64(rate.Den) / float64(rate.Num)
	if m.hasSound() {
		t.sound = float64(soundRate(rec)) / 8 * float64(rate.Den) / float64(rate.Num)
	}
	most := 1.0
	if 8*t.source/float64(rec.Width*rec.Height) < fewBits {
		most = mostTimes
	}
	return fastest(most, func(s setting) (figures, error) { return t.of(ctx, s) })
}

// telling are the stretches that a trial looks at: the one with the most bytes, the one with
// the fewest (a resting or dark picture), and three evenly apart. The last stretch may be cut short.
func telling(weights []int64) []int {
	n := max(1, len(weights)-1)
	most, fewest := 0, 0
	for i, w := range weights[:n] {
		if w > weights[most] {
			most = i
		}
		if w > 0 && (w < weights[fewest] || weights[fewest] == 0) {
			fewest = i
		}
	}
	all := []int{most, fewest, n / 6, n / 2, n * 5 / 6}
	slices.Sort(all)
	return slices.Compact(all)
}

// A trial encodes pieces of a recording and holds them against the source.
type trial struct {
	tools  *ffmpeg.Tools
	rec    *frames.Recording
	layout *overlay.Layout
	from   []int   // frames
	count  int     // frames of each piece
	source float64 // bytes of the recording a frame
	sound  float64 // of the captioned video's sound
	temp   string
}

// of measures a setting.
func (t *trial) of(ctx context.Context, s setting) (figures, error) {
	args := s.args(t.layout.Level)
	args["c:v"], args["pix_fmt"], args["profile:v"], args["f"], args["video_track_timescale"] = "libx264", "yuv420p", "high", "mp4", "90000"
	encode := ffmpeg.Output([]*ff.Stream{t.pictures()}, t.temp, frames.OutputArgs(), args)
	if _, err := t.tools.Do(ctx, ffmpeg.Run{Outputs: []*ff.Stream{encode}, Sources: t.rec.Sources()}); err != nil {
		return figures{}, err
	}
	info, err := os.Stat(t.temp)
	if err != nil {
		return figures{}, err
	}
	even := func(v *ff.Stream) *ff.Stream {
		return v.Filter("settb", ff.Args{"1/1000"}).Filter("setpts", ff.Args{"N*40"})
	}
	source := even(t.pictures())
	encoded := even(ffmpeg.Input(t.temp, ff.KwArgs{"thread_queue_size": "99"}).Get("v:0"))
	compared := ff.Filter([]*ff.Stream{encoded, source}, "ssim", nil, ff.KwArgs{"stats_file": "-"})
	var alike []float64
	run := ffmpeg.Run{
		Outputs: []*ff.Stream{ffmpeg.OutputPipe([]*ff.Stream{compared}, ff.KwArgs{"f": "null", "fps_mode": "passthrough"})},
		Sources: append(t.rec.Sources(), reach.Ours(t.temp)),
		Stdout:  func(r io.Reader) (err error) { alike, err = readSSIM(r); return err },
	}
	if _, err := t.tools.Do(ctx, run); err != nil {
		return figures{}, err
	}
	if len(alike) == 0 {
		return figures{}, nil // nothing could be found by seeking: no setting is good
	}
	f := figures{Size: (float64(info.Size())/float64(len(alike)) + t.sound) / t.source}
	for _, v := range alike {
		f.Mean += v / float64(len(alike))
	}
	slices.Sort(alike)
	f.Worst = alike[len(alike)/100]
	return f, nil
}

// pictures are the pieces in the size that the captioned video has them.
func (t *trial) pictures() *ff.Stream {
	v := t.rec.Pieces(t.from, t.count)
	if size := t.layout.Picture.Size(); size.X != t.rec.Width || size.Y != t.rec.Height {
		v = v.Filter("scale", ff.Args{strconv.Itoa(size.X / 2 * 2), strconv.Itoa(size.Y / 2 * 2)})
	}
	return v
}

// readSSIM reads what ffmpeg's ssim filter says of each frame: n:1 Y:0.98 U:0.99 V:0.99 All:0.98 (18.5).
func readSSIM(r io.Reader) (all []float64, err error) {
	lines := bufio.NewScanner(r)
	for lines.Scan() {
		_, rest, _ := strings.Cut(lines.Text(), "All:")
		number, _, _ := strings.Cut(rest, " ")
		v, err := strconv.ParseFloat(number, 64)
		if err != nil {
			return nil, fmt.Errorf("ffmpeg says no SSIM: %q", lines.Text())
		}
		all = append(all, v)
	}
	return all, lines.Err()
}
