package handover

import (
	"context"

	"pushcue/internal/handover/account"
)

// A product is one kind of file in the handover, or several that are made together. Its
// methods are called in the order in which they stand here, each for all products in the
// order of the table.
type product interface {
	// plan works out which files are wanted and what they are made of, and finds those
	// that are there already and still right.
	plan(ctx context.Context) error
	// join adds what the product takes of the one run of ffmpeg over the recording.
	join(b *burn) error
	// finish makes what the run of ffmpeg didn't, and publishes.
	finish(ctx context.Context) error
	// enter lists the files that are there, for timeline.json, the page and the report.
	enter(made *account.Made)
}

// products is the table of what a handover is made of.
func products(m *making) []product {
	stills := &stills{making: m}
	spoken := &spokenNotes{making: m, stills: stills}
	cut := &excerpts{making: m, spoken: spoken}
	all := []product{
		stills,
		spoken,
		&captionedVideo{making: m},
		cut,
		&photos{making: m},
		&asFilmed{making: m},
		&sidecars{making: m},
		&alignedLog{making: m},
		&editList{making: m, excerpts: cut},
	}
	return append(all, &timelineFile{making: m, others: all}, &pageAndReport{making: m})
}

// The parts of a product that most of them have no use for.
type (
	plansNothing  struct{}
	joinsNothing  struct{}
	entersNothing struct{}
)

func (plansNothing) plan(context.Context) error { return nil }
func (joinsNothing) join(*burn) error           { return nil }
func (entersNothing) enter(*account.Made)       {}
