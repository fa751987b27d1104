package page

import (
	"io/fs"
	"maps"
	"os"
	"path"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"pushcue/timeline/jobsheet"
	"pushcue/timeline/words"
)

func texts(t *testing.T, ext string) map[string]string {
	t.Helper()
	all := map[string]string{}
	names, err := fs.Glob(FS, "*"+ext)
	if err != nil || len(names) == 0 {
		t.Fatalf("no %s: %v", ext, err)
	}
	for _, n := range names {
		b, err := fs.ReadFile(FS, n)
		if err != nil {
			t.Fatal(err)
		}
		all[n] = string(b)
	}
	return all
}

func review(t *testing.T) map[string]string {
	t.Helper()
	en, err := words.For("en")
	if err != nil {
		t.Fatal(err)
	}
	return en.Review()
}

var (
	asked  = regexp.MustCompile("say\\(\"([^\"]+)\"")
	quoted = regexp.MustCompile("\"([a-z][a-z0-9_-]*)\"")
	names  = regexp.MustCompile(`Say: "([^"]+)"`)
	stems  = regexp.MustCompile("`([a-z]+-)\\$\\{")
)

// said are the words that the server names for the page to show.
func said(t *testing.T) (all []string) {
	t.Helper()
	sources, err := filepath.Glob("../*.go")
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range sources {
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range names.FindAllStringSubmatch(string(text), -1) {
			all = append(all, m[1])
		}
	}
	if len(all) == 0 {
		t.Error("the server names no word: this test looks in the wrong place")
	}
	return all
}

func TestEveryWordAskedForIsThere(t *testing.T) {
	there := review(t)
	for _, word := range said(t) {
		if there[word] == "" {
			t.Errorf("the server names the word %q, which [review] lacks", word)
		}
	}
	for name, text := range texts(t, ".js") {
		for _, m := range asked.FindAllStringSubmatch(text, -1) {
			if there[m[1]] == "" {
				t.Errorf("%s asks for the word %q, which [review] lacks", name, m[1])
			}
		}
	}
}

func TestEveryWordIsAskedFor(t *testing.T) {
	used, begun := map[string]bool{}, map[string]bool{}
	for _, text := range texts(t, ".js") {
		for _, m := range quoted.FindAllStringSubmatch(text, -1) {
			used[m[1]] = true
		}
		for _, m := range stems.FindAllStringSubmatch(text, -1) {
			begun[m[1]] = true
		}
	}
	for _, word := range said(t) {
		used[word] = true
	}
	// Built of a name and an ending.
	used["undo-what"], used["redo-what"] = true, true
	for _, key := range slices.Sorted(maps.Keys(review(t))) {
		stem, _, _ := strings.Cut(key, "-")
		if !used[key] && !begun[stem+"-"] {
			t.Errorf("nothing shows the word %q", key)
		}
	}
}

func TestEveryFieldOfTheJobSheetHasItsLabel(t *testing.T) {
	there := review(t)
	for _, key := range jobsheet.Keys() {
		if there["sheet-"+strings.ReplaceAll(key, ".", "-")] == "" {
			t.Errorf("the field %s has no label", key)
		}
	}
}

// What comes from a log or a file name is only ever put in as text.
func TestNothingTurnsTextIntoCode(t *testing.T) {
	danger := regexp.MustCompile(`innerHTML|outerHTML|insertAdjacentHTML|document\.write|\beval\(|new Function|setTimeout\("|srcdoc|DOMParser|javascript:`)
	for name, text := range texts(t, ".js") {
		if found := danger.FindString(text); found != "" {
			t.Errorf("%s uses %s", name, found)
		}
	}
	inline := regexp.MustCompile(`<script(?:[^>]*)>[^<]|<style|\sstyle=|\son[a-z]+=`)
	for name, text := range texts(t, ".html") {
		if found := inline.FindString(text); found != "" {
			t.Errorf("%s holds %q, which the page's policy refuses", name, found)
		}
	}
}

func TestNothingLiesOutsideTheProgram(t *testing.T) {
	for _, ext := range []string{".js", ".css", ".html"} {
		for name, text := range texts(t, ext) {
			text = strings.ReplaceAll(text, "http://www.w3.org/2000/svg", "") // a name, never fetched
			for _, remote := range []string{"http://", "https://", `"//`, "@import", "url(h", "url(/"} {
				if strings.Contains(text, remote) {
					t.Errorf("%s names %s", name, remote)
				}
			}
		}
	}
}

func TestEveryFileNamedIsThere(t *testing.T) {
	named := regexp.MustCompile(`from "\./([^"]+)"|(?:src|href)="/page/([^"]+)"`)
	for _, ext := range []string{".js", ".html"} {
		for name, text := range texts(t, ext) {
			for _, m := range named.FindAllStringSubmatch(text, -1) {
				file := path.Base(m[1] + m[2])
				if _, err := fs.Stat(FS, file); err != nil {
					t.Errorf("%s names %s, which isn't there", name, file)
				}
			}
		}
	}
}
