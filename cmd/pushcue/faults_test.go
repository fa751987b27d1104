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

// twoLines fails unless what was said ends in an error and a hint.
func twoLines(t *testing.T, said, about string) {
	t.Helper()
	if !strings.Contains(said, "error: ") || !strings.Contains(said, about) || !strings.Contains(said, "hint: ") || strings.Contains(said, "this shouldn't happen") {
		t.Errorf("said, where %q belongs:\n%s", about, said)
	}
}

// A disk that fills up while make is at work, at once and a little later: told in plain
// words, nothing half left, and once there is room the same command goes on.
func TestAFullDisk(t *testing.T) {
	t.Parallel()
	disk, program := smallDisk(t, 32), runner(t)
	want := madeOfSmall(t)
	for i := range soak.Count(1, 15) {
		dir := filepath.Join(disk, fmt.Sprint(i), "job")
		smallSources(t, dir)
		leave := []int64{0, 20_000}
		if i > 0 {
			leave = []int64{rand.Int64N(400_000), rand.Int64N(400_000)}
		}
		failed := 0
		for _, n := range leave {
			cmd := program("make", dir)
			cmd.Env = append(cmd.Env, "TMPDIR="+disk) // the run's own folder stands there too
			said, filler := runFilling(t, cmd, disk, n)
			switch code := codeOf(t, cmd.Wait()); code {
			case exitDone:
			case exitInput:
				failed++
				twoLines(t, said, "the disk is full")
			default:
				t.Errorf("with %d bytes left it ended with %d:\n%s", n, code, said)
			}
			noHalfFile(t, dir)
			unchanged(t, dir)
			if err := os.Remove(filler); err != nil && !errors.Is(err, os.ErrNotExist) {
				t.Fatal(err)
			}
		}
		if i == 0 && failed < len(leave) {
			t.Errorf("the disk was full in %d runs only", failed)
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
	t.Parallel()
	dir := filepath.Join(smallDisk(t, 2), "job")
	smallSources(t, dir)
	code, _, out := inProcess(t, "make", dir)
	if code != exitInput {
		t.Errorf("it ended with %d", code)
	}
	twoLines(t, out, "there isn't room enough")
	if left := listing(t, filepath.Join(dir, "handover")); len(left) > 0 || strings.Contains(out, "burning") {
		t.Errorf("left behind: %q, said:\n%s", left, out)
	}
	unchanged(t, dir)
}

// A disk that can hold no more files, though there is room on it, isn't said to be full.
func TestADiskWithoutRoomForMoreFiles(t *testing.T) {
	t.Parallel()
	disk := smallDisk(t, 32)
	dir := filepath.Join(disk, "job")
	smallSources(t, dir)
	if out, err := exec.Command("mount", "-o", "remount,nr_inodes=12", disk).CombinedOutput(); err != nil {
		t.Skipf("the number of files can't be bounded here: %v %s", err, out)
	}
	code, _, out := inProcess(t, "make", "--quick", dir)
	if code != exitInput {
		t.Errorf("it ended with %d", code)
	}
	twoLines(t, out, "the disk has no room for more files")
	unchanged(t, dir)
}

// openFolder is a folder that everybody may enter, and the program there, run by
// somebody who owns nothing of it.
func openFolder(t *testing.T) (dir string, program func(...string) *exec.Cmd) {
	t.Helper()
	dir, err := os.MkdirTemp("", "open-")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(dir) })
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	path, theirs := filepath.Join(dir, "pushcue"), filepath.Join(dir, "theirs")
	if os.Link(self, path) != nil {
		copyTo(t, self, path)
	}
	if err := errors.Join(os.Chmod(dir, 0o755), os.Chmod(path, 0o755), os.Mkdir(theirs, 0o777), os.Chmod(theirs, 0o777)); err != nil {
		t.Fatal(err)
	}
	return dir, func(args ...string) *exec.Cmd {
		cmd := exec.Command(path, args...)
		if os.Geteuid() == 0 {
			const nobody = 65534
			cmd.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: nobody, Gid: nobody}}
		}
		cmd.Env = append(os.Environ(), "HOME=/nonexistent", "XDG_CONFIG_HOME=/nonexistent", "XDG_CACHE_HOME="+theirs, "TMPDIR="+theirs)
		return cmd
	}
}

// A job on a drive that this user may only read can be checked, and made elsewhere, also
// where the folder above it may only be passed through.
func TestAFolderThatCanOnlyBeRead(t *testing.T) {
	t.Parallel()
	open, program := openFolder(t)
	passed, elsewhere := filepath.Join(open, "passed"), filepath.Join(open, "elsewhere")
	dir := filepath.Join(passed, "job")
	smallSources(t, dir)
	if err := errors.Join(os.Chmod(dir, 0o555), os.Chmod(passed, 0o711), os.Mkdir(elsewhere, 0o777), os.Chmod(elsewhere, 0o777)); err != nil {
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
	if out, err := program("make", "--quick", "--out", made, dir).CombinedOutput(); err != nil {
		t.Errorf("make --out: %v\n%s", err, out)
	}
	checkSums(t, made)
	if got := listing(t, dir); !slices.Equal(got, slices.Sorted(slices.Values(sources))) {
		t.Errorf("the job folder holds %q", got)
	}
	unchanged(t, dir)
}

// What this user may not read is named, not taken for damaged.
func TestAFileThatCantBeRead(t *testing.T) {
	t.Parallel()
	open, program := openFolder(t)
	for _, name := range []string{"part1.mp4", "log.csv", "job.toml"} {
		dir := filepath.Join(open, "without "+name)
		smallSources(t, dir)
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

// Two runs at once: the second is told, and changes nothing.
func TestASecondRunIsTold(t *testing.T) {
	t.Parallel()
	program, bin, dir := runner(t), standIns(t, "wait"), smallJob(t)
	here := filepath.Join(bin, "here")
	if err := unix.Mkfifo(here, 0o600); err != nil {
		t.Fatal(err)
	}
	first := program("make", "--only", "log", dir)
	first.Env = append(first.Env, "PATH="+bin, "XDG_CACHE_HOME="+t.TempDir())
	var said oneWriter
	first.Stdout, first.Stderr = &said, &said
	if err := first.Start(); err != nil {
		t.Fatal(err)
	}
	ended, atWork := make(chan error, 1), make(chan *os.File, 1)
	go func() { ended <- first.Wait() }()
	go func() {
		pipe, _ := os.OpenFile(here, os.O_WRONLY, 0) // waits until the first run's ffprobe opens it
		atWork <- pipe
	}()
	var pipe *os.File
	select {
	case pipe = <-atWork:
	case err := <-ended:
		t.Fatalf("the first run ended: %v\n%s", err, said.String())
	}
	if code, _, told := inProcess(t, "make", dir); code != exitInput || !strings.Contains(told, "another pushcue is at work") {
		t.Errorf("the second run ended with %d:\n%s", code, told)
	}
	if left := listing(t, filepath.Join(dir, "handover")); len(left) > 0 {
		t.Errorf("the second run made %q", left)
	}
	os.Remove(here)
	if err := os.WriteFile(here, nil, 0o600); err != nil { // the next ones don't wait
		t.Fatal(err)
	}
	pipe.Close()
	if err := <-ended; err != nil {
		t.Errorf("the first run: %v\n%s", err, said.String())
	}
}

// An ffmpeg or ffprobe that hangs is given up after the time that is set, and the program says so.
func TestHangingToolsAreGivenUp(t *testing.T) {
	if !soak.On() {
		t.Skip("waits for ten seconds: set PUSHCUE_SOAK=1")
	}
	program, config := runner(t), t.TempDir()
	writeTo(t, filepath.Join(config, "pushcue", "settings.toml"), "patience = \"10 s\"\n")
	for mode, about := range map[string]string{"hang": "ffmpeg hangs", "hang-probe": "ffprobe hangs"} {
		t.Run(mode, func(t *testing.T) {
			t.Parallel()
			dir := smallJob(t)
			cmd := program("make", dir)
			cmd.Env = append(cmd.Env, "PATH="+standIns(t, mode), "XDG_CACHE_HOME="+t.TempDir(), "XDG_CONFIG_HOME="+config)
			out, err := cmd.CombinedOutput()
			if code := codeOf(t, err); code != exitFFmpeg {
				t.Errorf("it ended with %d", code)
			}
			twoLines(t, string(out), about)
			if left := listing(t, filepath.Join(dir, "handover")); len(left) > 0 {
				t.Errorf("left behind: %q", left)
			}
		})
	}
}
