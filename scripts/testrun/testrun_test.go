package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// TestMain lets this test binary stand in for the tests of a package.
func TestMain(m *testing.M) {
	switch os.Getenv("PUSHCUE_TEST_ACT") {
	case "tidy":
		os.Exit(0)
	case "untidy":
		os.WriteFile(filepath.Join(os.TempDir(), "forgotten.mp4"), nil, 0o600)
		os.Exit(0)
	case "failing":
		os.WriteFile(filepath.Join(os.TempDir(), "forgotten.mp4"), nil, 0o600)
		os.Exit(3)
	}
	os.Exit(m.Run())
}

func TestWrapperHandsOnTheExitCodeAndNamesWhatWasLeftBehind(t *testing.T) {
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		act   string
		code  int
		names bool
	}{{"tidy", 0, false}, {"untidy", 1, true}, {"failing", 3, false}} {
		t.Run(c.act, func(t *testing.T) {
			run := t.TempDir()
			t.Setenv("PUSHCUE_TEST_ACT", c.act)
			t.Setenv(runFolder, run)
			var code int
			said := output(t, func() { code = runWrapped(false, self) })
			if code != c.code || strings.Contains(said, "forgotten.mp4") != c.names {
				t.Errorf("exit code %d, said %q", code, said)
			}
			here, err := os.Getwd()
			if err != nil {
				t.Fatal(err)
			}
			left, err := filepath.Glob(filepath.Join(run, "*"))
			if err != nil || len(left) != 1 || left[0] != spentFile(run, here) {
				t.Errorf("left in the run's folder: %q, %v", left, err)
			}
		})
	}
}

// output returns what f writes to standard output.
func output(t *testing.T, f func()) string {
	t.Helper()
	file, err := os.Create(filepath.Join(t.TempDir(), "out"))
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	stdout := os.Stdout
	os.Stdout = file
	defer func() { os.Stdout = stdout }()
	f()
	text, err := os.ReadFile(file.Name())
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// A run of go test -json, shortened: one package with a test that passes, one that is
// skipped and one that fails, and one package that doesn't compile.
var events = []event{
	{Action: "output", Package: "pushcue/a", Test: "TestGood", Output: "=== RUN   TestGood\n"},
	{Action: "output", Package: "pushcue/a", Test: "TestGood", Output: "    a_test.go:1: all is well\n"},
	{Action: "pass", Package: "pushcue/a", Test: "TestGood"},
	{Action: "output", Package: "pushcue/a", Test: "TestElsewhere", Output: "    a_test.go:2: only on Windows\n"},
	{Action: "output", Package: "pushcue/a", Test: "TestElsewhere", Output: "--- SKIP: TestElsewhere (0.00s)\n"},
	{Action: "skip", Package: "pushcue/a", Test: "TestElsewhere"},
	{Action: "output", Package: "pushcue/a", Test: "TestBad", Output: "    a_test.go:3: 2, want 3\n"},
	{Action: "output", Package: "pushcue/a", Test: "TestBad", Output: "--- FAIL: TestBad (0.00s)\n"},
	{Action: "fail", Package: "pushcue/a", Test: "TestBad"},
	{Action: "output", Package: "pushcue/a", Output: "FAIL\tpushcue/a\t0.1s\n"},
	{Action: "fail", Package: "pushcue/a"},
	{Action: "build-output", ImportPath: "pushcue/b [pushcue/b.test]", Output: "b/b.go:4:2: undefined: x\n"},
	{Action: "build-fail", ImportPath: "pushcue/b [pushcue/b.test]"},
	{Action: "output", Package: "pushcue/b", Output: "FAIL\tpushcue/b [build failed]\n"},
	{Action: "fail", Package: "pushcue/b", FailedBuild: "pushcue/b [pushcue/b.test]"},
}

func TestReportEndsWithWhatFailingTestsPrinted(t *testing.T) {
	r := &run{temp: &tempFolder{own: t.TempDir()}, cpu: map[string]time.Duration{}}
	f := newFollower(r)
	var code int
	said := output(t, func() {
		for _, e := range events {
			f.take(e)
		}
		os.Stdout.WriteString("REPORT")
		code = r.report(plan{})
	})
	_, report, _ := strings.Cut(said, "REPORT")
	for _, want := range []string{
		"pushcue/a TestElsewhere: a_test.go:2: only on Windows",
		"a_test.go:3: 2, want 3\n--- FAIL: TestBad (0.00s)\nFAIL\tpushcue/a\t0.1s",
		"b/b.go:4:2: undefined: x\nFAIL\tpushcue/b [build failed]",
		"\ntests: 1 passed, 2 failed, 1 skipped\nFAILED: pushcue/a, pushcue/b\n",
	} {
		if !strings.Contains(report, want) {
			t.Errorf("%q is missing in %q", want, report)
		}
	}
	if strings.Contains(report, "all is well") {
		t.Errorf("a test that passed is repeated: %q", report)
	}
	if code != 1 {
		t.Errorf("exit code %d", code)
	}
}

func TestTemporaryFoldersOfKilledRunsAreRemovedAndThoseOfOthersStay(t *testing.T) {
	t.Setenv("TMPDIR", t.TempDir())
	t.Setenv("TMP", os.TempDir()) // Windows
	folder := func(clone string) *tempFolder {
		t.Helper()
		f, err := newTempFolder(clone)
		if err != nil {
			t.Fatal(err)
		}
		return f
	}
	exists := func(name string, want bool) {
		t.Helper()
		if _, err := os.Stat(name); (err == nil) != want || err != nil && !os.IsNotExist(err) {
			t.Errorf("%s: %v", name, err)
		}
	}
	killed := folder("/clone/one")
	killed.lock.Close()
	first := folder("/clone/two")
	second := folder("/clone/two")
	exists(killed.shared, false)
	exists(first.own, true)
	if err := first.remove(); err != nil {
		t.Fatal(err)
	}
	exists(first.own, false)
	exists(second.own, true)
	again := folder("/clone/two")
	if again.shared != first.shared {
		t.Errorf("runs in one clone have %s and %s", first.shared, again.shared)
	}
	for _, f := range []*tempFolder{again, second} {
		if err := f.remove(); err != nil {
			t.Fatal(err)
		}
	}
	exists(second.shared, false)
}
