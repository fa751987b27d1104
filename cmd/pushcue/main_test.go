package main

import (
	"context"
	"crypto/sha256"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"

	"pushcue/internal/testfootage"
	"pushcue/timeline/timecode"
)

func TestMain(m *testing.M) {
	// What stands in for ffmpeg where a test says so: this binary under its name.
	// It isn't among the commands below, since those go onto the PATH of all tests.
	if name := strings.TrimSuffix(filepath.Base(os.Args[0]), ".exe"); name == "ffmpeg" || name == "ffprobe" {
		os.Exit(fakeTool(name))
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
		"PLAIN":  testfootage.Numbered(t, testfootage.Spec{Frames: 150, Audio: true}),
		"SECOND": testfootage.Numbered(t, testfootage.Spec{Frames: 100, First: 150, Audio: true}),
		"SILENT": testfootage.Numbered(t, testfootage.Spec{Frames: 75, Container: "avi", Codec: "mjpeg"}),
		"VFR":    testfootage.Numbered(t, testfootage.Spec{Frames: 100, Container: "mkv", VFR: true, Rate: timecode.Rate{Num: 25, Den: 1}}),
	}
}

func TestScripts(t *testing.T) {
	real := map[string]string{}
	for _, tool := range []string{"ffmpeg", "ffprobe"} {
		path, err := exec.LookPath(tool)
		if err != nil {
			t.Fatalf("%s is needed to test with: install ffmpeg 5.1 or newer", tool)
		}
		real[tool] = path
	}
	shots := footage(t)
	program, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	// A push with a counter in its picture.
	counted, err := filepath.Abs("../../testdata/demo/tramo1.mp4")
	if err != nil {
		t.Fatal(err)
	}
	cache, err := os.UserCacheDir()
	if err != nil {
		cache = t.TempDir()
	}
	path := os.Getenv("PATH")
	testscript.Run(t, testscript.Params{
		Dir:           "testdata/script",
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
			env.Setenv("REAL_FFMPEG", real["ffmpeg"])
			env.Setenv("REAL_FFPROBE", real["ffprobe"])
			for name, file := range shots {
				env.Setenv(name, file)
			}
			env.Setenv("COUNTED", counted)
			return nil
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"exits":   exits,
			"fake":    fake(program),
			"nofile":  nofile,
			"same":    same,
			"summed":  summed,
			"cut-off": cutOff,
		},
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
func fake(program string) func(*testscript.TestScript, bool, []string) {
	return func(ts *testscript.TestScript, _ bool, args []string) {
		dir := ts.MkAbs(".fake")
		ts.Check(os.MkdirAll(dir, 0o755))
		for _, tool := range []string{"ffmpeg", "ffprobe"} {
			_ = os.Remove(filepath.Join(dir, tool))
			if args[0] != "missing" {
				ts.Check(os.Symlink(program, filepath.Join(dir, tool)))
			}
		}
		ts.Setenv("FAKE", args[0])
		ts.Setenv("XDG_CACHE_HOME", ts.MkAbs(".cache")) // nothing about stand-ins is kept among the user's
		ts.Setenv("PATH", dir+string(os.PathListSeparator)+ts.MkAbs(".bin"))
	}
}

// fakeTool does what the environment says, and else hands on to the real one.
func fakeTool(name string) int {
	mode, args := os.Getenv("FAKE"), os.Args[1:]
	burns := strings.Contains(strings.Join(args, " "), "force_key_frames") || strings.Contains(strings.Join(args, " "), "ass=")
	switch {
	case mode == "old" && len(args) > 0 && args[len(args)-1] == "-version":
		fmt.Printf("%s version 4.2.1 Copyright (c) 2000-2019 the FFmpeg developers\n", name)
		return 0
	case mode == "halfway" && burns:
		fmt.Fprintln(os.Stderr, "av_interleaved_write_frame(): Input/output error")
		return 1
	case mode == "hang" && burns, mode == "hang-probe" && slices.Contains(args, "-show_streams"):
		<-time.After(time.Hour) // nothing at all would be a deadlock, and end it
	case mode == "full" && burns:
		fmt.Fprintln(os.Stderr, "av_interleaved_write_frame(): No space left on device\nError writing trailer of job.mp4: No space left on device\nConversion failed!")
		return 1
	case mode == "nothing" && burns:
		fmt.Println("progress=end")
		return 0
	}
	cmd := exec.Command(os.Getenv("REAL_"+strings.ToUpper(name)), args...)
	cmd.Stdin, cmd.Stdout, cmd.Stderr = os.Stdin, os.Stdout, os.Stderr
	if err := cmd.Run(); err != nil {
		return max(1, cmd.ProcessState.ExitCode())
	}
	return 0
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
	ctx, stop := context.WithTimeout(context.Background(), time.Minute)
	defer stop()
	cmd := exec.CommandContext(ctx, "sha256sum", "--quiet", "--strict", "-c", "SHA256SUMS")
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
