package review

import (
	"sync"
	"time"
)

// A vacancy calls over once nothing has been present for a time: no open page and no
// running task. A nil vacancy does nothing.
type vacancy struct {
	after time.Duration
	over  func()

	mu      sync.Mutex
	present int
	timer   *time.Timer
}

// newVacancy starts counting at once. Without a time it returns nil.
func newVacancy(after time.Duration, over func()) *vacancy {
	if after <= 0 {
		return nil
	}
	return &vacancy{after: after, over: over, timer: time.AfterFunc(after, over)}
}

// enter says that something is present until the function it returns is called.
func (v *vacancy) enter() (leave func()) {
	if v == nil {
		return func() {}
	}
	v.mu.Lock()
	defer v.mu.Unlock()
	v.present++
	v.timer.Stop()
	return sync.OnceFunc(func() {
		v.mu.Lock()
		defer v.mu.Unlock()
		v.present--
		if v.present == 0 {
			v.timer.Reset(v.after)
		}
	})
}

func (v *vacancy) stop() {
	if v != nil {
		v.timer.Stop()
	}
}
