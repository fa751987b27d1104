//go:build unix

package handover

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"syscall"
	"testing"

	"pushcue/internal/safefile"
	"pushcue/internal/soak"
)

// killedChild names, in the environment, what a process started by a test is to do: see
// killing.
const killedChild = "PUSHCUE_TEST_KILLED"

// A killing brings a bench from one state to the next, and kills its own process before
// an operation on the disk.
type killing struct {
	Dir   string
	State map[string]string
	At    int
}

// TestMain lets the tests' own program be the one that is killed.
func TestMain(m *testing.M) {
	text := os.Getenv(killedChild)
	if text == "" {
		os.Exit(m.Run())
	}
	var k killing
	if err := json.Unmarshal([]byte(text), &k); err != nil {
		panic(err)
	}
	n := 0
	safefile.OnEachStep(func(string, string) error {
		if n++; n > k.At {
			_ = syscall.Kill(os.Getpid(), syscall.SIGKILL)
			select {} // until it arrives
		}
		return nil
	})
	if err := benchAt(k.Dir).bring(context.Background(), k.State); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

// operations counts what bringing a bench to a state does on the disk.
func (b *bench) operations(t *testing.T, state map[string]string) int {
	t.Helper()
	n := 0
	undo := safefile.OnEachStep(func(string, string) error { n++; return nil })
	defer undo()
	must(t, b.bring(t.Context(), state))
	return n
}

// A process is killed at operations spread over the whole of a run: the next run ends as
// if nothing had happened, and takes nothing of ours for somebody else's.
func TestAKillAtAnyOperationLosesNothing(t *testing.T) {
	self, err := os.Executable()
	must(t, err)
	const transitions = 3
	each := (soak.Count(20, 300) + transitions - 1) / transitions
	kills := 0
	for next := 1; next <= transitions; next++ {
		was := newBench(t)
		must(t, was.bring(t.Context(), states[next-1]))
		all := was.copied(t).operations(t, states[next])
		for i := range each {
			at := i * all / each
			b := was.copied(t)
			order, err := json.Marshal(killing{b.dir, states[next], at})
			must(t, err)
			child := exec.Command(self)
			child.Env = append(os.Environ(), killedChild+"="+string(order))
			out, err := child.CombinedOutput()
			if status, ok := child.ProcessState.Sys().(syscall.WaitStatus); !ok || !status.Signaled() {
				t.Fatalf("state %d: not killed before operation %d of %d: %v\n%s", next, at+1, all, err, out)
			}
			kills++
			must(t, b.bring(t.Context(), states[next]))
			if wrong := b.is(t, states[next]); wrong != "" {
				t.Fatalf("state %d, killed before operation %d of %d: %s", next, at+1, all, wrong)
			}
		}
	}
	t.Logf("%d kills", kills)
}
