package jobsheet

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"pushcue/timeline/distance"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

type (
	duration = time.Duration
	video    = timecode.Video
)

// Bounds that only a slip of the pen goes beyond.
const (
	longLag    = time.Hour
	longWindow = time.Minute
	longClip   = 10 * time.Minute
)

// A setter puts one value into the thing it belongs to, or notes why it can't.
type setter[T any] func(r *reader, t *T, v value)

// A slot is where a value goes, and how it is got back: see Values.
type slot[T any] struct {
	set setter[T]
	get func(*T) any // nil for what isn't a single value
}

// at is a slot that is set in a way of its own.
func at[T any](set setter[T], get func(*T) any) slot[T] { return slot[T]{set, get} }

// text sets free text.
func text[T any](at func(*T) *string) slot[T] { return parsed(value.text, at) }

// parsed sets what read makes of the value.
func parsed[T, V any](read func(value) (V, error), at func(*T) *V) slot[T] {
	return slot[T]{func(r *reader, t *T, v value) {
		got, err := read(v)
		if err != nil {
			r.refuse(v, err)
			return
		}
		*at(t) = got
	}, func(t *T) any { return *at(t) }}
}

// optional is parsed for values of which the absence matters.
func optional[T, V any](read func(value) (V, error), at func(*T) **V) slot[T] {
	return slot[T]{func(r *reader, t *T, v value) {
		got, err := read(v)
		if err != nil {
			r.refuse(v, err)
			return
		}
		*at(t) = &got
	}, func(t *T) any { return *at(t) }}
}

// between sets a length of time within bounds.
func between[T any](at func(*T) *duration, least, most duration) slot[T] {
	return slot[T]{func(r *reader, t *T, v value) {
		d, err := v.span()
		if err == nil && (d < least || d > most) {
			err = words.Errorf("from %s to %s is possible here", timecode.FormatSpan(least), timecode.FormatSpan(most))
		}
		if err != nil {
			r.refuse(v, err)
			return
		}
		*at(t) = d
	}, func(t *T) any { return *at(t) }}
}

// choice sets one of a few words.
func choice[T any, S ~string](at func(*T) *S, allowed ...S) slot[T] {
	return slot[T]{func(r *reader, t *T, v value) {
		if s, ok := oneOf(r, v, allowed); ok {
			*at(t) = s
		}
	}, func(t *T) any { return string(*at(t)) }}
}

// either sets false for the first word and true for the second.
func either[T any](at func(*T) *bool, no, yes string) slot[T] {
	return slot[T]{func(r *reader, t *T, v value) {
		if s, ok := oneOf(r, v, []string{no, yes}); ok {
			*at(t) = s == yes
		}
	}, func(t *T) any {
		if *at(t) {
			return yes
		}
		return no
	}}
}

func oneOf[S ~string](r *reader, v value, allowed []S) (S, bool) {
	s, err := v.str()
	if err == nil && slices.Contains(allowed, S(s)) {
		return S(s), true
	}
	list := make([]string, len(allowed))
	for i, a := range allowed {
		list[i] = fmt.Sprintf("%q", string(a))
	}
	hint := words.Sentence{}
	if near := nearest(s, allowed); near != "" {
		hint = words.Tell("did you mean %q?", near)
	}
	r.fail(v, words.Tell("one of these is possible here: %s", strings.Join(list, ", ")), hint)
	return "", false
}

func flag[T any](at func(*T) *bool) slot[T] {
	return slot[T]{func(r *reader, t *T, v value) {
		b, ok := v.raw.(bool)
		if !ok {
			r.fail(v, words.Tell("true or false is wanted here, without quotes"), words.Sentence{})
			return
		}
		*at(t) = b
	}, func(t *T) any { return *at(t) }}
}

func videoTime(v value) (timecode.Video, error) {
	at, _, err := v.video()
	return at, err
}

func setZone(r *reader, s *Sheet, v value) {
	zone, err := v.zone()
	if err != nil {
		r.refuse(v, err)
		return
	}
	s.Job.Zone, s.Job.ZoneGiven = zone, true
}

func setLanguage(r *reader, s *Sheet, v value) {
	tag, err := v.str()
	if err == nil {
		_, err = words.For(tag)
	}
	if err != nil {
		r.fail(v, words.Tell("one of these is possible here: %s", strings.Join(words.Tags(), ", ")), words.Sentence{})
		return
	}
	s.Job.Language = tag
}

func setLogo(r *reader, s *Sheet, v value) {
	path, err := v.filePath()
	if err != nil {
		r.refuse(v, err)
		return
	}
	s.Firm.Logo, s.Firm.LogoDir = path, r.at.Dir
}

func setKinds(r *reader, s *Sheet, v value) {
	path, err := v.filePath()
	if err != nil {
		r.refuse(v, err)
		return
	}
	s.Log.Kinds = r.besideSheet(path)
}

func setDecimal(r *reader, s *Sheet, v value) {
	if mark, ok := oneOf(r, v, []string{",", "."}); ok {
		s.Log.Decimal = rune(mark[0])
	}
}

func decimalMark(s *Sheet) any {
	if s.Log.Decimal == 0 {
		return nil
	}
	return string(s.Log.Decimal)
}

// setColumns reads [log.columns]: our word for a column and the log's own.
func setColumns(r *reader, s *Sheet, v value) {
	table, ok := v.raw.(map[string]any)
	if !ok {
		r.fail(v, words.Tell("a table is wanted here"), words.Tell(`write [log.columns] and under it distance = "Meterage"`))
		return
	}
	known := words.Columns()
	columns := map[string]string{}
	for name, raw := range table {
		cell := r.under(v.path, name, raw)
		if !slices.Contains(known, name) {
			r.unknown(cell, name, "log.columns", known)
			continue
		}
		header, err := cell.text()
		if err != nil || header == "" {
			r.fail(cell, words.Tell("the log's header word is wanted here, in quotes"), words.Sentence{})
			continue
		}
		columns[name] = header
	}
	s.Log.Columns = columns
}

// setFiles reads the recording's parts, in order.
func setFiles(r *reader, s *Sheet, v value) {
	list, ok := v.raw.([]any)
	if name, single := v.raw.(string); single {
		list, ok = []any{name}, true
	}
	if !ok || len(list) == 0 {
		r.fail(v, words.Tell(`a list of files is wanted here: ["part1.mp4", "part2.mp4"]`), words.Sentence{})
		return
	}
	var files []string
	for _, raw := range list {
		file := value{v.path, v.line, raw}
		path, err := file.filePath()
		switch {
		case err != nil:
			r.refuse(file, err)
		case slices.Contains(files, path):
			r.fail(file, words.Tell("the same part stands in the list twice"), words.Sentence{})
		default:
			files = append(files, path)
		}
	}
	s.Recording.Files = files
}

func setStarts(r *reader, s *Sheet, v value) {
	at, err := v.logTime(timecode.DateOrder(s.Log.Dates))
	if err != nil {
		r.refuse(v, err)
		return
	}
	s.Recording.Starts = at
}

func setFastest(r *reader, s *Sheet, v value) {
	text, err := v.str()
	if err != nil {
		r.fail(v, words.Tell(`a speed with its unit is wanted here, in quotes: "1.5 m/s"`), words.Sentence{})
		return
	}
	speed, err := distance.ParseSpeed(text, distance.ParseOptions{})
	if err == nil && speed <= 0 {
		err = words.Errorf("a speed above 0 is wanted here")
	}
	if err != nil {
		r.refuse(v, err)
		return
	}
	s.Distance.Fastest = speed
}

// setLook reads where the on-screen counter is looked for.
func setLook(r *reader, s *Sheet, v value) {
	if _, list := v.raw.([]any); list {
		box, err := v.box()
		if err != nil {
			r.refuse(v, err)
			return
		}
		s.Counter.Look, s.Counter.Box = "box", box
		return
	}
	if word, ok := oneOf(r, v, []string{"auto", "off"}); ok {
		s.Counter.Look, s.Counter.Box = word, [4]int{}
	}
}

func whereToLook(s *Sheet) any {
	if s.Counter.Look == "box" {
		return s.Counter.Box
	}
	return s.Counter.Look
}
