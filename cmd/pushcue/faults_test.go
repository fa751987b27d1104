//go:build unix

package main

import (
	"bufio"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"

	"golang.org/x/sys/unix"

	"pushcue/internal/soak"
)

// smallDisk is a disk of its own with little room.
func smallDisk(t *testing.T, megabytes int) string {
	t.Helper()
	dir := t.TempDir()
	out, err := exec.Command("mount", "-t", "tmpfs", "-o", fmt.Sprintf("size=%dm", megabytes), "tmpfs", dir).CombinedOutput()
	if err != nil {
		t.Skipf("no small disk can be set up here, which takes root on Linux (%v: %s); the stand-in for ffmpeg that finds the disk full is tested in testdata/script/tools.txtar", err, out)
	}
	t.Cleanup(func() {
		if err := unix.Unmount(dir, 0); err != nil {
			t.Errorf("%s stays mounted: %v", dir, err)
		}
	})
	return dir
}

// fill leaves so much room on the disk that holds dir.
func fill(t *testing.T, dir string, leave int64) (filler string) {
	t.Helper()
	var s unix.Statfs_t
	if err := unix.Statfs(dir, &s); err != nil {
		t.Fatal(err)
	}
	filler = filepath.Join(dir, "filler")
	if n := int64(s.Bavail)*int64(s.Bsize) - leave; n > 0 {
		_ = os.WriteFile(filler, make([]byte, n), 0o644) // full before all is written: as well
	}
	return filler
}

func codeOf(t *testing.T, err error) int {
	t.Helper()
	var exit *exec.ExitError
	switch {
	case err == nil:
		return 0
	case errors.As(err, &exit):
		return exit.ExitCode()
	}
	t.Fatal(err)
	return -1
}

// sources are what a job came with: they are never written to.
var sources = []string{"part1.mp4", "part2.mp4", "log.csv", "job.toml"}

func unchanged(t *testing.T, dir, clean string) {
	t.Helper()
	for _, name := range sources {
		if read(t, filepath.Join(dir, name)) != read(t, filepath.Join(clean, name)) {
			t.Errorf("%s was changed", name)
		}
	}
}

// twoLines fails unless what was said ends in an error and a hint.
func twoLines(t *testing.T, said, about string) {
	t.Helper()
	if !strings.Contains(said, "error: ") || !strings.Contains(said, about) || !strings.Contains(said, "hint: ") || strings.Contains(said, "this shouldn't happen") {
		t.Errorf("said, where %q belongs:\n%s", about, said)
	}
}

// A disk that fills up while make is at work: told in plain words, nothing half left,
// and once there is room the same command goes on.
func TestAFullDisk(t *testing.T) {
	disk := smallDisk(t, 32)
	program, clean := runner(t), smallJob(t)
	if out, err := program("make", clean).CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	want := listing(t, filepath.Join(clean, "handover"))
	leave := []int64{0, 250_000}
	for range soak.Count(0, 30) {
		leave = append(leave, rand.Int64N(1_200_000))
	}
	failed := 0
	for i, n := range leave {
		dir := filepath.Join(disk, fmt.Sprint(i), "job")
		for _, name := range sources {
			copyTo(t, filepath.Join(clean, name), filepath.Join(dir, name))
		}
		cmd := program("make", dir)
		cmd.Env = append(os.Environ(), "TMPDIR="+disk) // the run's own folder stands there too
		said, filler := runFilling(t, cmd, disk, n)
		switch code := codeOf(t, cmd.Wait()); code {
		case exitDone:
		case exitInput:
			failed++
			twoLines(t, said, "the disk is full")
		default:
			t.Errorf("with %d bytes left it ended with %d:\n%s", n, code, said)
		}
		noHalfFile(t, program, dir)
		unchanged(t, dir, clean)
		if err := os.Remove(filler); err != nil && !errors.Is(err, os.ErrNotExist) {
			t.Fatal(err)
		}
		if out, err := program("make", dir).CombinedOutput(); err != nil {
			t.Errorf("with room again: %v\n%s", err, out)
		}
		if got := listing(t, filepath.Join(dir, "handover")); !slices.Equal(got, want) {
			t.Errorf("after a full disk:\n%q\nwithout:\n%q", got, want)
		}
		checkSums(t, filepath.Join(dir, "handover"))
		if left, _ := filepath.Glob(filepath.Join(dir, "work", "unfinished-*")); len(left) > 0 {
			t.Errorf("left behind: %q", left)
		}
		if err := os.RemoveAll(filepath.Dir(dir)); err != nil {
			t.Fatal(err)
		}
	}
	if failed < 2 {
		t.Errorf("the disk was full in %d runs only", failed)
	}
}

// runFilling starts a command and fills the disk once it burns captions.
func runFilling(t *testing.T, cmd *exec.Cmd, disk string, leave int64) (said, filler string) {
	t.Helper()
	pipe, err := cmd.StderrPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	var all strings.Builder
	for lines := bufio.NewScanner(pipe); lines.Scan(); {
		fmt.Fprintln(&all, lines.Text())
		if strings.Contains(lines.Text(), "burning captions") {
			filler = fill(t, disk, leave)
		}
	}
	return all.String(), filler
}

// A disk without room enough is told of before hours of work are spent.
func TestADiskThatIsTooSmallIsToldAtOnce(t *testing.T) {
	disk := smallDisk(t, 8)
	program, clean := runner(t), smallJob(t)
	dir := filepath.Join(disk, "job")
	for _, name := range sources {
		copyTo(t, filepath.Join(clean, name), filepath.Join(dir, name))
	}
	out, err := program("make", dir).CombinedOutput()
	if code := codeOf(t, err); code != exitInput {
		t.Errorf("it ended with %d", code)
	}
	twoLines(t, string(out), "there isn't room enough")
	if left := listing(t, filepath.Join(dir, "handover")); len(left) > 0 || strings.Contains(string(out), "burning") {
		t.Errorf("left behind: %q, said:\n%s", left, out)
	}
	unchanged(t, dir, clean)
}

// other makes a command run as somebody who doesn't own the job.
func other(t *testing.T, cmd *exec.Cmd) *exec.Cmd {
	t.Helper()
	if os.Geteuid() == 0 {
		const nobody = 65534
		cmd.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: nobody, Gid: nobody}}
	}
	cmd.Env = append(os.Environ(), "HOME=/nonexistent", "XDG_CONFIG_HOME=/nonexistent")
	return cmd
}

// openFolder is a folder that everybody may enter, with the program in it.
func openFolder(t *testing.T) (dir string, program func(...string) *exec.Cmd) {
	t.Helper()
	dir, err := os.MkdirTemp("", "pushcue-test-")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(dir) })
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(dir, "pushcue")
	copyTo(t, self, path)
	if err := errors.Join(os.Chmod(dir, 0o755), os.Chmod(path, 0o755)); err != nil {
		t.Fatal(err)
	}
	return dir, func(args ...string) *exec.Cmd { return other(t, exec.Command(path, args...)) }
}

// A job on a drive that this user may only read can be checked, and made elsewhere.
func TestAFolderThatCanOnlyBeRead(t *testing.T) {
	open, program := openFolder(t)
	clean := smallJob(t)
	dir := filepath.Join(open, "job")
	for _, name := range sources {
		copyTo(t, filepath.Join(clean, name), filepath.Join(dir, name))
	}
	elsewhere := filepath.Join(open, "elsewhere")
	if err := errors.Join(os.Chmod(dir, 0o555), os.Mkdir(elsewhere, 0o777), os.Chmod(elsewhere, 0o777)); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.Chmod(dir, 0o755) })

	if out, err := program("check", dir).CombinedOutput(); err != nil {
		t.Errorf("check: %v\n%s", err, out)
	}
	out, err := program("make", dir).CombinedOutput()
	if code := codeOf(t, err); code != exitInput {
		t.Errorf("make ended with %d", code)
	}
	twoLines(t, string(out), "can't be written to")
	if !strings.Contains(string(out), "--out") {
		t.Errorf("the way out isn't named:\n%s", out)
	}
	made := filepath.Join(elsewhere, "handover")
	if out, err := program("make", "--out", made, dir).CombinedOutput(); err != nil {
		t.Errorf("make --out: %v\n%s", err, out)
	}
	checkSums(t, made)
	if got := listing(t, dir); !slices.Equal(got, slices.Sorted(slices.Values(sources))) {
		t.Errorf("the job folder holds %q", got)
	}
	unchanged(t, dir, clean)
}

// What this user may not read is named, not taken for damaged.
func TestAFileThatCantBeRead(t *testing.T) {
	open, program := openFolder(t)
	for _, name := range []string{"part2.mp4", "log.csv", "job.toml"} {
		dir := filepath.Join(open, "without "+name)
		clean := smallJob(t)
		for _, n := range sources {
			copyTo(t, filepath.Join(clean, n), filepath.Join(dir, n))
		}
		if err := errors.Join(os.Chmod(filepath.Join(dir, name), 0), os.Chmod(dir, 0o777)); err != nil {
			t.Fatal(err)
		}
		for _, verb := range []string{"check", "make"} {
			out, err := program(verb, dir).CombinedOutput()
			if code := codeOf(t, err); code != exitInput {
				t.Errorf("%s without %s ended with %d", verb, name, code)
			}
			twoLines(t, string(out), name)
		}
		if left := listing(t, filepath.Join(dir, "handover")); len(left) > 0 {
			t.Errorf("without %s there is %q", name, left)
		}
	}
}

// An ffmpeg or ffprobe that hangs is given up after a minute, and the program says so.
func TestHangingToolsAreGivenUp(t *testing.T) {
	if !soak.On() {
		t.Skip("takes over a minute: set PUSHCUE_SOAK=1")
	}
	tools, program := foundTools(t), runner(t)
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	for mode, about := range map[string]string{"hang": "ffmpeg hangs", "hang-probe": "ffprobe hangs"} {
		t.Run(mode, func(t *testing.T) {
			t.Parallel()
			bin, dir := t.TempDir(), smallJob(t)
			for _, tool := range []string{"ffmpeg", "ffprobe"} {
				if err := os.Symlink(self, filepath.Join(bin, tool)); err != nil {
					t.Fatal(err)
				}
			}
			cmd := program("make", dir)
			cmd.Env = append(os.Environ(), "FAKE="+mode, "PATH="+bin, "REAL_FFMPEG="+tools.FFmpeg, "REAL_FFPROBE="+tools.FFprobe)
			began := time.Now()
			out, err := cmd.CombinedOutput()
			if code := codeOf(t, err); code != exitFFmpeg {
				t.Errorf("it ended with %d", code)
			}
			twoLines(t, string(out), about)
			if took := time.Since(began); took > 2*time.Minute {
				t.Errorf("it took %v", took)
			}
			if left := listing(t, filepath.Join(dir, "handover")); len(left) > 0 {
				t.Errorf("left behind: %q", left)
			}
		})
	}
}
