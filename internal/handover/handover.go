// Package handover makes what the customer gets of an opened job: it has the log placed
// on the recording, plans what is to be made, runs ffmpeg once, keeps what is still
// right, and clears what is stale. Its table of products is in products.go.
//
//	work, err := job.Open(ctx, job.Ask{Path: "jobs/2291-B"})
//	placed, err := placing.Place(ctx, tools, work.Jobs[0], placing.PlaceOptions{})
//	result, err := handover.Make(ctx, tools, work, handover.Options{}, nil)
//
// Sources are only read. Each file of the handover appears under its name when it
// is whole, never before; a run that was stopped at any moment goes on where it
// left off. It doesn't promise that a handover is complete: what was left open is
// in Result.Warnings.
package handover

import (
	"time"

	"pushcue/internal/placing"
	"pushcue/timeline"
)

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
var Kinds = []string{"stills", "video", "subtitles", "clips", "spoken", "photos", "page", "report", "log", "otio"}

// Result is what Make did.
type Result struct {
	Out      string // the handover folder
	Made     []string
	Kept     []string // unchanged since an earlier run
	Removed  []string // written earlier, no longer wanted, changed by nobody
	Foreign  []string // not ours or changed by somebody: left alone
	Warnings []timeline.Warning
	Placed   []*placing.Placed
}

// Open reports whether something was left open, so that the program ends with 3.
func (r *Result) Open() bool { return placing.AnyOpen(r.Warnings) }
