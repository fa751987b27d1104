// Package handover makes what the customer gets: it opens a job, places its log on
// its recording, plans what is to be made, runs ffmpeg once, keeps what is still
// right, and clears what is stale.
//
//	work, err := handover.Open(ctx, handover.Ask{Path: "jobs/2291-B"})
//	placed, err := handover.Place(ctx, tools, work.Jobs[0], handover.PlaceOptions{})
//	result, err := handover.Make(ctx, tools, work, handover.Options{}, nil)
//
// Sources are only read. Each file of the handover appears under its name when it
// is whole, never before; a run that was stopped at any moment goes on where it
// left off. It doesn't promise that a handover is complete: what was left open is
// in Result.Warnings.
package handover

import (
	"time"

	"pushcue/frames"
	"pushcue/internal/handover/sighting"
	"pushcue/internal/reach"
	"pushcue/timeline"
	"pushcue/timeline/edits"
	"pushcue/timeline/fault"
	"pushcue/timeline/jobsheet"
	"pushcue/timeline/words"
)

// A Visit is what Open found: one job, or the several jobs of one visit.
type Visit struct {
	Dir  string // absolute: the visit's folder, or the only job's
	Out  string // absolute: the handover folder
	Work string // absolute: our own folder beside it
	Many bool   // a folder with visit.toml: each job's handover is a folder in Out
	Jobs []*Job

	reach *reach.Reach // what it may name
}

// A Job is one push: the files it is made from. All paths are absolute.
type Job struct {
	Name     string // of its folder
	Dir      string // where relative names in its sheet begin
	Sheet    *jobsheet.Sheet
	Videos   []Source    // parts of the recording, in order; at least one
	Log      *Source     // nil: captions only
	Kinds    *Source     // the firm's own list of kinds
	Readings *Source     // readings of the counter
	Spoken   []Source    // sound files that may be spoken notes
	Photos   []Source    // pictures that may be photos taken by hand
	Edits    *edits.List // what people corrected; laid over Sheet already, over the log by Place

	strange []string // what lies among those and is neither
	linked  []string // folders for those that are links
	unsaid  unsaid   // what the reader isn't told

	ask       Ask
	sheetPath string        // of its job sheet; "" without one
	unfit     []edits.Unfit // of the job sheet
	open      fault.List    // what is to be asked about its files; see Ask.ToAsk
	out       string        // its handover folder
	work      string        // its folder in ours
	top       string        // our own folder
	firm      *jobsheet.Source
	reach     *reach.Reach             // what it may name
	held      map[string]*reach.Source // its files, by path, while something is made of them; else nil
}

// A Source is a file of the job.
type Source struct {
	Path string // absolute
	Name string // as the job names it: relative to its folder, forward slashes
}

// Placed is a job whose log has been placed on its recording.
type Placed struct {
	Job       *Job
	Recording *frames.Recording
	Timeline  *timeline.Timeline
	Spoken    []Attached
	Photos    []Attached
	LeftOut   []Source           // spoken notes and photos that a person doesn't want handed over
	Joined    bool               // the three above are known; on a desk they come later
	Warnings  []timeline.Warning // the timeline's, the recording's, and of what is attached

	Unfit []edits.Unfit // corrections that don't fit any more

	// CounterSheet shows what was read off the on-screen counter, for a person to
	// confirm: a picture, absolute path; "" where no counter was read.
	CounterSheet string

	in    *inputs         // what it was placed by, on a desk
	watch *sighting.Watch // nil where the pictures weren't to be looked at
	seen  *sighting.Seen  // nil where they weren't
}

// Open reports whether something was left open, so that the program ends with 3.
func (p *Placed) Open() bool { return anyOpen(p.Warnings) }

// Options is what Make is asked for.
type Options struct {
	Only, Skip []string // kinds of things to make: see Kinds; empty: all
	Quick      bool     // burn nothing
	For        string   // "" or "buyer": the customer's contact data left out
	PartLimit  int64    // a video of more bytes is split; 0: the largest file that FAT32 holds

	// Patience is how long ffmpeg may show no sign of life; 0: as the tools are set.
	Patience time.Duration
}

// Kinds names what Options.Only and Options.Skip may hold.
var Kinds = []string{"stills", "video", "subtitles", "clips", "spoken", "photos", "page", "report", "log"}

// Result is what Make did.
type Result struct {
	Out      string // the handover folder
	Made     []string
	Kept     []string // unchanged since an earlier run
	Removed  []string // written earlier, no longer wanted, changed by nobody
	Foreign  []string // not ours or changed by somebody: left alone
	Warnings []timeline.Warning
	Placed   []*Placed
}

// Open reports whether something was left open, so that the program ends with 3.
func (r *Result) Open() bool { return anyOpen(r.Warnings) }

func anyOpen(ws []timeline.Warning) bool {
	for _, w := range ws {
		if w.Open() {
			return true
		}
	}
	return false
}

// Progress is told how a run goes on. Calls come one at a time.
type Progress interface {
	// Step begins a new step; total is what Advance counts to, 0 when unknown.
	Step(name words.Sentence, total float64)
	// Advance says how far the step has come.
	Advance(done float64)
	// Say passes on one sentence.
	Say(words.Sentence)
}
