package safefile

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
)

// TestMain lets the test program stand in for one that is killed while it writes.
func TestMain(m *testing.M) {
	if path := os.Getenv("SAFEFILE_TEST_WRITE"); path != "" {
		Write(path, func(w io.Writer) error {
			io.WriteString(w, "half of the new")
			fmt.Println("half")
			io.Copy(io.Discard, os.Stdin) // until killed
			return nil
		})
		return
	}
	os.Exit(m.Run())
}

func TestKilledWhileWriting(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "timeline.json")
	if err := WriteBytes(path, []byte("old")); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), "SAFEFILE_TEST_WRITE="+path)
	stdin, err := cmd.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	defer stdin.Close()
	stdout, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	if _, err := bufio.NewReader(stdout).ReadString('\n'); err != nil {
		t.Fatal(err)
	}
	if err := cmd.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	cmd.Wait()

	if got := read(t, path); got != "old" {
		t.Errorf("the file holds %q", got)
	}
	removed, err := opened(t, dir).Sweep(context.Background())
	if err != nil || len(removed) != 1 || names(t, dir) != "timeline.json" {
		t.Errorf("swept %v, %v; left %s", removed, err, names(t, dir))
	}
}
