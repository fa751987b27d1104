//go:build unix

package ffmpeg

import (
	"context"
	"fmt"
	"io"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"syscall"
	"testing"
	"time"
)

func ignoreInterrupt() { signal.Ignore(syscall.SIGINT) }

// beParent runs a child that would never end, and says its number.
func beParent() int {
	sleeper := exec.Command("sleep", "86400")
	child, err := tie(sleeper)
	if os.Getenv("PUSHCUE_LEASH") != "" {
		child, err = leashed(sleeper)
	}
	if err != nil {
		return 1
	}
	sleeper.Stdout = os.Stdout // stays open as long as it lives
	if err := sleeper.Start(); err != nil {
		return 1
	}
	child.started()
	fmt.Println("ready")
	time.Sleep(time.Hour)
	return 0
}

func TestChildDiesWithUs(t *testing.T) {
	for _, leash := range []string{"", "1"} {
		self, err := os.Executable()
		if err != nil {
			t.Fatal(err)
		}
		path := filepath.Join(t.TempDir(), "parent")
		if err := link(self, path); err != nil {
			t.Fatal(err)
		}
		parent := exec.Command(path)
		parent.Env = append(os.Environ(), "PUSHCUE_LEASH="+leash)
		out, err := parent.StdoutPipe()
		if err != nil {
			t.Fatal(err)
		}
		if err := parent.Start(); err != nil {
			t.Fatal(err)
		}
		ready := make([]byte, 6)
		if _, err := io.ReadFull(out, ready); err != nil || string(ready) != "ready\n" {
			t.Fatalf("the parent said %q, %v", ready, err)
		}
		parent.Process.Kill()
		gone := make(chan struct{})
		go func() { io.Copy(io.Discard, out); close(gone) }()
		select {
		case <-gone:
		case <-time.After(time.Hour):
			t.Errorf("leash %q: the child outlives the one that started it", leash)
		}
		parent.Wait()
	}
}

func TestChildInTheBackgroundGivesWay(t *testing.T) {
	ours, err := urgency()
	if err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct {
		ctx  context.Context
		want int
	}{
		"waited for":        {t.Context(), ours},
		"in the background": {InBackground(t.Context()), min(ours+lessUrgent, 19)},
	} {
		seen := filepath.Join(t.TempDir(), "seen")
		var told int
		err := process{path: "/bin/sh", args: []string{"-c", `echo begun; until [ -e "$0" ]; do :; done; nice`, seen}, stdout: func(r io.Reader) error {
			if _, err := io.ReadFull(r, make([]byte, len("begun\n"))); err != nil {
				return err
			}
			if err := os.WriteFile(seen, nil, 0o644); err != nil {
				return err
			}
			_, err := fmt.Fscan(r, &told)
			return err
		}}.run(c.ctx)
		if err != nil || told != c.want {
			t.Errorf("%s: its niceness is %d, want %d (%v)", name, told, c.want, err)
		}
	}
}

func TestDeafChildIsKilled(t *testing.T) {
	tools, _ := fakeTools(t, "deaf")
	setPatience(t, 50*time.Millisecond) // it never stops by itself
	ctx, stop := context.WithCancel(t.Context())
	_, err := tools.Do(ctx, Run{Args: []string{"x"}, Stdout: func(r io.Reader) error {
		r.Read(make([]byte, 5)) // "ready": the interrupt will be ignored
		stop()
		_, err := io.Copy(io.Discard, r)
		return err
	}})
	if err != context.Canceled {
		t.Errorf("got %v", err)
	}
}

func TestLeashedChildEndsByItself(t *testing.T) {
	cmd := exec.Command("sh", "-c", "exit 7")
	child, err := leashed(cmd)
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	child.started()
	err = cmd.Wait()
	child.release()
	if exit, ok := err.(*exec.ExitError); !ok || exit.ExitCode() != 7 {
		t.Errorf("got %v", err)
	}
}
