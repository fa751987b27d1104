package handover

import (
	"encoding/json"
	"maps"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"pushcue/internal/shelf"
	"pushcue/timeline/edits"
)

// frozen copies a job folder as an earlier version left it, so that it can be worked on.
func frozen(t *testing.T, name string) string {
	t.Helper()
	dir := filepath.Join(t.TempDir(), filepath.Base(name))
	if err := os.CopyFS(dir, os.DirFS(filepath.Join("../../testdata/formats/2026-11", name))); err != nil {
		t.Fatal(err)
	}
	return dir
}

// contentsOf reads every file of a job, by name with forward slashes; work is left out.
func contentsOf(t *testing.T, dir string) map[string]string {
	t.Helper()
	all := map[string]string{}
	must(t, filepath.WalkDir(dir, func(path string, d os.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		text, err := os.ReadFile(path)
		rel, _ := filepath.Rel(dir, path)
		if rel = filepath.ToSlash(rel); !strings.HasPrefix(rel, "work/") {
			all[rel] = string(text)
		}
		return err
	}))
	return all
}

// everyEdit lists the kinds of corrections of 2026-11; later kinds need a fixture of their own.
var everyEdit = []string{
	edits.Add, edits.Anchor, edits.Aside, edits.Belongs, edits.Clip, edits.NoAnchor, edits.Noted, edits.Omit, edits.Redo,
	edits.Reset, edits.Restore, edits.Seen, edits.Set, edits.Sheet, edits.Still, edits.Taped, edits.Tie, edits.Undo,
}

func TestCorrectionsOfEarlierVersionsAreUnderstood(t *testing.T) {
	text, err := os.ReadFile("../../testdata/formats/2026-11/job/edits.jsonl")
	if err != nil {
		t.Fatal(err)
	}
	list := edits.Read(edits.File, text)
	kinds := map[string]bool{}
	for _, e := range list.Edits {
		kinds[e.What] = true
	}
	if got := slices.Sorted(maps.Keys(kinds)); !slices.Equal(got, everyEdit) || len(list.Faults) > 0 {
		t.Errorf("kinds %q, want %q; faults %v", got, everyEdit, list.Faults)
	}
	if len(list.Live()) != 23 { // 27 lines; two of them undo, one redoes, and one stays undone
		t.Errorf("%d corrections in force", len(list.Live()))
	}
}

// madeAnewSince are files that a later version makes otherwise on purpose, and why.
var madeAnewSince = map[string]string{
	"before/clips/01_5.2m_fett.mp4":         "its row is placed by weighing all that bears on it, 0.4 s earlier",
	"before/clips/02_5.6m_riss.mp4":         "its row is placed by weighing all that bears on it, 0.4 s earlier",
	"before/clips/findings.mp4":             "its row is placed by weighing all that bears on it, 0.4 s earlier",
	"before/stills/01_5.2m_fett.jpg":        "its row is placed by weighing all that bears on it, 0.4 s earlier",
	"before/stills/02_5.6m_riss.jpg":        "its row is placed by weighing all that bears on it, 0.4 s earlier",
	"before/stills/contact-sheet.jpg":       "its row is placed by weighing all that bears on it, 0.4 s earlier",
	"before/stills/thumbs/01_5.2m_fett.jpg": "its row is placed by weighing all that bears on it, 0.4 s earlier",
	"before/stills/thumbs/02_5.6m_riss.jpg": "its row is placed by weighing all that bears on it, 0.4 s earlier",
	"before/video/fx-02-garden-lateral.mp4": "its row is placed by weighing all that bears on it, 0.4 s earlier",
	"video/fx-01-kitchen-lateral.mp4":       "its chapters name observations as its cues do",
}

// The text files of a handover may be written anew when a later version words or sets
// them out differently. Pictures and sound are expensive and must be kept.
func mayBeMadeAnew(name string) bool {
	return slices.Contains([]string{".html", ".pdf", ".csv", ".json", ".srt", ".vtt", ".otio"}, filepath.Ext(name))
}

func TestHandoversOfEarlierVersionsAreKept(t *testing.T) {
	for name, o := range map[string]Options{"job": {}, "visit": {}, "small": {Only: []string{"subtitles", "log"}}} {
		t.Run(name, func(t *testing.T) {
			dir := frozen(t, name)
			before := contentsOf(t, dir)
			r := makeJob(t, dir, o)
			if realTools(t).Encoder != "libx264" {
				t.Log("this ffmpeg encodes otherwise than the one of the fixture, so that all may be made anew")
			} else {
				for _, made := range r.Made {
					if !mayBeMadeAnew(made) && madeAnewSince[made] == "" {
						t.Errorf("%s was right and was made anew", made)
					}
				}
			}
			if len(r.Foreign)+len(r.Removed) > 0 {
				t.Errorf("taken for foreign: %q; removed: %q", r.Foreign, r.Removed)
			}
			after := contentsOf(t, dir)
			for file, text := range before {
				switch now, there := after[file]; {
				case !there:
					t.Errorf("%s is gone", file)
				case now != text && !(strings.HasPrefix(file, "handover/") && slices.Contains(r.Made, strings.TrimPrefix(file, "handover/"))) && filepath.Base(file) != shelf.SumsName:
					t.Errorf("%s was changed", file)
				}
			}
			if name == "job" {
				placedAsFrozen(t, r, before["handover/timeline.json"])
			}
		})
	}
}

// placedAsFrozen holds observations to an earlier version's timeline.json. Rows that
// a person placed stand where they stood; others may be placed better later on, by less
// than a second.
func placedAsFrozen(t *testing.T, r *Result, text string) {
	t.Helper()
	var old struct {
		Version      int
		Observations []struct {
			Number, Row int
			What, Note  string
			Basis       string
			Video       float64  `json:"video_s"`
			Distance    *float64 `json:"distance_m"`
		}
	}
	if err := json.Unmarshal([]byte(text), &old); err != nil || old.Version != 1 {
		t.Fatalf("%v, version %d", err, old.Version)
	}
	p := r.Placed[0]
	if len(p.Unfit) > 0 || len(p.Timeline.Observations) != len(old.Observations) || len(old.Observations) != 5 {
		t.Fatalf("%d observations, %d then; corrections that don't fit: %v", len(p.Timeline.Observations), len(old.Observations), p.Unfit)
	}
	for i, o := range p.Timeline.Observations {
		then := old.Observations[i]
		most := 1.0
		if then.Basis == "person" {
			most = 0.001
		}
		if o.Number != then.Number || o.Row != then.Row || o.Entry.Note != then.Note || math.Abs(o.Video.Seconds()-then.Video) > most {
			t.Errorf("observation %d, row %d, %q at %v; then %+v", o.Number, o.Row, o.Entry.Note, o.Video, then)
		}
		if o.Distance == nil || then.Distance == nil || math.Abs(float64(*o.Distance)-*then.Distance) > 0.005 {
			t.Errorf("observation %d at %v, then at %v", o.Number, o.Distance, then.Distance)
		}
	}
	if len(p.Seen.Readings(p.Job.Sheet)) < 20 {
		t.Errorf("%d readings of the counter", len(p.Seen.Readings(p.Job.Sheet)))
	}
}
