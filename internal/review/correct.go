package review

import (
	"context"
	"crypto/rand"
	"image"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"pushcue/internal/job"
	"pushcue/timeline/edits"
	"pushcue/timeline/fault"
	"pushcue/timeline/jobsheet"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// An order is a correction as a page asks for it: an edit in which moments may be
// told by frame.
type order struct {
	edits.Edit
	Frame     *int   `json:"frame"`
	FromFrame *int   `json:"from_frame"`
	ToFrame   *int   `json:"to_frame"`
	Sure      bool   `json:"sure"` // the person was asked where it belongs, and has answered
	Unit      string `json:"unit"` // of typed lengths without one, as the person answered
}

// correct checks a correction against the job as it is now, writes it down, and shows
// what it does. Nothing is written of one that can't be.
func (t *sitting) correct(ctx context.Context, o order) (id string, err error) {
	t.one.Lock()
	defer t.one.Unlock()
	if err := t.reread(ctx); err != nil {
		if _, asks := fault.In(err); !asks {
			return "", err
		}
	}
	before := t.now.Load()
	e, err := t.edit(before, o)
	if err != nil {
		return "", err
	}
	return e.ID, t.take(ctx, before, e)
}

// undo takes back a correction, the last one for "".
func (t *sitting) undo(ctx context.Context, id string) error {
	return t.turn(ctx, id, edits.Undo, (*edits.List).Undoable, words.Tell("there is nothing to take back"))
}

// redo brings back the correction that was taken back last.
func (t *sitting) redo(ctx context.Context) error {
	return t.turn(ctx, "", edits.Redo, (*edits.List).Redoable, words.Tell("there is nothing to bring back"))
}

func (t *sitting) turn(ctx context.Context, id, what string, top func(*edits.List) (edits.Edit, int), none words.Sentence) error {
	t.one.Lock()
	defer t.one.Unlock()
	_ = t.reread(ctx) // what it finds wrong may be just what is to be taken back
	before := t.now.Load()
	if err := isGone(before.job.Dir); err != nil {
		return err
	}
	if id == "" {
		last, depth := top(before.job.Edits)
		if depth == 0 {
			return rejected(http.StatusUnprocessableEntity, none, words.Sentence{})
		}
		id = last.ID
	}
	e := t.signed(edits.Edit{What: what, Edit: id})
	if list := before.job.Edits.With(e); len(list.Faults) > len(before.job.Edits.Faults) {
		return rejected(http.StatusUnprocessableEntity, words.Tell("this correction isn't in force any more"), words.Tell("look at the list of corrections"))
	}
	return t.take(ctx, before, e)
}

// signed is an edit with all that isn't the page's to say.
func (t *sitting) signed(e edits.Edit) edits.Edit {
	e.ID, e.Time, e.Author = rand.Text()[:16], time.Now().UTC().Truncate(time.Millisecond), t.server.o.Author
	return e
}

// take writes an edit down and shows what it does.
func (t *sitting) take(ctx context.Context, before *view, e edits.Edit) error {
	next := *before
	job, err := before.job.Corrected(ctx, before.job.Edits.With(e))
	if err != nil {
		return err
	}
	next.job = job
	unfit := job.Unfit()
	back := e.What == edits.Undo || e.What == edits.Redo
	if err := t.desk.Open(ctx, job); err != nil && !back {
		return err
	} else if err == nil {
		next.recording = t.desk.Recording
		err = t.place(ctx, &next)
		_, asks := fault.In(err)
		if err != nil && !back && !(asks && before.placed == nil) {
			return err
		}
	}
	if next.placed != nil {
		unfit = next.placed.Unfit
	}
	for _, u := range unfit {
		if u.Edit.ID == e.ID {
			return rejected(http.StatusUnprocessableEntity, u.Text, u.Hint)
		}
	}
	// Once it is on the disk it counts, whether or not somebody still waits for the answer.
	ctx = context.WithoutCancel(ctx)
	if err := before.job.Record(ctx, e); err != nil {
		return err
	}
	t.stamps = stampsOf(job)
	t.show(ctx, &next)
	if next.placed != nil && (before.placed == nil || seenBy(before.job) != seenBy(job)) {
		t.eyes.again()
	}
	return nil
}

// edit makes a whole edit of an order.
func (t *sitting) edit(v *view, o order) (edits.Edit, error) {
	e := o.Edit
	e.Edit, e.Line = "", 0
	switch e.What {
	case edits.Undo, edits.Redo:
		return e, rejected(http.StatusBadRequest, words.Tell("undo and redo have addresses of their own"), words.Sentence{})
	}
	for frame, into := range map[*int]**float64{o.Frame: &e.Video, o.FromFrame: &e.From, o.ToFrame: &e.To} {
		if frame == nil {
			continue
		}
		at, ok := t.frame(v, *frame)
		if !ok {
			return e, rejected(http.StatusUnprocessableEntity, words.Tell("the recording has no such frame"), words.Sentence{})
		}
		s := at.Seconds()
		*into = &s
	}
	if err := t.pointed(v, o, &e); err != nil {
		return e, err
	}
	if e.Row > 0 {
		if v.written == nil || e.Row > len(v.written.Rows) {
			return e, rejected(http.StatusUnprocessableEntity, words.Tell("the log has no such row"), words.Tell("it may have changed: load the page again"))
		}
		e.Is = edits.Mark(v.written, e.Row)
	}
	if e.What == edits.Belongs || e.What == edits.Omit {
		if _, _, there := besideNamed(v, e.File); !there {
			return e, rejected(http.StatusUnprocessableEntity, words.Tell("the job has no such spoken note or photo"), words.Tell("it may be gone: load the page again"))
		}
	}
	if e.What == edits.Sheet {
		if err := t.sheetValues(v, e.Values); err != nil {
			return e, err
		}
	}
	e = t.signed(e)
	if why := e.Wrong(); !why.Empty() {
		return e, rejected(http.StatusUnprocessableEntity, words.Tell("this correction can't be: %s", why), words.Sentence{})
	}
	list := v.job.Edits.With(e)
	if len(list.Faults) > len(v.job.Edits.Faults) {
		f := list.Faults[len(list.Faults)-1]
		return e, rejected(http.StatusUnprocessableEntity, f.Text, words.Tell("load the page again"))
	}
	return e, nil
}

func (t *sitting) frame(v *view, n int) (timecode.Video, bool) {
	if v.recording == nil || n < 0 || n >= len(v.recording.Times) {
		return 0, false
	}
	return v.recording.Times[n], true
}

// sheetValues brings values for the job sheet into the form that it has.
func (t *sitting) sheetValues(v *view, values map[string]any) error {
	for key, value := range values {
		text, typed := value.(string)
		if typed {
			value = listTyped(v, key, text)
			values[key] = value
		}
		if why := jobsheet.Misnamed(key, value); !why.Empty() {
			return rejected(http.StatusUnprocessableEntity, why, words.Tell("move it into the job folder, or name it in job.toml"))
		}
		box, isBox := value.([]any)
		if key != "counter.look" || typed || !isBox || v.recording == nil || len(box) != 4 {
			continue
		}
		var n [4]int
		for i, side := range box {
			number, isNumber := side.(float64)
			if !isNumber || number < 0 || number > 1<<16 {
				return rejected(http.StatusUnprocessableEntity, words.Tell("the box lies outside the picture"), words.Tell("draw it again"))
			}
			n[i] = int(number + 0.5)
		}
		// Drawn on the picture shown it counts that one's pixels, the sheet those stored.
		stored := v.recording.Stored(0, image.Rect(n[0], n[1], n[0]+n[2], n[1]+n[3]))
		values[key] = []any{float64(stored.Min.X), float64(stored.Min.Y), float64(stored.Dx()), float64(stored.Dy())}
	}
	return nil
}

// listTyped is a list as a person types it into one field, "part1.mp4, part2.mp4", as a
// list; text that is none stays text.
func listTyped(v *view, key, text string) any {
	var list []any
	for item := range strings.SplitSeq(text, ",") {
		list = append(list, strings.TrimSpace(item))
	}
	switch {
	case key == "recording.files" && len(list) > 1 && !isPart(v, text):
		return list
	case key == "counter.look" && len(list) == 4:
		for i := range list {
			n, err := strconv.Atoi(list[i].(string))
			if err != nil {
				return text
			}
			list[i] = float64(n)
		}
		return list
	}
	return text
}

// isPart tells whether a part of the recording has that name, comma and all.
func isPart(v *view, name string) bool {
	return slices.ContainsFunc(v.job.Videos, func(s job.Source) bool { return s.Name == name })
}
