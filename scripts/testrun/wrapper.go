package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"regexp"
	"strings"
	"syscall"
	"time"
)

// wrapperFlag makes this program what go test starts each package's tests by (-exec). After
// it comes whether to fuzz (true or false), then the test binary and its arguments.
const wrapperFlag = "-wrap"

// runFolder is the environment variable that tells a wrapper the run's folder. Tests don't
// see it or the temporary folder in go test's own environment: go would take both for
// changed inputs, and never use its cache of results.
const runFolder = "PUSHCUE_TEST_RUN"

// runWrapped runs the tests of one package with a temporary folder of their own, fuzzes
// its targets, writes down the CPU time of both, and fails where something was left in that folder.
func runWrapped(fuzz bool, binary string, args ...string) (code int) {
	run := os.Getenv(runFolder)
	os.Unsetenv(runFolder)
	temp, err := os.MkdirTemp(run, "t")
	if err == nil {
		err = os.Chmod(temp, passable)
	}
	if err != nil {
		return complain(err)
	}
	defer os.RemoveAll(temp)
	var took spent
	defer func() {
		if err := took.note(run); err != nil {
			code = complain(err)
		}
	}()
	// go test keeps a result in its cache with the inputs that the tests read. It asks for these
	// by this argument, but not where a wrapper runs the tests, since that may be on another machine.
	inputs := "-test.testlogfile=" + filepath.Join(filepath.Dir(binary), "testlog.txt")
	if code, took.tests = start(temp, os.Stdout, binary, append([]string{inputs}, args...)...); code != 0 {
		return code
	}
	if fuzz {
		if code, took.fuzzing = fuzzAll(run, temp, binary); code != 0 {
			return code
		}
	}
	left, err := filepath.Glob(filepath.Join(temp, "*"))
	if err != nil {
		return complain(err)
	}
	for i := range left {
		left[i] = filepath.Base(left[i])
	}
	if len(left) > 0 {
		return complain(fmt.Errorf("the tests left in the temporary folder: %s", strings.Join(left, ", ")))
	}
	return 0
}

// Every target gets fewInputs, and manyInputs if those took less than cheap: some start a program for each input.
// These are counts, since what a target does in a given time depends on the machine.
const (
	fewInputs  = "10x"
	manyInputs = "500x"
	cheap      = 100 * time.Millisecond
)

// fuzzAll runs every fuzz target of the package for a moment.
func fuzzAll(run, temp, binary string) (code int, cpu time.Duration) {
	for _, target := range fuzzTargets() {
		for _, inputs := range []string{fewInputs, manyInputs} {
			var said bytes.Buffer
			code, took := start(temp, &said, binary, "-test.run=^$", "-test.fuzz=^"+target+"$", "-test.fuzztime="+inputs,
				"-test.fuzzcachedir="+filepath.Join(run, "fuzz"), "-test.fuzzminimizetime=1s", "-test.parallel=1", "-test.timeout=60m")
			cpu += took
			if code != 0 {
				os.Stdout.Write(said.Bytes())
				return code, cpu
			}
			if took > cheap {
				break
			}
		}
	}
	return 0, cpu
}

// start runs a test binary with a temporary folder, and returns its exit code and the CPU
// time of it and of what it started.
func start(temp string, out io.Writer, binary string, args ...string) (code int, cpu time.Duration) {
	c := exec.Command(binary, args...)
	c.Stdin, c.Stdout, c.Stderr = os.Stdin, out, out
	c.Env = os.Environ()
	for _, name := range []string{"TMPDIR", "GOTMPDIR", "TMP", "TEMP"} { // the last two on Windows
		c.Env = append(c.Env, name+"="+temp)
	}
	if err := c.Start(); err != nil {
		return complain(err), 0
	}
	// go test sends a signal to get the goroutines of tests that hang.
	signals := make(chan os.Signal, 1)
	signal.Notify(signals, os.Interrupt, syscall.SIGQUIT, syscall.SIGTERM)
	defer signal.Stop(signals)
	ended := make(chan struct{})
	defer close(ended)
	go func() {
		for {
			select {
			case s := <-signals:
				c.Process.Signal(s)
			case <-ended:
				return
			}
		}
	}()
	err := c.Wait()
	cpu = c.ProcessState.UserTime() + c.ProcessState.SystemTime()
	var exit *exec.ExitError
	switch {
	case errors.As(err, &exit):
		return max(exit.ExitCode(), 1), cpu
	case err != nil:
		return complain(err), cpu
	}
	return 0, cpu
}

var fuzzTarget = regexp.MustCompile(`(?m)^func (Fuzz\w+)\(`)

// fuzzTargets returns the fuzz targets of the package whose folder this process is in.
func fuzzTargets() (targets []string) {
	files, _ := filepath.Glob("*_test.go")
	for _, name := range files {
		text, _ := os.ReadFile(name)
		for _, found := range fuzzTarget.FindAllSubmatch(text, -1) {
			targets = append(targets, string(found[1]))
		}
	}
	return targets
}

func complain(err error) int {
	fmt.Println("error:", err)
	return 1
}

// spent is the CPU time that a package's tests took.
type spent struct{ tests, fuzzing time.Duration }

// spentFile is where a wrapper writes the CPU time of the package whose folder is given.
func spentFile(run, folder string) string {
	return filepath.Join(run, "cpu"+strings.NewReplacer("/", "+", string(filepath.Separator), "+", ":", "").Replace(folder))
}

// note writes down the CPU time of the package whose folder this process is in.
func (s spent) note(run string) error {
	here, err := os.Getwd()
	if err != nil {
		return err
	}
	return os.WriteFile(spentFile(run, here), fmt.Appendln(nil, int64(s.tests), int64(s.fuzzing)), 0o600)
}

// spentBy returns the CPU time that a package's wrapper wrote down. There is none where
// go took the result from its cache.
func (r *run) spentBy(pkg string) (s spent, known bool) {
	here, err := os.Getwd()
	if err != nil {
		return spent{}, false
	}
	text, err := os.ReadFile(spentFile(r.temp.own, filepath.Join(here, filepath.FromSlash(strings.TrimPrefix(pkg, "pushcue/")))))
	if err != nil {
		return spent{}, false
	}
	var tests, fuzzing int64
	_, err = fmt.Sscan(string(text), &tests, &fuzzing)
	return spent{time.Duration(tests), time.Duration(fuzzing)}, err == nil
}
