// Package job finds what a push is made from: the job folder or visit, its job sheet,
// recording, log, notes and photos, and what people corrected. It reads sheets and folders,
// and hashes files; it decodes nothing.
package job

import (
	"pushcue/internal/reach"
	"pushcue/internal/seal"
	"pushcue/timeline/edits"
	"pushcue/timeline/fault"
	"pushcue/timeline/jobsheet"
)

// A Visit is what Open found: one job, or the several jobs of one visit.
type Visit struct {
	Dir  string // absolute: the visit's folder, or the only job's
	Out  string // absolute: the handover folder
	Work string // absolute: our own folder beside it
	Many bool   // a folder with visit.toml: each job's handover is a folder in Out
	Jobs []*Job

	Reach *reach.Reach // what it may name
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

	Strange []string // what lies among those and is neither
	Linked  []string // folders for those that are links
	Unsaid  Unsaid   // what the reader isn't told

	Ask        Ask
	SheetPath  string        // of its job sheet; "" without one
	UnfitSheet []edits.Unfit // of the job sheet
	Asked      fault.List    // what is to be asked about its files; see Ask.ToAsk
	Out        string        // its handover folder
	Work       string        // its folder in ours
	Top        string        // our own folder
	Firm       *jobsheet.Source
	Reach      *reach.Reach             // what it may name
	held       map[string]*reach.Source // its files, by path, while something is made of them; else nil
}

// A Source is a file of the job.
type Source struct {
	Path string // absolute
	Name string // as the job names it: relative to its folder, forward slashes
}

func (a Ask) Seal() seal.Seal { return seal.Of(a.Settings, a.Key) }

func (j *Job) Seal() seal.Seal { return j.Ask.Seal() }
