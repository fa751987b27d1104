// Package progress tells whoever waits how a long piece of work goes on.
package progress

import (
	"pushcue/timeline/words"
)

// Progress is told how a run goes on. Calls come one at a time.
type Progress interface {
	// Step begins a new step; total is what Advance counts to, 0 when unknown.
	Step(name words.Sentence, total float64)
	// Advance says how far the step has come.
	Advance(done float64)
	// Say passes on one sentence.
	Say(words.Sentence)
}

type Quiet struct{}

func (Quiet) Step(words.Sentence, float64) {}
func (Quiet) Advance(float64)              {}
func (Quiet) Say(words.Sentence)           {}
