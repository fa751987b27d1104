package handover

import (
	"context"
	"path"
	"slices"
	"strconv"

	"pushcue/internal/job"
	"pushcue/internal/shelf"
	"pushcue/overlay"
	"pushcue/timeline"
	"pushcue/timeline/timecode"
	"pushcue/timeline/wording"
	"pushcue/timeline/words"
)

// A part is one file of the captioned video.
type part struct {
	name     string
	from, to timecode.Video // on the recording's time
}

// A wantedClip is one excerpt and its name.
type wantedClip struct {
	excerpt overlay.Excerpt
	name    string
	key     string
	todo    bool
}

const findingsName = "clips/findings.mp4"

// plan works out what is to be made of the placed job, and what is there already.
func (m *maker) plan(ctx context.Context) error {
	t := m.placed.Timeline
	var err error
	if m.lang, err = words.For(t.Sheet.Job.Language); err != nil {
		return err
	}
	m.warnings = slices.Clone(m.placed.Warnings)
	m.base = m.baseName()
	m.layOut()
	m.planStills()
	m.planClips()
	if err := m.planNotes(ctx); err != nil {
		return err
	}
	m.planHolds()
	if err := m.planKeys(); err != nil {
		return err
	}
	if err := m.planAsFilmed(ctx); err != nil {
		return err
	}
	return m.look(ctx)
}

// baseName names the captioned video: by the firm's number and the line, else by
// the job's folder, which may bear the customer's name and so isn't for a buyer.
func (m *maker) baseName() string {
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
func (m *maker) layOut() {
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
	m.videoLayout = lay(spec)
	spec.Notes = true
	m.findingsLayout = lay(spec)
	spec.Notes, spec.Still = false, true
	m.stillLayout = lay(spec)
}

// shown are the observations that the customer gets to see.
func (m *maker) shown() []timeline.Observation {
	return slices.DeleteFunc(slices.Clone(m.placed.Timeline.Observations), func(o timeline.Observation) bool { return o.Hidden })
}

func (m *maker) pictureName(o timeline.Observation) string {
	all := m.placed.Timeline.Observations
	return pictureName(&o, numberWidth(len(all)), wording.In(m.lang, m.placed.Timeline))
}

func (m *maker) planStills() {
	m.stills = nil
	for _, o := range m.shown() {
		m.stills = append(m.stills, wantedStill{observation: o, base: m.pictureName(o), key: m.stillKey(o, m.stillLayout)})
	}
}

func (m *maker) planClips() {
	m.findings, m.clips = overlay.PlanFindings(m.placed.Timeline), nil
	for _, e := range m.findings.Excerpts {
		name := m.pictureName(m.placed.Timeline.Observations[e.Observation-1])
		if e.End {
			name += "_end"
		}
		m.clips = append(m.clips, wantedClip{excerpt: e, name: path.Join("clips", name+".mp4")})
	}
}

// planKeys works out what the videos are made of. Their captions are part of it.
func (m *maker) planKeys() error {
	t := m.placed.Timeline
	var sound any = m.hasSound()
	if how := m.placed.Recording.SoundMended(); sound == true && how != "" {
		sound = how // what was made without that is made anew
	}
	place, err := scriptSum(m.videoLayout.PlaceScript(t.ShowFrom, t.ShowTo))
	if err != nil {
		return err
	}
	first, last := m.shownFrames()
	m.videoKey = shelf.KeyOf("video", m.sourceKeys(), m.slow, first, last, sound, m.tools.Encoder, place, shapeOf(m.videoLayout), m.chapters(), m.limit())
	if len(m.clips) == 0 {
		return nil
	}
	notes, err := scriptSum(m.findingsLayout.NotesScript())
	if err != nil {
		return err
	}
	excerpts := shelf.KeyOf("findings", m.sourceKeys(), m.slow, m.findings.Ranges, m.findings.Keys, sound, m.tools.Encoder, notes, shapeOf(m.findingsLayout))
	m.findingsKey = excerpts
	if len(m.holds) > 0 {
		m.findingsKey = shelf.KeyOf("findings with notes", excerpts, m.holdKeys())
	}
	for i := range m.clips {
		c := &m.clips[i]
		c.key = shelf.KeyOf("clip", excerpts, c.excerpt.From, c.excerpt.Count)
	}
	return nil
}

func shapeOf(l *overlay.Layout) []any {
	return []any{l.Width, l.Height, l.Picture, l.Level, l.Slow}
}

func (m *maker) hasSound() bool {
	for _, p := range m.placed.Recording.Parts {
		if p.Media != nil && p.Media.Audio != nil {
			return !m.job.Sheet.Recording.DropSound
		}
	}
	return false
}

// shownFrames are the first and the last frame that the customer gets.
func (m *maker) shownFrames() (first, last int) {
	t := m.placed.Timeline
	times := t.Recording.Frames
	first, _ = slices.BinarySearch(times, t.ShowFrom)
	last, _ = slices.BinarySearch(times, t.ShowTo)
	return first, last - 1
}

// sourceKeys are the sums of the recording's parts, in order.
func (m *maker) sourceKeys() []string {
	keys := make([]string, len(m.job.Videos))
	for i, v := range m.job.Videos {
		keys[i] = m.sourceOf[v.Path]
	}
	return keys
}

func (m *maker) limit() int64 {
	if m.opts.PartLimit > 0 {
		return m.opts.PartLimit
	}
	return 4<<30 - 1 // the largest file that FAT32 holds
}

// look finds out what is there already. What isn't wanted this time but lies there
// just as it would be made now is kept; what is outdated is cleared away.
func (m *maker) look(ctx context.Context) error {
	for i := range m.stills {
		w := &m.stills[i]
		have, err := m.haveAll(ctx, w.key, stillName(w.base), thumbName(w.base))
		if err != nil {
			return err
		}
		w.todo = !have && m.wants["stills"]
	}
	burns := !m.opts.Quick
	cutting := false
	for i := range m.clips {
		c := &m.clips[i]
		have, err := m.folder.Has(ctx, c.name, c.key)
		if err != nil {
			return err
		}
		c.todo = !have && burns && m.wants["clips"]
		cutting = cutting || c.todo
	}
	if len(m.clips) > 0 {
		have, err := m.folder.Has(ctx, findingsName, m.findingsKey)
		if err != nil {
			return err
		}
		ours := m.folder.Record.Files[findingsName].Key == m.findingsKey && !slices.Contains(m.folder.Foreign, findingsName)
		// Clips can't be cut out of a film that stands still in places.
		m.findingsTodo = burns && m.wants["clips"] && (!have || cutting && (!ours || len(m.holds) > 0))
	}
	if err := m.planNarrations(ctx); err != nil {
		return err
	}
	return m.lookAtVideo(ctx, burns && m.wants["video"])
}

func (m *maker) lookAtVideo(ctx context.Context, wanted bool) error {
	names := m.folder.Record.MadeOf(m.videoKey)
	if len(names) == 0 {
		names = []string{m.videoName(0, 1)}
	}
	have, err := m.haveAll(ctx, m.videoKey, names...)
	if err != nil {
		return err
	}
	m.videoTodo = !have && wanted
	m.videos = nil
	if !have {
		return nil
	}
	slices.SortFunc(names, func(a, b string) int { return job.NaturalCompare(a, b) })
	for _, name := range names {
		from := m.placed.Timeline.ShowFrom
		if e := m.folder.Record.Files[name]; e.Key == m.videoKey {
			from = e.At
		}
		m.videos = append(m.videos, part{name: name, from: from})
	}
	m.closeParts()
	return nil
}

// closeParts lets each part of the captioned video end where the next begins.
func (m *maker) closeParts() {
	for i := range m.videos {
		m.videos[i].to = m.placed.Timeline.ShowTo
		if i+1 < len(m.videos) {
			m.videos[i].to = m.videos[i+1].from
		}
	}
}

// haveAll reports whether all the files made of a key are there.
func (m *maker) haveAll(ctx context.Context, key string, names ...string) (bool, error) {
	all := true
	for _, name := range names {
		have, err := m.folder.Has(ctx, name, key)
		if err != nil {
			return false, err
		}
		all = all && have
	}
	return all, nil
}

func (m *maker) videoName(i, n int) string {
	if n == 1 {
		return path.Join("video", m.base+".mp4")
	}
	return path.Join("video", m.base+"_"+strconv.Itoa(i+1)+".mp4")
}
