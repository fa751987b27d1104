package main

import (
	"crypto/sha256"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"

	"pushcue/internal/handover/account"
	"pushcue/timeline/wording"
	"pushcue/timeline/words"
)

var update = flag.Bool("update", false, "write the sentences of incomplete pushes anew; reviewed.md then wants each changed case read again")

const incompleteDir = "testdata/incomplete"

// Each way in which a push can be incomplete is worded by everything that is handed over,
// in every language, and held to the sentences that a person has read: see reviewed.md
// beside them.
func TestWhatIsSaidOfIncompletePushes(t *testing.T) {
	review := read(t, filepath.Join(incompleteDir, "reviewed.md"))
	reviewed := map[string]string{} // by case: the sum of the sentences that were read
	for _, m := range regexp.MustCompile("(?m)^## (\\S+)\n+sum: `([0-9a-f]+)`").FindAllStringSubmatch(review, -1) {
		reviewed[m[1]] = m[2]
	}
	seen := map[string]bool{}
	for _, c := range incompletePushes {
		t.Run(c.name, func(t *testing.T) {
			got := c.told(t)
			file := filepath.Join(incompleteDir, c.name+".txt")
			if *update {
				if err := os.WriteFile(file, []byte(got), 0o644); err != nil {
					t.Fatal(err)
				}
			}
			if want := read(t, file); got != want {
				t.Errorf("%s says something else: %s\nrun go test ./cmd/pushcue -run IncompletePushes -update, read what changed, and renew the case in reviewed.md", file, firstDifference(got, want))
			}
			if sum := sumOfText(got); reviewed[c.name] != sum {
				t.Errorf("nobody has reviewed these sentences: read %s in each language, answer the four questions anew under “## %s” in reviewed.md, and write sum: `%s` there", file, c.name, sum)
			}
		})
		if seen[c.name] {
			t.Errorf("two cases are called %s", c.name)
		}
		seen[c.name] = true
	}
	for name := range reviewed {
		if !seen[name] {
			t.Errorf("reviewed.md tells of %s, which is no case", name)
		}
	}
	files, err := filepath.Glob(filepath.Join(incompleteDir, "*.txt"))
	if err != nil {
		t.Fatal(err)
	}
	for _, file := range files {
		if !seen[strings.TrimSuffix(filepath.Base(file), ".txt")] {
			t.Errorf("%s belongs to no case", file)
		}
	}
	if len(incompletePushes) < 40 {
		t.Errorf("%d cases", len(incompletePushes))
	}
}

func sumOfText(text string) string { return fmt.Sprintf("%x", sha256.Sum256([]byte(text)))[:12] }

func firstDifference(got, want string) string {
	g, w := strings.Split(got, "\n"), strings.Split(want, "\n")
	for i := range min(len(g), len(w)) {
		if g[i] != w[i] {
			return fmt.Sprintf("line %d\n got %s\nwant %s", i+1, g[i], w[i])
		}
	}
	return fmt.Sprintf("%d lines, not %d", len(g), len(w))
}

// told is all that is said of a case, in every language.
func (c incomplete) told(t *testing.T) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s: %s\n", c.name, c.what)
	for i, p := range c.pushes(t, "en") {
		fmt.Fprintf(&b, "\n== the command, push %d\n%s", i+1, p.command(t))
	}
	for _, tag := range slices.Sorted(slices.Values(words.Tags())) {
		l, err := words.For(tag)
		if err != nil {
			t.Fatal(err)
		}
		pushes := c.pushes(t, tag)
		a := c.account(l, pushes)
		page, prose := pageText(t, a)
		report := reportText(t, a)
		allInBoth(t, tag, a, page, report)
		otherwise := notIn(report, page)
		if !c.whole {
			prose = own(prose, l)
		}
		fmt.Fprintf(&b, "\n== %s: page\n%s\n== %[1]s: report, where it says it otherwise\n%[3]s", tag, prose, otherwise)
		for i, p := range pushes {
			strip, cues := p.strip(t, l), p.cues(l)
			fmt.Fprintf(&b, "\n== %s: strip and stills, push %d\n%s", tag, i+1, strip)
			fmt.Fprintf(&b, "\n== %s: cues and chapters, push %d\n%s", tag, i+1, cues)
			p.agrees(t, wording.In(l, p.t), a.Pushes[i], strip, cues)
		}
	}
	return b.String()
}

// allInBoth fails where a sentence of the account is missing on the page or in the report.
func allInBoth(t *testing.T, tag string, a *account.Account, page, report string) {
	t.Helper()
	page, report = flat(page), flat(report)
	for _, s := range sentencesOf(reflect.ValueOf(*a), "") {
		if !strings.Contains(page, flat(s)) {
			t.Errorf("%s: the page lacks %q", tag, s)
		}
		if !strings.Contains(report, flat(s)) {
			t.Errorf("%s: the report lacks %q", tag, s)
		}
	}
}

// notWords are the fields of an account that aren't shown as text, or not on paper.
var notWords = []string{"Language", "ID", "Thumb", "Still", "StillText", "Clip", "AllClips", "Video", "Poster", "Chart", "Files", "Travel", "Marks", "Ticks", "Path", "Position", "File", "Narrated"}

func sentencesOf(v reflect.Value, name string) []string {
	if slices.Contains(notWords, name) {
		return nil
	}
	var all []string
	switch v.Kind() {
	case reflect.String:
		if v.Len() > 0 {
			all = append(all, v.String())
		}
	case reflect.Pointer:
		if !v.IsNil() {
			all = sentencesOf(v.Elem(), name)
		}
	case reflect.Slice:
		for i := range v.Len() {
			all = append(all, sentencesOf(v.Index(i), name)...)
		}
	case reflect.Struct:
		for i := range v.NumField() {
			all = append(all, sentencesOf(v.Field(i), v.Type().Field(i).Name)...)
		}
	}
	return all
}

func flat(s string) string { return strings.Join(strings.Fields(s), "") }

// notIn are the lines of a text of which another doesn't hold every piece.
func notIn(text, other string) string {
	other = flat(other)
	var b strings.Builder
	for line := range strings.Lines(text) {
		for piece := range strings.SplitSeq(strings.TrimSpace(line), " · ") {
			if !strings.Contains(other, flat(piece)) {
				fmt.Fprintln(&b, strings.TrimSpace(line))
				break
			}
		}
	}
	return b.String()
}

// agrees fails where name, place, time or advice of an observation differ between the
// page, the cues, the chapters, the strip and the table.
func (p placedPush) agrees(t *testing.T, w *wording.Wording, a account.PushAccount, strip, cues string) {
	t.Helper()
	strip, cues = flat(strip), flat(cues)
	table := strings.Split(p.table(t), "\n")
	english := wording.In(words.English(), p.t)
	for i := range p.t.Observations {
		o, told := &p.t.Observations[i], a.Observations[i]
		if told.What != w.Name(o) || told.Place != w.Where(o) || told.Advice != w.Advice(o.Entry) {
			t.Errorf("the page calls observation %d %q, %q, %q", o.Number, told.What, told.Place, told.Advice)
		}
		if !strings.Contains(strip, flat(told.TrueTime)) {
			t.Errorf("the strip doesn't show observation %d at %q", o.Number, told.TrueTime)
		}
		if !o.Hidden && (!strings.Contains(cues, flat(w.Label(o))) || !strings.Contains(cues, flat(w.Where(o)))) {
			t.Errorf("cues and chapters lack %q, %q", w.Label(o), w.Where(o))
		}
		name, _, _ := strings.Cut(strings.TrimSpace(strings.TrimPrefix(strings.TrimSpace(table[i+1]), fmt.Sprint(o.Number))), "  ")
		if name = strings.TrimSuffix(name, "…"); !strings.HasPrefix(english.Name(o), name) || !strings.Contains(table[i+1], english.Where(o)) {
			t.Errorf("the table has %q, not %q, %q", table[i+1], english.Name(o), english.Where(o))
		}
	}
}
