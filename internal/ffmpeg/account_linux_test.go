package ffmpeg

import (
	"io"
	"os"
	"os/exec"
	"testing"
)

// begin starts a child that waits on its standard input.
func begin(t *testing.T, script string) (c *child, in io.WriteCloser, out io.ReadCloser) {
	t.Helper()
	cmd := exec.Command("sh", "-c", script)
	in, err := cmd.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	if out, err = cmd.StdoutPipe(); err != nil {
		t.Fatal(err)
	}
	if c, err = tie(cmd); err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		c.kill()
		cmd.Wait()
		c.over.Store(true)
		if spent, moved := c.account(); spent+moved != 0 {
			t.Error("a child that is over has an account: its number may be another's")
		}
	})
	return c, in, out
}

// What a child does shows in its account, though it says nothing: also where a script
// stands in ffmpeg's place and the child's own child does it.
func TestWorkShowsInTheAccount(t *testing.T) {
	for what, script := range map[string]string{
		"a child":       `echo begun; while :; do :; done`,
		"a child's own": `sh -c 'echo begun; while :; do :; done'; :`,
	} {
		c, _, out := begin(t, script)
		io.ReadFull(out, make([]byte, len("begun\n")))
		before, _ := c.account()
		for spent := before; spent <= before; spent, _ = c.account() { // it comes sooner or later
		}
		t.Logf("%s uses the processor, which shows", what)
	}
	c, in, out := begin(t, `while read -r line; do echo "$line"; done`)
	_, before := c.account()
	io.WriteString(in, "one line\n")
	io.ReadFull(out, make([]byte, len("one line\n")))
	if _, moved := c.account(); moved < before+2*uint64(len("one line\n")) {
		t.Errorf("it read and wrote a line, and moved %d bytes", moved-before)
	}
	// Waiting for more it does nothing.
	spent, moved := c.account()
	if again, still := c.account(); again != spent || still != moved {
		t.Errorf("it waits, and went from %d, %d to %d, %d", spent, moved, again, still)
	}
	if spent, moved := (&child{cmd: &exec.Cmd{Process: &os.Process{Pid: 1 << 30}}}).account(); spent+moved != 0 {
		t.Error("a process that isn't there has an account")
	}
}
