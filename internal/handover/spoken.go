package handover

import (
	"context"
	"fmt"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"time"

	"pushcue/internal/handover/account"
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

// spokenNotes are the notes that somebody spoke on site, and stills shown for as long as
// one of their notes lasts.
type spokenNotes struct {
	*making
	stills     *stills
	notes      []wantedNote
	narrations []narration
	listening  bool // a person was told so
}

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
	still int // of stills.wanted
	note  int // of spokenNotes.notes
	name  string
	key   string
	todo  bool
}

func (s *spokenNotes) plan(ctx context.Context) error {
	if err := s.planNotes(ctx); err != nil {
		return err
	}
	return s.planNarrations(ctx)
}

func (s *spokenNotes) join(*burn) error { return nil }

func (s *spokenNotes) finish(ctx context.Context) error { return s.narrate(ctx) }

func (s *spokenNotes) enter(made *account.Made) {
	made.Spoken = map[int][]account.Note{}
	for i, n := range s.notes {
		if !s.isThere(n.name) {
			continue
		}
		for _, r := range s.belongs(n.from.Rows) {
			made.Spoken[r] = append(made.Spoken[r], account.Note{File: n.name, Length: n.length, Clip: s.narrationOf(i, r)})
		}
	}
}

// narrationOf is the still of a row with one of its notes, where it was made.
func (s *spokenNotes) narrationOf(note, row int) string {
	for _, r := range s.narrations {
		if r.note == note && s.stills.wanted[r.still].observation.Row == row && s.isThere(r.name) {
			return r.name
		}
	}
	return ""
}

// planNotes names the spoken notes, and hears those that aren't there yet: what they
// last is part of the plan.
func (s *spokenNotes) planNotes(ctx context.Context) error {
	s.notes = nil
	names := s.attachedNames(s.placed.Spoken)
	for i, a := range s.placed.Spoken {
		sum := s.sourceOf[a.Path]
		if a.Sound == nil || sum == "" {
			continue // said when it was joined
		}
		key := shelf.KeyOf("spoken", sum)
		if a.Sound.Voice != nil {
			key = shelf.KeyOf("spoken", sum, "unpacked") // it was made without most of its frames before
		}
		n := wantedNote{from: a, name: path.Join(job.SpokenFolder, names[i]+".m4a"), key: key, length: a.Sound.Duration}
		if err := s.planNote(ctx, &n, i); err != nil {
			return err
		}
		s.notes = append(s.notes, n)
	}
	return nil
}

func (s *spokenNotes) planNote(ctx context.Context, n *wantedNote, i int) error {
	have, err := s.shelf.Has(ctx, n.name, n.key)
	if err != nil {
		return err
	}
	if e := s.shelf.Record.Files[n.name]; have && e.Key == n.key && !slices.Contains(s.shelf.Foreign, n.name) {
		n.length, n.file = time.Duration(e.At), s.shelf.Path(n.name)
		s.warnDamaged(*n, e.Damage)
		return nil
	}
	if !s.wants["spoken"] && (!s.wants["clips"] || s.opts.Quick) {
		return nil
	}
	if !s.listening {
		s.listening = true
		s.progress.Step(words.Tell("listening to the spoken notes"), 0)
	}
	note, err := spoken.Listen(ctx, s.tools, n.from.Sound)
	if ctx.Err() != nil {
		return ctx.Err()
	}
	if err != nil {
		s.warnings = append(s.warnings, placing.UnreadableAttached("spoken", n.from, fault.Of(fault.Fault{
			Text: words.Tell("nothing in it can be heard"), Hint: words.Tell("copy it from the phone or the recorder again")})))
		return nil
	}
	tmp := filepath.Join(s.shelf.Temp.Path(), "note"+strconv.Itoa(i)+".m4a")
	if err := note.Write(ctx, s.tools, tmp); err != nil {
		return err
	}
	n.length, n.file = note.Length, tmp
	s.warnDamaged(*n, note.Damage)
	if have || !s.wants["spoken"] {
		return nil
	}
	n.file = s.shelf.Path(n.name)
	return s.shelf.Publish(ctx, shelf.Piece{Name: n.name, Key: n.key, Temp: tmp, At: timecode.Video(note.Length), Damage: note.Damage})
}

func (s *spokenNotes) warnDamaged(n wantedNote, damage words.Sentence) {
	if damage.Empty() {
		return
	}
	s.warnings = append(s.warnings, timeline.Warning{
		Code: codes.SpokenDamaged, Text: words.Tell("%s is handed over as far as it can be heard: %s", n.from.Name, damage),
		Hint: words.Tell("copy it from the phone or the recorder again"),
	})
}

// notesOf are the notes of an observation that can be heard.
func (s *spokenNotes) notesOf(row int) []int {
	var all []int
	for i, n := range s.notes {
		if n.file != "" && slices.Contains(n.from.Rows, row) {
			all = append(all, i)
		}
	}
	return all
}

// planNarrations plans a still with its note for each note of each observation shown.
func (s *spokenNotes) planNarrations(ctx context.Context) error {
	s.narrations = nil
	for i := range s.stills.wanted {
		w := &s.stills.wanted[i]
		w.narrated, w.file = false, ""
		for k, n := range s.notesOf(w.observation.Row) {
			name := w.base + "_spoken"
			if k > 0 {
				name += "_" + strconv.Itoa(k+1)
			}
			r := narration{still: i, note: n, name: path.Join("clips", name+".mp4"), key: shelf.KeyOf("narration", w.key, s.notes[n].key, s.tools.Encoder)}
			have, err := s.shelf.Has(ctx, r.name, r.key)
			if err != nil {
				return err
			}
			r.todo = !have && s.wants["clips"] && !s.opts.Quick
			w.narrated = w.narrated || r.todo
			s.narrations = append(s.narrations, r)
		}
		if e := s.shelf.Record.Files[stillName(w.base)]; e.Key == w.key && s.isThere(stillName(w.base)) && !slices.Contains(s.shelf.Foreign, stillName(w.base)) {
			w.file, w.narrated = s.shelf.Path(stillName(w.base)), false
		}
	}
	return nil
}

// narrate makes the stills with their notes.
func (s *spokenNotes) narrate(ctx context.Context) error {
	todo := slices.DeleteFunc(slices.Clone(s.narrations), func(r narration) bool { return !r.todo })
	if len(todo) > 0 {
		s.progress.Step(words.Tell("putting spoken notes to their stills"), float64(len(todo)))
	}
	for i, r := range todo {
		w, n := s.stills.wanted[r.still], s.notes[r.note]
		if w.file == "" {
			return fmt.Errorf("%s has no picture", r.name)
		}
		picture, err := s.shelf.Readable(w.file)
		if err != nil {
			return err
		}
		sound, err := s.shelf.Readable(n.file)
		if err != nil {
			return err
		}
		tmp := filepath.Join(s.shelf.Temp.Path(), "narration"+strconv.Itoa(i)+".mp4")
		still := spoken.Still{File: picture, Width: s.captions.still.Width, Height: s.captions.still.Height}
		if err := spoken.Narrate(ctx, s.tools, still, sound, n.length, tmp); err != nil {
			return err
		}
		if err := s.shelf.Publish(ctx, shelf.Piece{Name: r.name, Key: r.key, Temp: tmp, At: timecode.Video(n.length)}); err != nil {
			return err
		}
		s.progress.Advance(float64(i + 1))
	}
	return nil
}
