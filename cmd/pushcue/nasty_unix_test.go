//go:build unix

package main

import (
	"archive/zip"
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"runtime"
	"strings"
	"testing"

	"pushcue/internal/soak"
	"pushcue/internal/testfootage"
)

// Names that mean something to a shell, a filter, a URL, a list, a format or an option.
var nastyNames = []string{
	"-y", "--out", "co:lon", "http:x", "concat:x|y", "file:x", "pipe:1", `C:\win`, "a b 'c' \"d\"", "50%d %03d %%", "line\nbreak", "tab\there",
	"[in], ; = \\back", " leading", "trailing ", "trailing.", "日本語 é 🕳", "#hash?query=1&x=2", "$(touch x) `touch x` ; touch x", "<b>{\\an8}-->",
	"\u202efdp.txt", "nul", "aux", "*", "~", strings.Repeat("long", 50), "=1+1", "@a", "x..", "%2e%2e",
}

// nastiestNames join them, so that a few handovers show what each of them does.
var nastiestNames = []string{
	"--out -y concat:http:x|file:y|pipe:1",
	`C:\win [in], ; = \back 'c' "d" it's 12:03; 100% %d %03d %%`,
	" {x}<b>{\\an8}--> $(touch x)\n-y `touch x` ; touch x\t. ",
	"日本語 é 🕳 #hash?query=1&x=2 %2e%2e * ~ =1+1 @a \u202efdp.txt",
	"concat:x|y", "nul", "x..", strings.Repeat("long", 50),
}

// unsafe is what FAT32, exFAT or NTFS don't take in a name: Windows' own rules for
// naming files, "Naming Files, Paths, and Namespaces", learn.microsoft.com.
var unsafe = regexp.MustCompile(`(?i)[<>:"|?*\\\x00-\x1f]|[ .]$|^(con|prn|aux|nul|com\d|lpt\d)(\.|$)`)

// Whatever folder, recording and log are called, the handover is made, its names are
// such as every system takes, and nothing else appears.
func TestNamesMeanNothing(t *testing.T) {
	program := runner(t)
	shot := testfootage.Numbered(t, testfootage.Spec{Frames: 25, Width: 160, Height: 120})
	tried := nastiestNames
	if soak.On() {
		tried = append(tried, nastyNames...)
	}
	for i, name := range tried {
		t.Run(fmt.Sprintf("%q", name), func(t *testing.T) {
			t.Parallel()
			root := t.TempDir()
			dir := filepath.Join(root, name)
			copyTo(t, shot, filepath.Join(dir, name+".mp4"))
			writeTo(t, filepath.Join(dir, name+".csv"), "video,distance,what,note\n0:00.5,1.0 m,roots,\""+strings.ReplaceAll(name, `"`, `""`)+"\"\n")
			writeTo(t, filepath.Join(dir, "job.toml"), fmt.Sprintf("[counter]\nlook = \"off\"\n[job]\nreference = %s\n[line]\nname = %[1]s\n", inSheet(name)))
			args := []string{"make", "--log", filepath.Join(dir, name+".csv")}
			if i%10 != 2 { // a burn each time would take long
				args = append(args, "--quick", "--skip", "stills,page,report")
			}
			cmd := program(append(args, "--", dir)...)
			cmd.Dir = root
			if out, err := cmd.CombinedOutput(); err != nil && codeOf(t, err) != exitOpen {
				t.Fatalf("%v\n%s", err, out)
			}
			if found := names(t, root); len(found) != 1 || found[0] != name {
				t.Errorf("beside the job lies %q", found)
			}
			if found := names(t, dir); len(found) != 5 {
				t.Errorf("in the job lies %q", found)
			}
			made := filepath.Join(dir, "handover")
			for _, file := range listing(t, made) {
				for _, part := range strings.Split(file, "/") {
					if unsafe.MatchString(part) || len(part) > 255 {
						t.Errorf("the handover holds %q", file)
					}
				}
			}
			filmed, err := filepath.Glob(strings.NewReplacer(`\`, `\\`, "[", `\[`, "*", `\*`, "?", `\?`).Replace(made) + "/as-filmed/*.mp4")
			if err != nil || len(filmed) != 1 || read(t, filmed[0]) != read(t, shot) {
				t.Errorf("as filmed: %q %v", filmed, err)
			}
			checkSums(t, made)
			var document struct {
				Recording struct{ Parts []struct{ File string } }
			}
			want := strings.ReplaceAll(name, `\`, "/") + ".mp4" // no name in timeline.json holds a backslash
			if err := json.Unmarshal([]byte(read(t, filepath.Join(made, "timeline.json"))), &document); err != nil || document.Recording.Parts[0].File != want {
				t.Errorf("timeline.json names %+v %v", document, err)
			}
		})
	}
}

// inSheet writes a string as a job sheet has it.
func inSheet(text string) string {
	quoted, err := json.Marshal(text)
	if err != nil {
		panic(err)
	}
	return string(quoted)
}

func names(t *testing.T, dir string) []string {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	var found []string
	for _, e := range entries {
		found = append(found, e.Name())
	}
	return found
}

// Files made to do harm are refused soon, in one sentence, and cost no memory.
func TestInputsMadeToDoHarm(t *testing.T) {
	program := runner(t)
	shot := read(t, testfootage.Numbered(t, testfootage.Spec{}))
	secret := filepath.Join(t.TempDir(), "secret.mp4")
	writeTo(t, secret, shot)
	const most, long = 200 << 20, 250 << 20 // bytes of memory, and of a file that would take more
	for name, c := range map[string]struct {
		file, text, about string
		size              int64 // the file goes on with zeros to here
	}{
		"a list of segments named .mp4":  {"run.mp4", "#EXTM3U\n#EXT-X-TARGETDURATION:9\n#EXTINF:9,\nfile://" + secret + "\n#EXT-X-ENDLIST\n", "this is a text, not a recording", 0},
		"a list of files named .avi":     {"run.avi", "ffconcat version 1.0\nfile '" + secret + "'\n", "this is a text, not a recording", 0},
		"a manifest named .mp4":          {"run.mp4", "<?xml version=\"1.0\"?><MPD xmlns=\"urn:mpeg:dash:schema:mpd:2011\"><BaseURL>" + secret + "</BaseURL></MPD>", "this is a text, not a recording", 0},
		"a long log in one line":         {"log.csv", strings.Repeat("10:07,12.4,", 1<<20), "larger than 64 MB", long},
		"a sheet that unpacks to 200 MB": {"log.xlsx", bomb(t, most), "", 0},
		"a long job sheet":               {"job.toml", strings.Repeat("# x\n", 1<<20), "job.toml", long},
	} {
		t.Run(name, func(t *testing.T) {
			dir := filepath.Join(t.TempDir(), "job")
			if !strings.HasPrefix(c.file, "run") {
				writeTo(t, filepath.Join(dir, "run.mp4"), shot)
			}
			path := filepath.Join(dir, c.file)
			writeTo(t, path, c.text)
			if c.size > 0 {
				if err := os.Truncate(path, c.size); err != nil {
					t.Fatal(err)
				}
			}
			cmd := program("make", dir)
			peak := filepath.Join(t.TempDir(), "peak")
			cmd.Env = append(cmd.Environ(), peakFile+"="+peak)
			out, err := cmd.CombinedOutput()
			if code := codeOf(t, err); code != exitInput {
				t.Errorf("it ended with %d", code)
			}
			twoLines(t, string(out), c.about)
			if n := strings.Count(string(out), "error: "); n != 1 {
				t.Errorf("%d errors are told:\n%s", n, out)
			}
			if took := tookMemory(t, peak); took > most>>10 {
				t.Errorf("it took %d KiB of memory", took)
			}
			if left := listing(t, filepath.Join(dir, "handover")); len(left) > 0 {
				t.Errorf("left behind: %q", left)
			}
		})
	}
}

// tookMemory is the program's peak in KiB, as Linux tells it; 0 on another system.
func tookMemory(t *testing.T, peak string) int {
	t.Helper()
	if runtime.GOOS != "linux" {
		t.Log("memory is looked at on Linux only")
		return 0
	}
	_, rest, _ := strings.Cut(read(t, peak), "VmHWM:")
	var took int
	if _, err := fmt.Sscan(rest, &took); err != nil || took < 1000 {
		t.Errorf("the program didn't tell its memory: %d, %v", took, err)
	}
	return took
}

// bomb is a small archive whose one sheet unpacks to so many bytes.
func bomb(t *testing.T, size int) string {
	t.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for name, text := range map[string]string{
		"[Content_Types].xml": `<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"/>`,
		"xl/workbook.xml":     `<workbook xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheets><sheet name="a" sheetId="1"/></sheets></workbook>`,
	} {
		w, err := z.Create(name)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := w.Write([]byte(text)); err != nil {
			t.Fatal(err)
		}
	}
	w, err := z.Create("xl/worksheets/sheet1.xml")
	if err != nil {
		t.Fatal(err)
	}
	row := []byte(strings.Repeat("<row><c><v>1</v></c></row>", 4096))
	for n := 0; n < size; n += len(row) {
		if _, err := w.Write(row); err != nil {
			t.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return b.String()
}
