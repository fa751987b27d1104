package handover

import (
	"context"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"pushcue/internal/crew"
	"pushcue/internal/ffmpeg"
	"pushcue/internal/handover/attach"
	"pushcue/internal/handover/photo"
	"pushcue/internal/manifest"
	"pushcue/timeline"
	"pushcue/timeline/fault"
	"pushcue/timeline/fieldlog"
)

// Folders of a job that hold what was spoken and photographed on site, and the endings
// that are looked for in them.
const (
	spokenFolder = "spoken"
	photosFolder = "photos"
)

var (
	soundEndings = []string{
		".wav", ".m4a", ".mp3", ".ogg", ".oga", ".opus", ".flac", ".aac", ".amr", ".3gp", ".3ga", ".3g2", ".wma",
		".aif", ".aiff", ".caf", ".m4b", ".mp4", ".mka", ".webm", ".au", ".w64",
	}
	photoEndings = []string{".jpg", ".jpeg", ".jpe", ".png", ".heic", ".heif", ".hif", ".avif", ".webp"}
)

// An Attached is a spoken note or a photo, and what it belongs to.
type Attached struct {
	Source
	Rows  []int         // data rows of the log; none: the push as a whole
	Sound *ffmpeg.Sound // of a note; nil when it can't be read
}

// findAttached finds the notes and photos of a job: all in their folders, and those
// beside the log, which count where the log names them.
func (j *Job) findAttached(a Ask) error {
	if a.Path == "" {
		return nil // only what the command line names is meant
	}
	var err error
	if j.Spoken, err = j.attachedIn(spokenFolder, soundEndings); err != nil {
		return err
	}
	j.Photos, err = j.attachedIn(photosFolder, photoEndings)
	return err
}

func (j *Job) attachedIn(folder string, endings []string) ([]Source, error) {
	entries, err := os.ReadDir(j.Dir)
	if err != nil {
		return nil, fault.Of(fault.Fault{File: j.Dir, Text: "the folder can't be read: " + plainCause(err), Hint: "check that you may read it"})
	}
	var found, others []Source
	for _, e := range sortedNaturally(entries) {
		switch name := e.Name(); {
		case e.IsDir() && strings.EqualFold(name, folder):
			err := filepath.WalkDir(filepath.Join(j.Dir, name), func(path string, d fs.DirEntry, err error) error {
				if err != nil || d.IsDir() || strings.HasPrefix(d.Name(), ".") || manifest.IsLitter(d.Name()) || !isFile(path) {
					return err
				}
				rel, err := filepath.Rel(j.Dir, path)
				if s := j.source(rel); hasEnding(path, endings) {
					found = append(found, s)
				} else {
					j.strange = append(j.strange, s.Name)
				}
				return err
			})
			if err != nil {
				return nil, fault.Of(fault.Fault{File: filepath.Join(j.Dir, name), Text: "the folder can't be read: " + plainCause(err), Hint: "check that you may read it"})
			}
		case !e.IsDir() && hasEnding(name, endings) && !hasEnding(name, videoEndings) && !strings.HasPrefix(name, "."):
			others = append(others, j.source(name))
		}
	}
	slices.SortStableFunc(found, func(a, b Source) int { return naturalCompare(a.Name, b.Name) })
	return append(found, others...), nil
}

// inFolder reports whether a note or photo lies in the folder for such: others count
// only where the log names them.
func inFolder(s Source) bool { return strings.Contains(s.Name, "/") }

// attached joins the notes and photos of a job to its rows.
func (p *Placed) attached(ctx context.Context, tools *ffmpeg.Tools) error {
	j := p.Job
	zone := j.Sheet.Job.Zone
	if zone == nil {
		zone = time.UTC
	}
	sounds := make([]*ffmpeg.Sound, len(j.Spoken))
	causes := make([]error, len(j.Spoken))
	err := crew.Each(ctx, len(j.Spoken), 2, func(ctx context.Context, i int) error {
		sounds[i], causes[i] = tools.ProbeSound(ctx, j.Spoken[i].Path, j.Spoken[i].Name)
		if _, ok := fault.In(causes[i]); ok {
			return nil
		}
		return causes[i]
	})
	if err != nil {
		return err
	}
	notes := make([]attach.File, len(j.Spoken))
	for i, s := range j.Spoken {
		notes[i] = attach.File{Name: s.Name, Named: !inFolder(s)}
		if at, ok := soundTime(s, sounds[i], zone); ok {
			notes[i].From, notes[i].Until = at, at
			if sounds[i] != nil {
				notes[i].Until = at.Add(sounds[i].Duration)
			}
		}
	}
	pictures := make([]attach.File, len(j.Photos))
	for i, s := range j.Photos {
		pictures[i] = attach.File{Name: s.Name, Named: !inFolder(s)}
		if at, ok := photoTime(s, zone); ok {
			pictures[i].From, pictures[i].Until = at, at
		}
	}
	p.Spoken = p.join(j.Spoken, notes, zone, "spoken", "spoken note", func(e *fieldlog.Row) string { return e.Spoken })
	p.Photos = p.join(j.Photos, pictures, zone, "photo", "photo", func(e *fieldlog.Row) string { return e.Photo })
	for i := range p.Spoken {
		at := slices.IndexFunc(j.Spoken, func(s Source) bool { return s == p.Spoken[i].Source })
		p.Spoken[i].Sound = sounds[at]
		if causes[at] != nil {
			p.Warnings = append(p.Warnings, unreadableAttached("spoken", p.Spoken[i], causes[at]))
		}
	}
	if len(j.strange) > 0 {
		p.Warnings = append(p.Warnings, timeline.Warning{Code: "attached-unknown",
			Text: "neither sound nor pictures that are read, and left where they are: " + strings.Join(j.strange, ", ")})
	}
	return nil
}

// join tells what belongs to which row, and warns of what the log names and isn't there.
func (p *Placed) join(sources []Source, files []attach.File, zone *time.Location, code, called string, cell func(*fieldlog.Row) string) []Attached {
	var rows []attach.Row
	add := func(e *fieldlog.Row, true *time.Time) {
		if e == nil {
			return
		}
		r := attach.Row{Number: e.Number, Cell: cell(e), Kind: e.What.Key}
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
		if rowsOf[i] != nil || slices.Contains(joined.Rest, i) {
			all = append(all, Attached{Source: s, Rows: rowsOf[i]})
		}
	}
	for _, row := range slices.Sorted(maps.Keys(joined.Missing)) {
		p.Warnings = append(p.Warnings, timeline.Warning{
			Code: code + "-missing", Row: row, Open: true,
			Text: fmt.Sprintf("row %d names the %s %s, and no such file is there, or more than one", row, called, joined.Missing[row]),
			Hint: "see how the file is named, and write it the same way in the log",
		})
	}
	if len(joined.Rest) > 0 {
		names := make([]string, len(joined.Rest))
		for i, f := range joined.Rest {
			names[i] = files[f].Name
		}
		p.Warnings = append(p.Warnings, timeline.Warning{
			Code: code + "-unjoined",
			Text: called + "s that belong to no row by the log's column, by name or by time, and are handed over with the push as a whole: " + strings.Join(names, ", "),
			Hint: "name the file in the log, or let its name begin with the row's number",
		})
	}
	return all
}

func unreadableAttached(code string, a Attached, cause error) timeline.Warning {
	w := timeline.Warning{Code: code + "-unreadable", Open: true, Text: a.Name + " isn't handed over: " + cause.Error()}
	if len(a.Rows) > 0 {
		w.Row = a.Rows[0]
	}
	if list, ok := fault.In(cause); ok && len(list) > 0 {
		w.Text, w.Hint = a.Name+" isn't handed over: "+list[0].Text, list[0].Hint
	}
	return w
}

// soundTime is when a note was begun: by its name, as recorders write their local time
// there, else as the file says.
func soundTime(s Source, sound *ffmpeg.Sound, zone *time.Location) (time.Time, bool) {
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
func photoTime(s Source, zone *time.Location) (time.Time, bool) {
	const head = 1 << 20 // the camera's notes stand ahead of the picture
	if f, err := os.Open(s.Path); err == nil {
		data, err := io.ReadAll(io.LimitReader(f, head))
		f.Close()
		if at, ok := photo.Taken(data); err == nil && ok {
			return time.Date(at.Year(), at.Month(), at.Day(), at.Hour(), at.Minute(), at.Second(), 0, zone), true
		}
	}
	return attach.TimeInName(s.Name, zone)
}
