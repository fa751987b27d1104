package handover

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"path/filepath"

	"pushcue/frames"
	"pushcue/internal/shelf"
	"pushcue/internal/trouble"
	"pushcue/overlay"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// run makes what comes out of the recording's pictures: with a burn, all of it in
// one run of ffmpeg; without, stills by seeking.
func (m *maker) run(ctx context.Context) error {
	if err := m.checkRoom(); err != nil {
		return err
	}
	if !m.videoTodo && !m.findingsTodo {
		if err := m.fetchStills(ctx); err != nil {
			return err
		}
		return m.cutClips(ctx, m.folder.Path(findingsName))
	}
	b := &burn{rec: m.placed.Recording, encoder: m.tools.Encoder, patience: m.opts.Patience, bytes: m.job.RecordedBytes()}
	var err error
	if m.videoTodo {
		if b.video, err = m.encodeVideo(); err != nil {
			return err
		}
	}
	if m.findingsTodo {
		if b.findings, err = m.encodeFindings(); err != nil {
			return err
		}
	}
	if wants := m.wantedStills(); len(wants) > 0 {
		b.picker = m.placed.Recording.NewPicker(wants, m.tmp)
		b.still = func(s frames.Still) error { return m.takeStill(ctx, s) }
	}
	t := m.placed.Timeline
	total := t.ShowTo
	if b.video != nil {
		total = t.ShowTo - t.ShowFrom
	}
	m.progress.Step(words.Tell("burning captions"), total.Seconds())
	if err := b.do(ctx, m.tools, func(at timecode.Video) { m.progress.Advance(at.Seconds()) }); err != nil {
		return err
	}
	if b.video != nil {
		if err := m.publishVideo(ctx, b.video.tmp); err != nil {
			return err
		}
	}
	if b.findings == nil {
		return m.cutClips(ctx, m.folder.Path(findingsName))
	}
	// Clips are cut from the file while it still waits: its name may be taken by a
	// file that isn't ours.
	if err := m.cutClips(ctx, b.findings.tmp); err != nil {
		return err
	}
	film, err := m.withNotes(ctx, b.findings.tmp)
	if err != nil {
		return err
	}
	return m.folder.Publish(ctx, shelf.Piece{Name: findingsName, Key: m.findingsKey, Temp: film})
}

func (m *maker) fetchStills(ctx context.Context) error {
	wants := m.wantedStills()
	if len(wants) == 0 {
		return nil
	}
	m.progress.Step(words.Tell("taking stills"), float64(len(wants)))
	taken := 0
	return frames.Fetch(ctx, m.tools, m.placed.Recording, wants, m.tmp, func(s frames.Still) error {
		taken++
		m.progress.Advance(float64(taken))
		return m.takeStill(ctx, s)
	})
}

func (m *maker) cutClips(ctx context.Context, from string) error {
	var cuts []cut
	var pieces []shelf.Piece
	for i, c := range m.clips {
		if !c.todo {
			continue
		}
		tmp := filepath.Join(m.tmp, fmt.Sprintf("clip%d.mp4", i))
		rec := m.placed.Recording
		last := rec.Frame(c.excerpt.Last)
		long := last.Until - rec.Frame(c.excerpt.First).At
		cuts = append(cuts, cut{tmp: tmp, from: c.excerpt.From, long: long, count: c.excerpt.Count, last: last})
		pieces = append(pieces, shelf.Piece{Name: c.name, Key: c.key, Temp: tmp})
	}
	if len(cuts) == 0 {
		return nil
	}
	from, err := m.folder.Readable(from)
	if err != nil {
		return err
	}
	m.progress.Step(words.Tell("cutting clips"), float64(len(cuts)))
	if err := copyOut(ctx, m.tools, from, cuts, func(n int) { m.progress.Advance(float64(n)) }); err != nil {
		return err
	}
	return m.folder.Publish(ctx, pieces...)
}

func (m *maker) encodeVideo() (*encode, error) {
	t := m.placed.Timeline
	first, last := m.shownFrames()
	script, err := m.writeScript("video.ass", m.videoLayout.PlaceScript(t.ShowFrom, t.ShowTo))
	return &encode{
		tmp: filepath.Join(m.tmp, "video.mp4"), layout: m.videoLayout, script: script, chapters: m.chapters(),
		first: first, last: last, sound: m.hasSound(),
	}, err
}

func (m *maker) encodeFindings() (*encode, error) {
	script, err := m.writeScript("findings.ass", m.findingsLayout.NotesScript())
	return &encode{
		tmp: filepath.Join(m.tmp, "findings.mp4"), layout: m.findingsLayout, script: script,
		plan: &m.findings, sound: m.hasSound(),
	}, err
}

func (m *maker) writeScript(name string, s overlay.Script) (string, error) {
	return m.wait(name, func(w io.Writer) error { _, err := s.WriteTo(w); return err })
}

// scriptSum is the sum of a script, which is made while it is written: one of a
// long recording never stands in memory.
func scriptSum(s overlay.Script) (string, error) {
	h := sha256.New()
	if _, err := s.WriteTo(h); err != nil {
		return "", err
	}
	return hex.EncodeToString(h.Sum(nil)), nil
}

// checkRoom looks for room on the disk before hours of work are spent. What a run
// needs is guessed from the recording: the burn may be half as large again, lies
// on the disk once while it waits, and stills and clips come on top.
func (m *maker) checkRoom() error {
	recording := m.job.RecordedBytes()
	var need int64 = 16 << 20
	if m.videoTodo {
		need += recording * 3 / 2
	}
	if m.findingsTodo {
		need += recording / 2
	}
	for _, a := range m.asFilmedTodo() {
		need += a.size
	}
	free, err := trouble.FreeBytes(m.folder.Temp.Path())
	if err != nil || free >= need {
		return nil // a disk that doesn't tell may have room
	}
	return &trouble.Trouble{
		Text: words.Tell("there isn't room enough for the handover: about %s is needed, %s is free", gigabytes(need), gigabytes(free)),
		Hint: words.Tell("make room, or name a folder on another disk with --out"),
	}
}

func gigabytes(n int64) words.Sentence {
	if n < 1<<30 {
		return words.Plain("%.0f MB", float64(n)/1e6)
	}
	return words.Plain("%.1f GB", float64(n)/1e9)
}
