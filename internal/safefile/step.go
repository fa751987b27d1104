package safefile

import "sync/atomic"

// steps is what OnEachStep set.
var steps atomic.Pointer[func(op, path string) error]

// OnEachStep has do called right before each operation that opens or changes
// something, after all that is checked beforehand; its error ends the operation. Tests
// exchange files in it, or stop the program there. It returns what undoes it.
func OnEachStep(do func(op, path string) error) (undo func()) {
	before := steps.Swap(&do)
	return func() { steps.Store(before) }
}

func step(op, path string) error {
	if do := steps.Load(); do != nil {
		return (*do)(op, path)
	}
	return nil
}
