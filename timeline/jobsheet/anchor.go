package jobsheet

import (
	"fmt"

	"pushcue/timeline/distance"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// anchorEntry is an [[anchor]] while it is read.
type anchorEntry struct {
	Anchor
	hasVideo bool
}

// tapedEntry is a [[distance.taped]] while it is read.
type tapedEntry struct{ counter, length *distance.Metres }

// resetEntry is a [[distance.reset]] while it is read.
type resetEntry struct {
	at    *timecode.Video
	place *distance.Metres
}

// each reads every table of an array and hands it on.
func each[E any](fields []field[E], add func(r *reader, s *Sheet, e E, v value)) slot[Sheet] {
	return slot[Sheet]{set: func(r *reader, s *Sheet, v value) {
		list, ok := v.raw.([]any)
		if table, single := v.raw.(map[string]any); single {
			list, ok = []any{table}, true
		}
		if !ok {
			r.fail(v, words.Tell("write [[%s]] on a line of its own, its keys below", v.path), words.Sentence{})
			return
		}
		for i, raw := range list {
			one := r.under(v.path, fmt.Sprint(i), raw)
			table, ok := raw.(map[string]any)
			if !ok {
				r.fail(one, words.Tell("write [[%s]] on a line of its own, its keys below", v.path), words.Sentence{})
				continue
			}
			var e E
			before := len(r.faults)
			apply(r, &e, fields, table, one.path)
			if len(r.faults) == before {
				add(r, s, e, one)
			}
		}
	}}
}

func setRow(r *reader, a *anchorEntry, v value) {
	n, ok := v.raw.(int64)
	if !ok || n < 1 || n > 1e7 {
		r.fail(v, words.Tell("the number of a row of the log is wanted here, counted from 1"), words.Sentence{})
		return
	}
	a.Row = int(n)
}

func setAnchorLog(r *reader, a *anchorEntry, v value) {
	at, err := v.logTime(timecode.DateOrder(r.sheet.Log.Dates))
	if err != nil {
		r.refuse(v, err)
		return
	}
	a.Log = at
}

func setAnchorVideo(r *reader, a *anchorEntry, v value) {
	at, half, err := v.video()
	if err != nil {
		r.refuse(v, err)
		return
	}
	a.Video, a.Half, a.hasVideo = at, half, true
}

func addAnchor(r *reader, s *Sheet, a anchorEntry, v value) {
	v.raw = nil
	switch {
	case a.Row > 0 && a.Log != nil:
		r.fail(v, words.Tell("an anchor takes row or log, not both"), words.Tell("leave out the one you are less sure of"))
		return
	case a.Row == 0 && a.Log == nil:
		r.fail(v, words.Tell("an anchor needs row or log"), words.Tell(`add row = 3, the row of the log, or log = "10:07:31", what the log's clock showed`))
		return
	case !a.hasVideo:
		r.fail(v, words.Tell("an anchor needs video"), words.Tell(`add video = "5:14.2", where the recording shows it`))
		return
	}
	a.Line = v.line
	s.Anchors = append(s.Anchors, a.Anchor)
}

func addTaped(r *reader, s *Sheet, t tapedEntry, v value) {
	v.raw = nil
	if t.counter == nil || t.length == nil {
		r.fail(v, words.Tell("a taped length needs both counter and length"), words.Sentence{})
		return
	}
	s.Distance.Taped = append(s.Distance.Taped, distance.Taped{Counter: *t.counter, Length: *t.length})
}

func setResetVideo(r *reader, e *resetEntry, v value) {
	at, _, err := v.video()
	if err != nil {
		r.refuse(v, err)
		return
	}
	e.at = &at
}

func addReset(r *reader, s *Sheet, e resetEntry, v value) {
	v.raw = nil
	if e.at == nil || e.place == nil {
		r.fail(v, words.Tell("a reset needs both video and place"), words.Tell(`add video = "0:24.0", when the counter was set anew, and place = "8.4 m", where the head was then`))
		return
	}
	s.Distance.Resets = append(s.Distance.Resets, distance.KnownReset{At: *e.at, Place: *e.place})
}
