package handover

import (
	"context"
	"fmt"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"pushcue/internal/handover/spoken"
	"pushcue/internal/job"
	"pushcue/internal/placing"
	"pushcue/internal/shelf"
	"pushcue/timeline"
	"pushcue/timeline/codes"
	"pushcue/timeline/fault"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// A wantedNote is a spoken note on its way into the handover.
type wantedNote struct {
	from   placing.Attached
	name   string // in the handover
	key    string
	length time.Duration // as claimed, until it was heard
	file   string        // where it can be heard; "" when it wasn't made
}

// A narration is a still shown for as long as one of its notes lasts.
type narration struct {
	still int // of maker.stills
	note  int // of maker.notes
	name  string
	key   string
	todo  bool
}

// planNotes names the spoken notes, and hears those that aren't there yet: what they
// last is part of the plan.
func (m *maker) planNotes(ctx context.Context) error {
	m.notes = nil
	names := m.attachedNames(m.placed.Spoken)
	for i, a := range m.placed.Spoken {
		sum := m.sourceOf[a.Path]
		if a.Sound == nil || sum == "" {
			continue // said when it was joined
		}
		key := shelf.KeyOf("spoken", sum)
		if a.Sound.Voice != nil {
			key = shelf.KeyOf("spoken", sum, "unpacked") // it was made without most of its frames before
		}
		n := wantedNote{from: a, name: path.Join(job.SpokenFolder, names[i]+".m4a"), key: key, length: a.Sound.Duration}
		if err := m.planNote(ctx, &n, i); err != nil {
			return err
		}
		m.notes = append(m.notes, n)
	}
	return nil
}

func (m *maker) planNote(ctx context.Context, n *wantedNote, i int) error {
	have, err := m.folder.Has(ctx, n.name, n.key)
	if err != nil {
		return err
	}
	if e := m.folder.Record.Files[n.name]; have && e.Key == n.key && !slices.Contains(m.folder.Foreign, n.name) {
		n.length, n.file = time.Duration(e.At), m.folder.Path(n.name)
		m.warnDamaged(*n, e.Damage)
		return nil
	}
	if !m.wants["spoken"] && (!m.wants["clips"] || m.opts.Quick) {
		return nil
	}
	if !m.listening {
		m.listening = true
		m.progress.Step(words.Tell("listening to the spoken notes"), 0)
	}
	note, err := spoken.Listen(ctx, m.tools, n.from.Sound)
	if ctx.Err() != nil {
		return ctx.Err()
	}
	if err != nil {
		m.warnings = append(m.warnings, placing.UnreadableAttached("spoken", n.from, fault.Of(fault.Fault{
			Text: words.Tell("nothing in it can be heard"), Hint: words.Tell("copy it from the phone or the recorder again")})))
		return nil
	}
	tmp := filepath.Join(m.tmp, "note"+strconv.Itoa(i)+".m4a")
	if err := note.Write(ctx, m.tools, tmp); err != nil {
		return err
	}
	n.length, n.file = note.Length, tmp
	m.warnDamaged(*n, note.Damage)
	if have || !m.wants["spoken"] {
		return nil
	}
	n.file = m.folder.Path(n.name)
	return m.folder.Publish(ctx, shelf.Piece{Name: n.name, Key: n.key, Temp: tmp, At: timecode.Video(note.Length), Damage: note.Damage})
}

func (m *maker) warnDamaged(n wantedNote, damage words.Sentence) {
	if damage.Empty() {
		return
	}
	m.warnings = append(m.warnings, timeline.Warning{
		Code: codes.SpokenDamaged, Text: words.Tell("%s is handed over as far as it can be heard: %s", n.from.Name, damage),
		Hint: words.Tell("copy it from the phone or the recorder again"),
	})
}

// attachedNames names what was spoken or photographed: as the first observation that
// it belongs to, else by its own name. No two differ in case alone.
func (m *maker) attachedNames(all []placing.Attached) []string {
	names := make([]string, len(all))
	for i, a := range all {
		base := path.Base(a.Name)
		names[i] = strings.TrimSuffix(job.SourceName(base), path.Ext(base))
		for _, o := range m.placed.Timeline.Observations {
			if slices.Contains(a.Rows, o.Row) {
				names[i] = m.pictureName(o)
				break
			}
		}
	}
	for i, name := range job.Distinct(withEnding(names, ".x")) { // an ending, so that the one in 12.4m isn't taken for it
		names[i] = strings.TrimSuffix(name, ".x")
	}
	return names
}

func withEnding(names []string, ending string) []string {
	out := make([]string, len(names))
	for i, n := range names {
		out[i] = n + ending
	}
	return out
}

// notesOf are the notes of an observation that can be heard.
func (m *maker) notesOf(row int) []int {
	var all []int
	for i, n := range m.notes {
		if n.file != "" && slices.Contains(n.from.Rows, row) {
			all = append(all, i)
		}
	}
	return all
}

// planNarrations plans a still with its note for each note of each observation shown.
func (m *maker) planNarrations(ctx context.Context) error {
	m.narrations = nil
	for i := range m.stills {
		w := &m.stills[i]
		w.narrated, w.file = false, ""
		for k, n := range m.notesOf(w.observation.Row) {
			name := w.base + "_spoken"
			if k > 0 {
				name += "_" + strconv.Itoa(k+1)
			}
			r := narration{still: i, note: n, name: path.Join("clips", name+".mp4"), key: shelf.KeyOf("narration", w.key, m.notes[n].key, m.tools.Encoder)}
			have, err := m.folder.Has(ctx, r.name, r.key)
			if err != nil {
				return err
			}
			r.todo = !have && m.wants["clips"] && !m.opts.Quick
			w.narrated = w.narrated || r.todo
			m.narrations = append(m.narrations, r)
		}
		if e := m.folder.Record.Files[stillName(w.base)]; e.Key == w.key && m.isThere(stillName(w.base)) && !slices.Contains(m.folder.Foreign, stillName(w.base)) {
			w.file, w.narrated = m.folder.Path(stillName(w.base)), false
		}
	}
	return nil
}

// narrate makes the stills with their notes.
func (m *maker) narrate(ctx context.Context) error {
	todo := slices.DeleteFunc(slices.Clone(m.narrations), func(r narration) bool { return !r.todo })
	if len(todo) > 0 {
		m.progress.Step(words.Tell("putting spoken notes to their stills"), float64(len(todo)))
	}
	for i, r := range todo {
		w, n := m.stills[r.still], m.notes[r.note]
		if w.file == "" {
			return fmt.Errorf("%s has no picture", r.name)
		}
		picture, err := m.folder.Readable(w.file)
		if err != nil {
			return err
		}
		sound, err := m.folder.Readable(n.file)
		if err != nil {
			return err
		}
		tmp := filepath.Join(m.tmp, "narration"+strconv.Itoa(i)+".mp4")
		still := spoken.Still{File: picture, Width: m.stillLayout.Width, Height: m.stillLayout.Height}
		if err := spoken.Narrate(ctx, m.tools, still, sound, n.length, tmp); err != nil {
			return err
		}
		if err := m.folder.Publish(ctx, shelf.Piece{Name: r.name, Key: r.key, Temp: tmp, At: timecode.Video(n.length)}); err != nil {
			return err
		}
		m.progress.Advance(float64(i + 1))
	}
	return nil
}

// planHolds plans where findings.mp4 stands still while a note is heard: on the frame
// of its observation.
func (m *maker) planHolds() {
	m.holds = nil
	if !m.job.Sheet.Clips.Spoken {
		return
	}
	for _, o := range m.shown() { // they are in the order of the film
		for _, n := range m.notesOf(o.Row) {
			if frames, at, ok := m.findings.Stand(o.Frame); ok {
				m.holds = append(m.holds, spoken.Hold{Frames: frames, At: time.Duration(at), Note: m.notes[n].file, Length: m.notes[n].length})
			}
		}
	}
}

// holdKeys is what findings.mp4 has of the notes.
func (m *maker) holdKeys() []any {
	var keys []any
	for _, o := range m.shown() {
		for _, n := range m.notesOf(o.Row) {
			keys = append(keys, o.Number, m.notes[n].key)
		}
	}
	return keys
}

// withNotes puts the spoken notes between the excerpts, in the film that waits.
func (m *maker) withNotes(ctx context.Context, film string) (string, error) {
	if len(m.holds) == 0 {
		return film, nil
	}
	m.progress.Step(words.Tell("putting spoken notes into the excerpts"), 0)
	ranges := m.findings.Ranges
	last := m.placed.Recording.Frame(ranges[len(ranges)-1].Last)
	to := filepath.Join(m.tmp, "findings-spoken.mp4")
	for i := range m.holds {
		var err error
		if m.holds[i].Note, err = m.folder.Readable(m.holds[i].Note); err != nil {
			return "", err
		}
	}
	f := spoken.Film{Path: film, Frames: m.findings.Frames, Last: last.Until.Sub(last.At), Holds: m.holds}
	if err := spoken.Insert(ctx, m.tools, f, to); err != nil {
		return "", err
	}
	return to, holds(ctx, m.tools, to, int64(m.findings.Frames))
}
