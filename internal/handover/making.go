package handover

import (
	"context"
	"io"
	"slices"

	"pushcue/internal/ffmpeg"
	"pushcue/internal/handover/account"
	"pushcue/internal/job"
	"pushcue/internal/placing"
	"pushcue/internal/progress"
	"pushcue/internal/shelf"
	"pushcue/internal/trouble"
	"pushcue/overlay"
	"pushcue/timeline"
	"pushcue/timeline/wording"
	"pushcue/timeline/words"
)

// A making is one run of Make over one job: what its products share. The products
// embed it.
type making struct {
	tools    *ffmpeg.Tools
	job      *job.Job
	opts     Options
	wants    map[string]bool // kinds
	many     bool            // the job is one push of a visit
	progress progress.Progress
	shelf    *shelf.Shelf
	sums     *job.Sums
	editions *editions
	sourceOf map[string]string // SHA-256 of each source, by path
	slow     bool              // the table of frames comes from decoding

	placed   *placing.Placed
	lang     *words.Language
	base     string // name of the captioned video, without its ending
	captions captionLayouts
	encoding choice
	need     int64 // bytes of disk that what is to be made takes at most, as a guess
	warnings []timeline.Warning

	videos []part       // of the captioned video as it lies in the handover
	filmed []filmedPart // copies of the recording
	made   account.Made // everything that is there, for timeline.json, page and report
}

// captionLayouts are the layouts of the captions, by what they are burned into.
type captionLayouts struct{ video, excerpts, still *overlay.Layout }

// begin takes a placed job, and lays out its captions.
func (m *making) begin(p *placing.Placed) error {
	t := p.Timeline
	lang, err := words.For(t.Sheet.Job.Language)
	if err != nil {
		return err
	}
	m.placed, m.lang, m.warnings = p, lang, slices.Clone(p.Warnings)
	m.base, m.need, m.videos, m.filmed = m.baseName(), 16<<20, nil, nil
	m.layOut()
	return nil
}

// baseName names the captioned video: by the firm's number and the line, else by
// the job's folder, which may bear the customer's name and so isn't for a buyer.
func (m *making) baseName() string {
	s := m.job.Sheet
	names := []string{s.Job.Reference + " " + s.Line.Name}
	if m.opts.For != job.ForBuyer {
		names = append(names, m.job.Name)
	}
	for _, text := range names {
		if word := job.PlainWord(text, job.LongestWord); word != "" && !job.IsDeviceName(word) {
			return word
		}
	}
	return "recording"
}

// layOut lays out the captions of the video, of the excerpts and of the stills.
func (m *making) layOut() {
	t, rec := m.placed.Timeline, m.placed.Recording
	spec := overlay.Spec{Width: rec.Width, Height: rec.Height, Captions: t.Sheet.Captions, Clear: m.placed.BurnedIn()}
	said := map[string]bool{}
	lay := func(s overlay.Spec) *overlay.Layout {
		l, warnings := overlay.NewLayout(t, m.lang, s)
		for _, w := range warnings {
			if key := w.Key(); !said[key] {
				said[key] = true
				m.warnings = append(m.warnings, w)
			}
		}
		return l
	}
	m.captions.video = lay(spec)
	spec.Notes = true
	m.captions.excerpts = lay(spec)
	spec.Notes, spec.Still = false, true
	m.captions.still = lay(spec)
}

// shown are the observations that the customer gets to see.
func (m *making) shown() []timeline.Observation {
	return slices.DeleteFunc(slices.Clone(m.placed.Timeline.Observations), func(o timeline.Observation) bool { return o.Hidden })
}

func (m *making) pictureName(o timeline.Observation) string {
	all := m.placed.Timeline.Observations
	return pictureName(&o, numberWidth(len(all)), wording.In(m.lang, m.placed.Timeline))
}

func (m *making) hasSound() bool {
	for _, p := range m.placed.Recording.Parts {
		if p.Media != nil && p.Media.Audio != nil {
			return !m.job.Sheet.Recording.DropSound
		}
	}
	return false
}

// soundKey is what the videos have of the recording's sound, as part of their keys.
func (m *making) soundKey() any {
	if how := m.placed.Recording.SoundMended(); m.hasSound() && how != "" {
		return how // what was made without that is made anew
	}
	return m.hasSound()
}

// shownFrames are the first and the last frame that the customer gets.
func (m *making) shownFrames() (first, last int) {
	t := m.placed.Timeline
	times := t.Recording.Frames
	first, _ = slices.BinarySearch(times, t.ShowFrom)
	last, _ = slices.BinarySearch(times, t.ShowTo)
	return first, last - 1
}

// sourceKeys are the sums of the recording's parts, in order.
func (m *making) sourceKeys() []string {
	keys := make([]string, len(m.job.Videos))
	for i, v := range m.job.Videos {
		keys[i] = m.sourceOf[v.Path]
	}
	return keys
}

func (m *making) limit() int64 {
	if m.opts.PartLimit > 0 {
		return m.opts.PartLimit
	}
	return 4<<30 - 1 // the largest file that FAT32 holds
}

// haveAll reports whether all the files made of a key are there.
func (m *making) haveAll(ctx context.Context, key string, names ...string) (bool, error) {
	all := true
	for _, name := range names {
		have, err := m.shelf.Has(ctx, name, key)
		if err != nil {
			return false, err
		}
		all = all && have
	}
	return all, nil
}

func (m *making) isThere(name string) bool { return m.shelf.Wanted[name] != "" }

// line is the timeline as the handover's reader may know it.
func (m *making) line() *timeline.Timeline {
	t := *m.placed.Timeline
	if m.opts.For == job.ForBuyer {
		t.Sheet = t.Sheet.WithoutContacts()
	}
	return &t
}

// sumSources takes the sums of all sources: what is made depends on them. A note or
// photo that can't be read goes without.
func (m *making) sumSources(ctx context.Context) error {
	m.sourceOf = map[string]string{}
	var total, done int64
	for _, s := range m.job.Files() {
		if info, err := m.job.Stat(s); err == nil {
			total += info.Size()
		}
	}
	m.progress.Step(words.Tell("taking the sums of the sources"), float64(total))
	needed := len(m.job.Needed())
	for i, s := range m.job.Files() {
		sum, err := m.sums.Sum(ctx, m.job, s, func(n int) {
			done += int64(n)
			m.progress.Advance(float64(done))
		})
		if err != nil && (ctx.Err() != nil || i < needed) {
			return err
		}
		m.sourceOf[s.Path] = sum
	}
	return nil
}

func shapeOf(l *overlay.Layout) []any {
	return []any{l.Width, l.Height, l.Picture, l.Level, l.Slow}
}

// wait writes a file that waits for its name in the handover, and tells where.
func (m *making) wait(name string, write func(io.Writer) error) (path string, err error) {
	tmp := m.shelf.Temp
	return tmp.At(name), trouble.Writing(tmp.At(name), tmp.Write(name, write))
}
