package handover

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"pushcue/internal/job"
	"pushcue/internal/safefile"
	"pushcue/internal/shelf"
	"pushcue/internal/soak"
	"pushcue/internal/trouble"
	"pushcue/timeline/jobsheet"
)

// everything is all below a folder, with its content; links as what they say.
func everything(t *testing.T, dir string) map[string]string {
	t.Helper()
	all := map[string]string{}
	must(t, filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		rel, _ := filepath.Rel(dir, path)
		switch rel = filepath.ToSlash(rel); {
		case d.Type()&fs.ModeSymlink != 0:
			all[rel], err = os.Readlink(path)
		case d.Type().IsRegular():
			all[rel] = content(t, path)
		default:
			all[rel] = d.Type().String()
		}
		return err
	}))
	return all
}

// elsewhereIn is what of a folder with a job in it lies in neither of the job's
// folders of ours.
func elsewhereIn(t *testing.T, dir string) map[string]string {
	t.Helper()
	all := everything(t, dir)
	maps.DeleteFunc(all, func(name, _ string) bool {
		return strings.HasPrefix(name, "small/handover") || strings.HasPrefix(name, "small/work")
	})
	return all
}

// stranger is a job as a stranger hands it in, with something precious beside it.
func stranger(t *testing.T) (above, job string) {
	t.Helper()
	job = frozen(t, "small")
	above = filepath.Dir(job)
	overwrite(t, filepath.Join(above, "precious", "push.mp4"), "precious")
	overwrite(t, filepath.Join(above, "precious", "handover.record"), "precious")
	overwrite(t, filepath.Join(above, "x"), "precious")
	return above, job
}

func makeStrangers(t *testing.T, dir string) (*Result, error) {
	t.Helper()
	v, err := job.Open(t.Context(), job.Ask{Path: dir})
	if err != nil {
		return nil, err
	}
	return Make(t.Context(), realTools(t), v, Options{Only: []string{"subtitles", "log"}}, nil)
}

func TestAForgedRecordRemovesNothing(t *testing.T) {
	above, job := stranger(t)
	line := func(path, text string) string {
		return fmt.Sprintf(`{"path":%q,"key":"k","sha256":%q}`+"\n", path, shelf.SumOf([]byte(text)))
	}
	record := filepath.Join(job, "work", "handover.record")
	names := []string{"../push.mp4", "../../x", filepath.ToSlash(filepath.Join(above, "x")), "video/../../push.mp4", `..\push.mp4`, "./../push.mp4"}
	forged := content(t, record)
	for _, name := range names {
		forged += line(name, content(t, filepath.Join(job, "push.mp4"))) + line(name, "precious")
	}
	overwrite(t, record, forged)
	before := elsewhereIn(t, above)
	r, err := makeStrangers(t, job)
	must(t, err)
	if !maps.Equal(before, elsewhereIn(t, above)) {
		t.Error("something outside the handover was changed")
	}
	said := 0
	for _, w := range r.Warnings {
		if w.Code == "record-strange" {
			said++
		}
	}
	anew := slices.ContainsFunc(r.Made, func(name string) bool { return !mayBeMadeAnew(name) })
	if said == 0 || len(r.Removed) > 0 || anew || len(r.Kept) == 0 {
		t.Errorf("%d names said to be strange; made %q, removed %q, kept %q", said, r.Made, r.Removed, r.Kept)
	}
}

// Links in our folders are refused wherever they lead: one to the job's own files
// would have those changed, one to elsewhere the files there.
func TestLinksInOurFoldersAreRefused(t *testing.T) {
	for _, at := range []string{
		"handover", "handover/video", "handover/log.csv", "handover/SHA256SUMS", "handover/new",
		"work", "work/handover.record", "work/lock", "work/sources.json", "work/counter.json", "work/unfinished-1",
	} {
		for _, to := range []string{"..", "../push.mp4", "../../precious", "../../precious/push.mp4", "/", ".", "nowhere"} {
			above, job := stranger(t)
			must(t, os.RemoveAll(filepath.Join(job, at)))
			if !strings.Contains(at, "/") && to != "/" {
				to = filepath.ToSlash(filepath.Join(".", strings.TrimPrefix(to, "../")))
			}
			if err := os.Symlink(to, filepath.Join(job, at)); err != nil {
				t.Skip("no links on this system:", err)
			}
			before := elsewhereIn(t, above)
			_, err := makeStrangers(t, job)
			var trouble *trouble.Trouble
			if !errors.As(err, &trouble) || !strings.Contains(trouble.Text.String(), filepath.Join(job, at)) || trouble.Hint.Empty() {
				t.Errorf("%s -> %s: %v", at, to, err)
			}
			if !maps.Equal(before, elsewhereIn(t, above)) {
				t.Errorf("%s -> %s: something outside our folders was changed", at, to)
			}
		}
	}
}

func TestASourceUnderAnotherNameIsNotRemoved(t *testing.T) {
	_, job := stranger(t)
	must(t, os.MkdirAll(filepath.Join(job, "handover", "video"), 0o755))
	if err := os.Link(filepath.Join(job, "push.mp4"), filepath.Join(job, "handover", "video", "old.mp4")); err != nil {
		t.Skip("no hard links on this system:", err)
	}
	record := filepath.Join(job, "work", "handover.record")
	overwrite(t, record, content(t, record)+fmt.Sprintf(`{"path":"video/old.mp4","key":"k","sha256":%q}`+"\n", shelf.SumOf([]byte(content(t, filepath.Join(job, "push.mp4"))))))
	_, err := makeStrangers(t, job)
	var trouble *trouble.Trouble
	if !errors.As(err, &trouble) || !strings.Contains(trouble.Text.String(), "old.mp4") {
		t.Errorf("%v", err)
	}
	if _, err := os.Stat(filepath.Join(job, "handover", "video", "old.mp4")); err != nil {
		t.Error("it was removed")
	}
}

// What ffmpeg reads of the handover is a copy of what was opened: somebody may put a link
// on the way to it.
func TestAFileOfTheHandoverIsReadThroughNoLink(t *testing.T) {
	f, outside := New(t), filepath.Join(t.TempDir(), "01.jpg")
	write(t, f, "stills/01.jpg", "ours")
	overwrite(t, outside, "precious")
	path, err := f.Readable(f.Path("stills/01.jpg"))
	must(t, err)
	stills := f.Path("stills")
	must(t, os.Rename(stills, stills+"-aside"))
	if err := os.Symlink(filepath.Dir(outside), stills); err != nil {
		t.Skip("no links on this system:", err)
	}
	if got := content(t, path); got != "ours" {
		t.Errorf("the copy holds %q", got)
	}
	var trouble *trouble.Trouble
	if path, err := f.Readable(f.Path("stills/01.jpg")); !errors.As(err, &trouble) {
		t.Errorf("through a link: %q, %v", path, err)
	}
	must(t, errors.Join(os.Remove(stills), os.Mkdir(stills, 0o755)))
	if _, err := f.Readable(f.Path("stills/01.jpg")); !errors.As(err, &trouble) || trouble.Hint.Empty() {
		t.Errorf("taken away: %v", err)
	}
	if waiting, err := f.Readable(f.Temp.At("clip0.mp4")); waiting != f.Temp.At("clip0.mp4") || err != nil {
		t.Errorf("an unfinished file: %q, %v", waiting, err)
	}
}

// A bench is a visit of one job without a recording, whose handover is brought from
// one state to the next without ffmpeg.
type bench struct {
	dir   string
	visit *job.Visit
}

func newBench(t *testing.T) *bench {
	t.Helper()
	dir := filepath.Join(quickTempDir(t), "job")
	overwrite(t, filepath.Join(dir, "push.mp4"), "the recording")
	overwrite(t, filepath.Join(dir, "handover", "invoice.pdf"), "theirs")
	return benchAt(dir)
}

// quickTempDir is a temporary folder in memory where the system has one: what is tried on
// it waits for the disk thousands of times.
func quickTempDir(t *testing.T) string {
	t.Helper()
	dir, err := os.MkdirTemp("/dev/shm", "pushcue-test-")
	if err != nil {
		return t.TempDir()
	}
	t.Cleanup(func() { must(t, os.RemoveAll(dir)) })
	return dir
}

// copied is the same in a folder beside it.
func (b *bench) copied(t *testing.T) *bench {
	t.Helper()
	dir := filepath.Join(filepath.Dir(b.dir), "copied", "job")
	must(t, os.RemoveAll(filepath.Dir(dir)))
	must(t, os.CopyFS(dir, os.DirFS(b.dir)))
	return benchAt(dir)
}

func benchAt(dir string) *bench {
	j := &job.Job{Name: "job", Dir: dir, Videos: []job.Source{{Path: filepath.Join(dir, "push.mp4"), Name: "push.mp4"}}, Sheet: jobsheet.Default()}
	v := &job.Visit{Dir: dir, Out: filepath.Join(dir, "handover"), Work: filepath.Join(dir, "work"), Jobs: []*job.Job{j}}
	j.Out, j.Work, j.Top = v.Out, v.Work, v.Work
	return &bench{dir, v}
}

// bring makes the handover hold the files of a state and no others of ours.
func (b *bench) bring(ctx context.Context, state map[string]string) error {
	g, err := openGround(b.visit)
	if err != nil {
		return err
	}
	defer g.close()
	f, err := folderOf(b.visit, b.visit.Jobs[0].Out, b.visit.Jobs[0].Work, g)
	if err != nil {
		return err
	}
	for _, name := range slices.Sorted(maps.Keys(state)) {
		if filepath.Ext(name) != ".mp4" {
			if err := f.Text(ctx, name, []byte(state[name])); err != nil {
				return err
			}
			continue
		}
		if have, err := f.Has(ctx, name, state[name]); have || err != nil {
			if err != nil {
				return err
			}
			continue
		}
		waiting := filepath.Base(name)
		if err := g.tmp.WriteBytes(waiting, []byte(state[name])); err != nil {
			return err
		}
		if err := f.Publish(ctx, shelf.Piece{Name: name, Key: state[name], Temp: g.tmp.At(waiting)}); err != nil {
			return err
		}
	}
	if err := errors.Join(f.Clear(ctx), f.Record.Compact()); err != nil {
		return err
	}
	if !slices.Equal(f.Foreign, []string{"invoice.pdf"}) {
		return fmt.Errorf("taken for somebody else's: %q", f.Foreign)
	}
	_, err = writeSums(f.Wanted, g)
	return err
}

// states follow each other: files come, change, move and go.
var states = []map[string]string{
	{"log.csv": "a", "video/push.mp4": "v1"},
	{"log.csv": "b", "video/push.mp4": "v1", "stills/01.jpg": "s1", "clips/01.mp4": "c1", "clips/02.mp4": "c2"},
	{"log.csv": "b", "video/push.mp4": "v2", "stills/02.jpg": "s1", "clips/02.mp4": "c2"},
	{"index.html": "i"},
}

// is reports what the job folder holds that it shouldn't, or lacks.
func (b *bench) is(t *testing.T, state map[string]string) string {
	t.Helper()
	var list strings.Builder
	for _, name := range slices.Sorted(maps.Keys(state)) {
		fmt.Fprintf(&list, "%s  %s\n", shelf.SumOf([]byte(state[name])), name)
	}
	want := map[string]string{"push.mp4": "the recording", "handover/invoice.pdf": "theirs", "handover/SHA256SUMS": list.String()}
	for name, text := range state {
		want["handover/"+name] = text
	}
	got := everything(t, b.dir)
	maps.DeleteFunc(got, func(name, _ string) bool {
		info, err := os.Stat(filepath.Join(b.dir, name))
		return strings.HasPrefix(name, "work") || err == nil && info.IsDir()
	})
	if maps.Equal(got, want) {
		return ""
	}
	return fmt.Sprintf("%q, want %q", got, want)
}

var errStopped = errors.New("stopped")

// stopAt stops the program at its nth operation on the disk: that one and all that
// would follow aren't done, not even what clears up.
func stopAt(n int) (done func() bool) {
	at := 0
	undo := safefile.OnEachStep(func(string, string) error {
		if at++; at > n {
			return errStopped
		}
		return nil
	})
	return func() bool { undo(); return at > n }
}

// randomStates are other ways that a handover may change.
func randomStates(seed uint64) []map[string]string {
	r := rand.New(rand.NewPCG(seed, 1))
	all := make([]map[string]string, 4)
	for i := range all {
		all[i] = map[string]string{}
		for _, name := range []string{"log.csv", "index.html", "video/push.mp4", "stills/01.jpg", "stills/thumbs/01.jpg", "clips/01.mp4", "clips/02.mp4"} {
			if n := r.IntN(4); n > 0 {
				all[i][name] = fmt.Sprint(name, n)
			}
		}
	}
	return all
}

// A run is stopped at each of its operations; the next one ends as if nothing had
// happened, and takes nothing of ours for somebody else's.
func TestAStopAtAnyOperationLosesNothing(t *testing.T) {
	stops := 0
	for round := uint64(0); stops < soak.Count(200, 10_000); round++ {
		all := states
		if round > 0 {
			all = randomStates(round)
		}
		for next := 1; next < len(all); next++ {
			was := newBench(t)
			must(t, was.bring(t.Context(), all[next-1]))
			for n, stopped := 0, true; stopped; n++ {
				b := was.copied(t)
				done := stopAt(n)
				err := b.bring(t.Context(), all[next])
				if stopped = done(); !stopped {
					must(t, err)
				}
				stops++
				must(t, b.bring(t.Context(), all[next]))
				if wrong := b.is(t, all[next]); wrong != "" {
					t.Fatalf("round %d, state %d, stopped before operation %d: %s", round, next, n+1, wrong)
				}
				must(t, os.RemoveAll(b.dir))
			}
		}
	}
	t.Logf("%d stops", stops)
}

// In the middle of a run the folder of a file is exchanged for a link to the sources
// or elsewhere. What was there before stays as it was.
func TestSwapsDuringARunChangeNothingElsewhere(t *testing.T) {
	if err := os.Symlink(".", filepath.Join(t.TempDir(), "link")); err != nil {
		t.Skip("no links on this system:", err)
	}
	was, swaps := newBench(t), 0
	for _, dir := range []string{was.dir, filepath.Join(was.dir, "named")} { // the same names as in the handover
		for name, text := range states[1] {
			overwrite(t, filepath.Join(dir, filepath.FromSlash(name)), "precious "+text)
		}
	}
	must(t, was.bring(t.Context(), states[1]))
	for _, at := range []string{"handover", "handover/video", "handover/clips", "work"} {
		for _, to := range []string{"..", "precious"} {
			for n := 0; ; n++ {
				b := was.copied(t)
				precious := filepath.Join(filepath.Dir(b.dir), "precious")
				must(t, os.CopyFS(precious, os.DirFS(filepath.Join(b.dir, "named"))))
				elsewhere := func() map[string]string {
					all := everything(t, filepath.Dir(b.dir))
					maps.DeleteFunc(all, func(name, _ string) bool {
						return strings.HasPrefix(name, "job/handover") || strings.HasPrefix(name, "job/work")
					})
					return all
				}
				before, step, swapped := elsewhere(), 0, false
				path := filepath.Join(b.dir, filepath.FromSlash(at))
				target := map[string]string{"..": strings.Repeat("../", strings.Count(at, "/")) + ".", "precious": precious}[to]
				undo := safefile.OnEachStep(func(string, string) error {
					if step == n {
						swapped = os.Rename(path, path+"-aside") == nil && os.Symlink(target, path) == nil
					}
					step++
					return nil
				})
				_ = b.bring(t.Context(), states[2])
				undo()
				if step <= n {
					break
				}
				if swapped {
					swaps++
				}
				if now := elsewhere(); !maps.Equal(before, now) {
					t.Fatalf("%s -> %s before operation %d: %q, was %q", at, target, n+1, now, before)
				}
				if !soak.On() {
					n += 3
				}
			}
		}
	}
	t.Logf("%d swaps", swaps)
}
