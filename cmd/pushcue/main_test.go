package main

import (
	"context"
	"crypto/sha256"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"

	"pushcue/internal/testfootage"
)

func TestMain(m *testing.M) {
	// What stands in for ffmpeg where a test says so: this binary under its name.
	// It isn't among the commands below, since those go onto the PATH of all tests.
	if name := strings.TrimSuffix(filepath.Base(os.Args[0]), ".exe"); name == "ffmpeg" || name == "ffprobe" {
		os.Exit(standIn(name))
	}
	testscript.Main(m, map[string]func(){"pushcue": startAndTell})
}

// peakFile names, in the environment, the file that the program's own peak of memory
// is told in.
const peakFile = "PUSHCUE_TEST_PEAK"

// startAndTell is main, and tells how Linux saw its memory at the end. What a parent
// is told of a child counts the parent's own memory from before the child began.
func startAndTell() {
	code := start()
	if into := os.Getenv(peakFile); into != "" {
		if status, err := os.ReadFile("/proc/self/status"); err == nil {
			_ = os.WriteFile(into, status, 0o644)
		}
	}
	os.Exit(code)
}

// footage is what scripts copy into their job folders.
func footage(t *testing.T) map[string]string {
	return map[string]string{
		"PLAIN":  testfootage.Numbered(t, testfootage.Spec{Frames: 150, Width: 160, Height: 120}),
		"SHORT":  testfootage.Numbered(t, testfootage.Spec{Frames: 50, Width: 160, Height: 120}),
		"PART1":  testfootage.Numbered(t, firstPart), // of the whole job
		"SILENT": testfootage.Numbered(t, testfootage.Spec{Frames: 75, Container: "avi", Codec: "mjpeg"}),
		"VFR":    testfootage.Numbered(t, testfootage.Spec{Frames: 100, Container: "mkv", VFR: true}),
	}
}

func TestScripts(t *testing.T) {
	shots := footage(t)
	program, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	counted := countedPush(t)
	cache, err := os.UserCacheDir()
	if err != nil {
		cache = t.TempDir()
	}
	path := os.Getenv("PATH")
	testscript.Run(t, testscript.Params{
		Dir:           "testdata/script",
		WorkdirRoot:   t.TempDir(),
		UpdateScripts: os.Getenv("PUSHCUE_UPDATE") != "",
		Setup: func(env *testscript.Env) error {
			bin := filepath.Join(env.WorkDir, ".bin")
			if err := os.Mkdir(bin, 0o755); err != nil {
				return err
			}
			if err := os.Symlink(program, filepath.Join(bin, "pushcue")); err != nil {
				return err
			}
			env.Setenv("PATH", bin+string(os.PathListSeparator)+path)
			env.Setenv("HOME", env.WorkDir)
			env.Setenv("XDG_CONFIG_HOME", filepath.Join(env.WorkDir, ".config"))
			env.Setenv("XDG_CACHE_HOME", cache) // what the real ffmpeg can do is asked once for all scripts
			env.Setenv("TZ", "UTC")
			for name, file := range shots {
				env.Setenv(name, file)
			}
			env.Setenv("COUNTED", counted)
			return nil
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"exits":   exits,
			"fake":    fake,
			"job":     copyJob(t),
			"nofile":  nofile,
			"same":    same,
			"summed":  summed,
			"cut-off": cutOff,
		},
	})
}

// countedPush is the start of the demo's push, with a counter in its picture, small
// and at few frames a second.
func countedPush(t *testing.T) string {
	t.Helper()
	from := "../../testdata/demo/tramo1.mp4"
	key := fmt.Sprintf("24 s of the demo %x", sha256.Sum256([]byte(read(t, from))))
	return testfootage.Kept(t, "push.mp4", key, func(path string) error {
		return testfootage.Encode(context.Background(), nil, "-t", "24", "-i", from, "-an", "-vf", "fps=10,scale=320:240",
			"-c:v", "libx264", "-preset", "ultrafast", "-crf", "18", path)
	})
}

// exits CODE COMMAND … runs a command that must end with that very code.
func exits(ts *testscript.TestScript, neg bool, args []string) {
	err := ts.Exec(args[1], args[2:]...)
	code := "0"
	if exit := (*exec.ExitError)(nil); err != nil {
		if !asExit(err, &exit) {
			ts.Fatalf("%s: %v", args[1], err)
		}
		code = fmt.Sprint(exit.ExitCode())
	}
	if (code == args[0]) == neg {
		ts.Fatalf("ended with %s", code)
	}
}

func asExit(err error, into **exec.ExitError) bool {
	e, ok := err.(*exec.ExitError)
	*into = e
	return ok
}

// fake MODE puts tools on the PATH that stand in for ffmpeg and ffprobe.
func fake(ts *testscript.TestScript, _ bool, args []string) {
	dir := ts.MkAbs(".fake")
	if args[0] == "missing" {
		ts.Check(os.MkdirAll(dir, 0o755))
	} else {
		ts.Check(standInsIn(dir, args[0]))
	}
	ts.Setenv("XDG_CACHE_HOME", ts.MkAbs(".cache")) // nothing about stand-ins is kept among the user's
	ts.Setenv("PATH", dir+string(os.PathListSeparator)+ts.MkAbs(".bin"))
}

// job NAME FOLDER puts one of the jobs down that all tests share, with its handover.
func copyJob(t *testing.T) func(*testscript.TestScript, bool, []string) {
	return func(ts *testscript.TestScript, _ bool, args []string) {
		jobs := map[string]*madeJob{"quick": quickJob, "whole": wholeJob}
		jobs[args[0]].copyTo(t, ts.MkAbs(args[1]))
	}
}

// nofile PATTERN fails when a file matches.
func nofile(ts *testscript.TestScript, _ bool, args []string) {
	for _, pattern := range args {
		found, err := filepath.Glob(ts.MkAbs(pattern))
		ts.Check(err)
		if len(found) > 0 {
			ts.Fatalf("there is %s", found[0])
		}
	}
}

// same A B: both folders or files hold the same bytes under the same names.
func same(ts *testscript.TestScript, neg bool, args []string) {
	a, b := sumTree(ts, ts.MkAbs(args[0])), sumTree(ts, ts.MkAbs(args[1]))
	if (a == b) == neg {
		ts.Fatalf("%s and %s:\n%s\n%s", args[0], args[1], a, b)
	}
}

func sumTree(ts *testscript.TestScript, root string) string {
	var all strings.Builder
	ts.Check(filepath.Walk(root, func(path string, info os.FileInfo, err error) error {
		if err != nil || info.IsDir() {
			return err
		}
		text, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		rel, err := filepath.Rel(root, path)
		fmt.Fprintf(&all, "%x  %s\n", sha256.Sum256(text), rel)
		return err
	}))
	return all.String()
}

// summed DIR lets coreutils check the list of sums.
func summed(ts *testscript.TestScript, _ bool, args []string) {
	cmd := exec.Command("sha256sum", "--quiet", "--strict", "-c", "SHA256SUMS")
	cmd.Dir = ts.MkAbs(args[0])
	if out, err := cmd.CombinedOutput(); err != nil {
		ts.Fatalf("sha256sum: %v\n%s", err, out)
	}
}

// cut-off FILE BYTES shortens a file.
func cutOff(ts *testscript.TestScript, _ bool, args []string) {
	var n int64
	_, err := fmt.Sscan(args[1], &n)
	ts.Check(err)
	info, err := os.Stat(ts.MkAbs(args[0]))
	ts.Check(err)
	if info.Size() <= n {
		ts.Fatalf("%s has %d bytes only", args[0], info.Size())
	}
	ts.Check(os.Truncate(ts.MkAbs(args[0]), n))
}
