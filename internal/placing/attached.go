package placing

import (
	"context"
	"io"
	"maps"
	"slices"
	"strings"
	"time"

	"pushcue/internal/crew"
	"pushcue/internal/ffmpeg"
	"pushcue/internal/job"
	"pushcue/internal/photo"
	"pushcue/internal/placing/attach"
	"pushcue/timeline"
	"pushcue/timeline/codes"
	"pushcue/timeline/edits"
	"pushcue/timeline/fault"
	"pushcue/timeline/fieldlog"
	"pushcue/timeline/words"
)

// An Attached is a spoken note or a photo, and what it belongs to.
type Attached struct {
	job.Source
	Rows  []int          // data rows of the log; none: the push as a whole
	Given bool           // by a person
	Sound *ffmpeg.Sound  // of a note; nil when it can't be read
	Why   words.Sentence // it can't be used; empty when it can, or that isn't known yet
}

// A Material is what the files of a job's spoken notes and photos tell of themselves.
type Material struct {
	of              []job.Stamp     // of the files
	sounds          []*ffmpeg.Sound // of each of Job.Spoken; nil when it can't be read
	causes          []error         // why not
	photoCauses     []error         // why each of Job.Photos can't be opened; nil when it can
	notes, pictures []attach.File
}

// attached joins the notes and photos of a job to its rows.
func (p *Placed) attached(ctx context.Context, tools *ffmpeg.Tools) error {
	b, err := LookBeside(ctx, p.Job, tools)
	if err == nil {
		p.Attach(b)
	}
	return err
}

// LookBeside asks the job's notes and photos what they are and when they were made.
func LookBeside(ctx context.Context, j *job.Job, tools *ffmpeg.Tools) (*Material, error) {
	zone := j.Sheet.Zone()
	b := &Material{
		of:     j.BesideStamps(),
		sounds: make([]*ffmpeg.Sound, len(j.Spoken)), causes: make([]error, len(j.Spoken)), photoCauses: make([]error, len(j.Photos)),
		notes: make([]attach.File, len(j.Spoken)), pictures: make([]attach.File, len(j.Photos)),
	}
	err := crew.Each(ctx, len(j.Spoken), 2, func(ctx context.Context, i int) error {
		if b.causes[i] = j.Attachable(j.Spoken[i]); b.causes[i] != nil {
			return nil
		}
		b.sounds[i], b.causes[i] = tools.ProbeSound(ctx, j.Pinned(j.Spoken[i]))
		if _, ok := fault.In(b.causes[i]); ok {
			return nil
		}
		return b.causes[i]
	})
	if err != nil {
		return nil, err
	}
	for i, s := range j.Spoken {
		b.notes[i] = attach.File{Name: s.Name, Named: !job.InFolder(s)}
		if at, ok := soundTime(s, b.sounds[i], zone); ok {
			b.notes[i].From, b.notes[i].Until = at, at
			if b.sounds[i] != nil {
				b.notes[i].Until = at.Add(b.sounds[i].Duration)
			}
		}
	}
	for i, s := range j.Photos {
		b.pictures[i] = attach.File{Name: s.Name, Named: !job.InFolder(s)}
		b.photoCauses[i] = j.Attachable(s)
		if at, ok := photoTime(j, s, zone); ok {
			b.pictures[i].From, b.pictures[i].Until = at, at
		}
	}
	return b, nil
}

// Attach joins what lies beside the recording to the rows, as they are corrected.
func (p *Placed) Attach(b *Material) {
	j := p.Job
	p.Joined = true
	p.Spoken = p.join(j.Spoken, b.notes, "spoken", func(e *fieldlog.Row) string { return e.Spoken })
	p.Photos = p.join(j.Photos, b.pictures, "photo", func(e *fieldlog.Row) string { return e.Photo })
	for i := range p.Spoken {
		at := slices.Index(j.Spoken, p.Spoken[i].Source)
		p.Spoken[i].Sound = b.sounds[at]
		if b.causes[at] != nil {
			p.Spoken[i].Why, _ = whyUnreadable(b.causes[at])
			p.Warnings = append(p.Warnings, UnreadableAttached("spoken", p.Spoken[i], b.causes[at]))
		}
	}
	for i := range p.Photos {
		if cause := b.photoCauses[slices.Index(j.Photos, p.Photos[i].Source)]; cause != nil {
			p.Photos[i].Why, _ = whyUnreadable(cause)
			p.Warnings = append(p.Warnings, UnreadableAttached("photo", p.Photos[i], cause))
		}
	}
	for _, name := range j.Linked {
		p.Warnings = append(p.Warnings, timeline.Warning{Code: codes.AttachedUnknown, Unsettled: true,
			Text: words.Tell("%s is a link to a folder, and isn't followed: nothing of it is handed over", name),
			Hint: words.Tell("put the folder itself into the job folder")})
	}
	if len(j.Strange) > 0 {
		p.Warnings = append(p.Warnings, timeline.Warning{Code: codes.AttachedUnknown,
			Text: words.Tell("neither sound nor pictures that are read, and left where they are: %s", strings.Join(j.Strange, ", "))})
	}
	p.gone()
}

// gone names corrections of files that aren't there any more.
func (p *Placed) gone() {
	of := p.Job.Edits.Beside()
	for _, name := range slices.Sorted(maps.Keys(of)) {
		if slices.ContainsFunc(slices.Concat(p.Job.Spoken, p.Job.Photos), func(s job.Source) bool { return s.Name == name }) {
			continue
		}
		u := edits.Unfit{Edit: of[name], Text: words.Tell("there is no spoken note or photo %s", name), Hint: words.Tell("see how the file is named now, and give it to its row again")}
		p.Unfit = append(p.Unfit, u)
		p.Warnings = append(p.Warnings, timeline.Warning{Code: codes.EditUnfit, Text: u.Sentence(), Hint: u.Hint, Out: timeline.Out{Edit: u.Edit.ID}})
	}
}

// about are the codes of warnings about spoken notes and photos, by the log's column.
var about = map[string]struct{ missing, unjoined, unreadable codes.Code }{
	"spoken": {codes.SpokenMissing, codes.SpokenUnjoined, codes.SpokenUnreadable},
	"photo":  {codes.PhotoMissing, codes.PhotoUnjoined, codes.PhotoUnreadable},
}

// join tells what belongs to which row, and warns of what the log names and isn't there.
func (p *Placed) join(sources []job.Source, files []attach.File, code string, cell func(*fieldlog.Row) string) []Attached {
	var rows []attach.Row
	files, zone := slices.Clone(files), p.Job.Sheet.Zone()
	said := p.Job.Edits.Beside()
	for i := range files {
		e, there := said[files[i].Name]
		files[i].Omit = there && e.What == edits.Omit || p.Job.KeepsBack(code)
		files[i].Whole = there && e.What == edits.Belongs && e.Row == 0 && e.On == ""
	}
	add := func(e *fieldlog.Row, true *time.Time) {
		if e == nil {
			return
		}
		if slices.ContainsFunc(files, func(f attach.File) bool { return slices.Contains(e.Given, f.Name) }) {
			e.Person(code)
		}
		r := attach.Row{Number: e.Number, Cell: cell(e), Given: e.Given, Kind: e.What.Key}
		if log := p.Timeline.Log; e.Time != nil && !log.Elapsed && !log.Undated {
			r.At = append(r.At, e.Time.Log.Time(zone))
		}
		if true != nil {
			r.At = append(r.At, *true)
		}
		rows = append(rows, r)
	}
	for _, o := range p.Timeline.Observations {
		add(o.Entry, o.TrueTime)
	}
	for _, u := range p.Timeline.Unplaced {
		add(u.Entry, nil)
	}
	joined := attach.Join(files, rows)
	rowsOf := map[int][]int{}
	for _, row := range slices.Sorted(maps.Keys(joined.Of)) {
		for _, f := range joined.Of[row] {
			rowsOf[f] = append(rowsOf[f], row)
		}
	}
	var all []Attached
	for i, s := range sources {
		_, given := said[s.Name]
		switch {
		case files[i].Omit:
			p.LeftOut = append(p.LeftOut, s)
		case rowsOf[i] != nil || slices.Contains(joined.Rest, i):
			all = append(all, Attached{Source: s, Rows: rowsOf[i], Given: given})
		}
	}
	for _, row := range slices.Sorted(maps.Keys(joined.Missing)) {
		p.Warnings = append(p.Warnings, timeline.Warning{
			Code: about[code].missing, Row: row,
			Text: notThere(code, row, joined.Missing[row]),
			Hint: words.Tell("see how the file is named, and write it the same way in the log"),
		})
	}
	var names []string
	for _, f := range joined.Rest {
		if !files[f].Whole {
			names = append(names, files[f].Name)
		}
	}
	if len(names) > 0 {
		p.Warnings = append(p.Warnings, timeline.Warning{
			Code: about[code].unjoined,
			Text: unjoined(code, strings.Join(names, ", ")),
			Hint: words.Tell("name the file in the log, let its name begin with the row's number, or give it to its row on the review page"),
		})
	}
	return all
}

func notThere(code string, row int, name string) words.Sentence {
	if code == "photo" {
		return words.Tell("row %d names the photo %s, and no such file is there, or more than one", row, name)
	}
	return words.Tell("row %d names the spoken note %s, and no such file is there, or more than one", row, name)
}

func unjoined(code, names string) words.Sentence {
	if code == "photo" {
		return words.Tell("photos that belong to no row by the log's column, by name or by time, and are handed over with the push as a whole: %s", names)
	}
	return words.Tell("spoken notes that belong to no row by the log's column, by name or by time, and are handed over with the push as a whole: %s", names)
}

func UnreadableAttached(code string, a Attached, cause error) timeline.Warning {
	why, hint := whyUnreadable(cause)
	w := timeline.Warning{Code: about[code].unreadable, Text: words.Tell("%s isn't handed over: %s", a.Name, why), Hint: hint}
	if len(a.Rows) > 0 {
		w.Row = a.Rows[0]
	}
	return w
}

func whyUnreadable(cause error) (why, hint words.Sentence) {
	if list, ok := fault.In(cause); ok && len(list) > 0 {
		return list[0].Text, list[0].Hint
	}
	return words.Of(cause), words.Sentence{}
}

// soundTime is when a note was begun: by its name, as recorders write their local time
// there, else as the file says.
func soundTime(s job.Source, sound *ffmpeg.Sound, zone *time.Location) (time.Time, bool) {
	if at, ok := attach.TimeInName(s.Name, zone); ok || sound == nil {
		return at, ok
	}
	if !sound.Created.IsZero() {
		return sound.Created, true
	}
	// A broadcast wave tells the day and the local time apart (EBU Tech 3285).
	at, err := time.ParseInLocation("2006-01-02 15:04:05", sound.Tags["date"]+" "+sound.Tags["creation_time"], zone)
	return at, err == nil && at.Year() > 1980
}

// photoTime is when a photo was taken: as its camera says, else by its name.
func photoTime(j *job.Job, s job.Source, zone *time.Location) (time.Time, bool) {
	const head = 1 << 20 // the camera's notes stand ahead of the picture
	if f, err := j.Open(s); err == nil {
		data, err := io.ReadAll(io.LimitReader(f, head))
		f.Close()
		if at, ok := photo.Taken(data); err == nil && ok {
			return time.Date(at.Year(), at.Month(), at.Day(), at.Hour(), at.Minute(), at.Second(), 0, zone), true
		}
	}
	return attach.TimeInName(s.Name, zone)
}
