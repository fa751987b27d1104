package main

import (
	"crypto/sha256"
	"fmt"
	"os"
	"strings"
	"syscall"
	"testing"
)

// A trap is set in a made job. want are the exit codes of hostileCommands, in their
// order; says must be said by one of them.
type trap struct {
	name string
	set  func(w *hostileWorld)
	want string
	says string
}

// sums is the SHA-256 of a text, as lists and records have it.
func sums(text string) string { return fmt.Sprintf("%x", sha256.Sum256([]byte(text))) }

// forged is a line of work/handover.record that claims a file for ours.
func (w *hostileWorld) forged(name, of string) string {
	return fmt.Sprintf(`{"path":%q,"key":"k","sha256":%q}`+"\n", w.fill(name), sums(read(w.T, of)))
}

func linkTrap(name, at, target, want, says string) trap {
	return trap{name, func(w *hostileWorld) { w.link(at, target) }, want, says}
}

func nodeTrap(name, at string, kind uint32, want, says string) trap {
	return trap{name, func(w *hostileWorld) { w.node(at, kind) }, want, says}
}

func sheetTrap(name, old, now, want, says string) trap {
	return trap{name, func(w *hostileWorld) { w.change("job.toml", old, now) }, want, says}
}

const (
	outOfJob = "it lies outside the job folder, or a link on the way to it leads out"
	aLink    = "it is a link, and here none is followed"
	ourLink  = "is a link, and what we write and remove must not lead elsewhere"
)

// refusedTraps stop a command before anything is made.
var refusedTraps = []trap{
	linkTrap("the recording is a link", "part1.mp4", "../../outside/part1.mp4", "040444", outOfJob),
	linkTrap("the recording is a link by its whole path", "part1.mp4", "OUTSIDE/part1.mp4", "040444", outOfJob),
	nodeTrap("the recording is a pipe", "part1.mp4", syscall.S_IFIFO, "040444", "a pipe"),
	sheetTrap("the sheet's recording lies outside", `"part1.mp4"`, `"../../outside/part1.mp4"`, "040444", outOfJob),
	sheetTrap("the sheet's recording has a whole path", `"part1.mp4"`, `"OUTSIDE/part1.mp4"`, "040444", outOfJob),
	sheetTrap("the sheet's recording is written in backslashes", `"part1.mp4"`, `"..\\..\\outside\\part1.mp4"`, "040444", outOfJob),
	{"the sheet's recording lies in a linked folder", func(w *hostileWorld) {
		w.link("card", "OUTSIDE")
		w.change("job.toml", `"part1.mp4"`, `"card/part1.mp4"`)
	}, "040444", outOfJob},
	sheetTrap("an anchor's part lies outside", "video = ", "part = \"../../outside/part1.mp4\"\nvideo = ", "040444", "isn't among the recording's files"),

	linkTrap("the log is a link", "log.csv", "../../outside/log.csv", "043404", outOfJob),
	linkTrap("the log is a link to an endless device", "log.csv", "/dev/zero", "043404", outOfJob),
	nodeTrap("the log is a socket", "log.csv", syscall.S_IFSOCK, "043404", "a socket"),
	sheetTrap("the sheet's log lies outside", `"log.csv"`, `"../../outside/log.csv"`, "043404", outOfJob),
	sheetTrap("the sheet's log is the system's", `"log.csv"`, `"/etc/passwd"`, "043404", outOfJob),
	linkTrap("the list of kinds is a link", "kinds.csv", "../../outside/kinds.csv", "043404", outOfJob),
	sheetTrap("the sheet's kinds lie outside", `"kinds.csv"`, `"../../outside/kinds.csv"`, "043404", outOfJob),
	linkTrap("the readings are a link", "counter.csv", "../../outside/counter.csv", "043404", outOfJob),
	sheetTrap("the sheet's readings lie outside", `"counter.csv"`, `"../../outside/counter.csv"`, "043404", outOfJob),

	linkTrap("the job sheet is a link", "job.toml", "../../outside/job.toml", "040444", outOfJob),
	nodeTrap("the job sheet is a pipe", "job.toml", syscall.S_IFIFO, "040444", "a pipe"),
	linkTrap("the firm's sheet above is a link", "../firm.toml", "../outside/firm.toml", "040444", outOfJob),
	linkTrap("the visit's sheet above is a link", "../visit.toml", "../outside/job.toml", "040444", outOfJob),
	{"the firm's sheet names kinds outside", func(w *hostileWorld) {
		w.change("job.toml", "kinds = \"kinds.csv\"\n", "")
		w.write("../firm.toml", "[log]\nkinds = \"../outside/kinds.csv\"\n")
	}, "043404", outOfJob},
	{"the visit's sheet names readings outside", func(w *hostileWorld) {
		w.change("job.toml", "readings = \"counter.csv\"\n", "")
		w.write("../visit.toml", "[distance]\nreadings = \"../outside/counter.csv\"\n")
	}, "040444", "this key doesn't belong in visit.toml"},

	linkTrap("the corrections are a link", "edits.jsonl", "../../outside/edits.jsonl", "040444", aLink),
	linkTrap("the corrections are an inward link", "edits.jsonl", "notes/scribble.txt", "040444", aLink),
	linkTrap("the corrections are an endless device", "edits.jsonl", "/dev/zero", "040444", aLink),
	nodeTrap("the corrections are a pipe", "edits.jsonl", syscall.S_IFIFO, "040444", "a pipe"),
	linkTrap("the handover is a link", "handover", "../../outside/handover", "444444", ourLink),
	linkTrap("the handover is the job itself", "handover", ".", "444444", ourLink),
	{"the handover is a file", func(w *hostileWorld) { w.write("handover", "") }, "444444", "pushcue keeps a folder of this name here"},
	linkTrap("the clips are a link", "handover/clips", "../../../outside/handover/clips", "6-66-4", aLink),
	linkTrap("the captioned video's folder is the job", "handover/video", "..", "6-46-4", ourLink),
	linkTrap("the stills are the sources' folder", "handover/stills", "../photos", "6-46-4", ourLink),
	linkTrap("the page is a link", "handover/index.html", "../../../outside/handover/index.html", "6-4604", "no longer a plain file"),
	linkTrap("the list of sums is a link", "handover/SHA256SUMS", "../../../outside/handover/SHA256SUMS", "6-44-4", aLink),
	nodeTrap("the list of sums is a pipe", "handover/SHA256SUMS", syscall.S_IFIFO, "6-44--", "a pipe"),
	nodeTrap("the page is a pipe", "handover/index.html", syscall.S_IFIFO, "6-46--", "no longer a plain file"),
	nodeTrap("a clip is a socket", "handover/clips/findings.mp4", syscall.S_IFSOCK, "6-46--", "no longer a plain file"),
	{"the list of sums names files outside", func(w *hostileWorld) {
		w.add("handover/SHA256SUMS", sums(read(w.T, w.outside+"/passwd"))+"  ../../../outside/passwd\n")
	}, "6-44--", "../../../outside/passwd"},
	{"the list of sums names a file by its whole path", func(w *hostileWorld) {
		w.add("handover/SHA256SUMS", sums(read(w.T, w.outside+"/passwd"))+"  OUTSIDE/passwd\n")
	}, "6-44--", "run `pushcue make` again"},

	linkTrap("the work folder is a link", "work", "../../outside/notes", "444444", ourLink),
	linkTrap("the lock is a link", "work/lock", "../../../outside/passwd", "0-44-4", ourLink),
	nodeTrap("the lock is a pipe", "work/lock", syscall.S_IFIFO, "0-00-4", "is no plain file"),
	linkTrap("the record is a link", "work/handover.record", "../../../outside/passwd", "0-00-4", ourLink),
	nodeTrap("the record is a pipe", "work/handover.record", syscall.S_IFIFO, "0-00-4", "is no plain file"),
	linkTrap("the kept sums are a link", "work/sources.json", "../../../outside/passwd", "00---4", ourLink),
	linkTrap("what the handover was made from is a link", "work/handover.inputs", "../../../outside/passwd", "0-00-4", ourLink),
	linkTrap("a leftover to be cleared away is a link", "work/unfinished-0123456789abcdef", "../../../outside/notes", "0-00-4", ourLink),
	linkTrap("a link lies in what is to be cleared away", "work/unfinished-0123456789abcdef/out", "OUTSIDE", "0-00-4", ourLink),
	{"the record takes somebody's file for ours", func(w *hostileWorld) {
		w.write("handover/invoice.pdf", "theirs")
		w.add("work/handover.record", w.forged("invoice.pdf", w.at("job.toml")))
	}, "6-06-3", "invoice.pdf"},
	{"a source is among the files of the handover", func(w *hostileWorld) {
		must(w.T, os.Link(w.at("part1.mp4"), w.at("handover/video/old.mp4")))
		w.add("work/handover.record", w.forged("video/old.mp4", w.at("part1.mp4")))
	}, "6-06-4", "is one of the job's own files under another name"},
}

// toleratedTraps are set all together in one job, which goes on without what they name.
var toleratedTraps = []trap{
	{name: "the logo lies outside", set: func(w *hostileWorld) { w.change("job.toml", `"logo.jpg"`, `"../../outside/logo.jpg"`) }, says: "the firm's logo ../../outside/logo.jpg is left out: it lies outside"},
	linkTrap("a photo is a link", "photos/2.jpg", "../../../outside/photos/1.jpg", "", "photos/2.jpg isn't handed over: it lies outside"),
	nodeTrap("a photo is a pipe", "photos/3.jpg", syscall.S_IFIFO, "", "photos/3.jpg isn't handed over: it isn't a file but a pipe"),
	linkTrap("a folder of photos is a link", "photos/more", "../../../outside/photos", "", ""),
	linkTrap("a spoken note is a link", "spoken/2.wav", "OUTSIDE/spoken/1.wav", "", "spoken/2.wav isn't handed over: it lies outside"),
	nodeTrap("a spoken note is a socket", "spoken/3.wav", syscall.S_IFSOCK, "", "spoken/3.wav isn't handed over: it isn't a file but a socket"),
	linkTrap("a stray link leads out", "notes/link.txt", "../../../outside/passwd", "", "notes/link.txt is a link that leads out of the job folder"),
	linkTrap("a stray link leads to the disk's top", "notes/top", "/", "", "notes/top is a link that leads out of the job folder"),
	linkTrap("a link leads nowhere", "notes/nowhere", "gone", "", ""),
	nodeTrap("a stray pipe", "notes/pipe", syscall.S_IFIFO, "", ""),
	{name: "the log names a photo and a note outside", set: func(w *hostileWorld) {
		w.add("log.csv", "10:02:12.5,1.1 m,crack,../../outside/photos/1.jpg,OUTSIDE/spoken/1.wav\n")
	}, says: "../../outside/photos/1.jpg"},
	{name: "names for the handover's files lead out", set: func(w *hostileWorld) {
		w.change("job.toml", `"2291-B"`, `"../../../outside/x"`)
		w.add("job.toml", "[line]\nname = \"/../../outside/y\"\n")
		w.add("log.csv", "10:02:13,1.2 m,../../../outside/z,,\n")
	}},
	{name: "a forged correction names a recording outside", set: func(w *hostileWorld) {
		w.add("edits.jsonl", forgedEdit("recording.files", `["../../outside/part1.mp4"]`))
	}, says: "recording.files: only a file of the job folder"},
	{name: "a forged correction names a log outside", set: func(w *hostileWorld) { w.add("edits.jsonl", forgedEdit("log.file", `"OUTSIDE/log.csv"`)) }, says: "log.file: only a file of the job folder"},
	{name: "a forged correction names kinds outside", set: func(w *hostileWorld) { w.add("edits.jsonl", forgedEdit("log.kinds", `"../../outside/kinds.csv"`)) }, says: "log.kinds: only a file of the job folder"},
	{name: "a forged correction names readings outside", set: func(w *hostileWorld) {
		w.add("edits.jsonl", forgedEdit("distance.readings", `"../../outside/counter.csv"`))
	}, says: "distance.readings: only a file of the job folder"},
	{name: "a forged correction names a logo outside", set: func(w *hostileWorld) { w.add("edits.jsonl", forgedEdit("firm.logo", `"../../outside/logo.jpg"`)) }, says: "firm.logo: only a file of the job folder"},
	{name: "a forged correction joins a file outside to a row", set: func(w *hostileWorld) {
		w.add("edits.jsonl", `{"id":"e9","time":"2026-03-02T18:00:00Z","author":"eve","what":"belongs","file":"../../outside/photos/1.jpg"}`+"\n")
	}},
	{name: "the record names a source", set: func(w *hostileWorld) { w.add("work/handover.record", w.forged("../part1.mp4", w.at("part1.mp4"))) }, says: "../part1.mp4"},
	{name: "the record names a file outside", set: func(w *hostileWorld) {
		w.add("work/handover.record", w.forged("../../../outside/passwd", w.outside+"/passwd"))
	}, says: "../../../outside/passwd"},
	{name: "the record names a whole path", set: func(w *hostileWorld) {
		w.add("work/handover.record", w.forged("OUTSIDE/passwd", w.outside+"/passwd"))
	}},
	{name: "the record goes up on the way", set: func(w *hostileWorld) {
		w.add("work/handover.record", w.forged("video/../../log.csv", w.at("log.csv"))+w.forged("video/./../../log.csv", w.at("log.csv")))
	}},
	{name: "the record writes backslashes", set: func(w *hostileWorld) {
		w.add("work/handover.record", w.forged(`..\log.csv`, w.at("log.csv"))+w.forged(`C:\log.csv`, w.at("log.csv")))
	}},
	{name: "the record names folders and nothing", set: func(w *hostileWorld) {
		for _, name := range []string{".", "..", "/", "", "video", "~/x", "x\x00y"} {
			w.add("work/handover.record", w.forged(name, w.at("log.csv")))
		}
		w.add("work/handover.record", "\xff\xfe{\"path\":\n"+strings.Repeat("x", 1<<16)+"\nnull\n[]\n")
	}},
	{name: "the kept sums name files outside", set: func(w *hostileWorld) {
		w.write("work/sources.json", fmt.Sprintf(`{"OUTSIDE/passwd":{"size":1,"mtime":1,"sha256":"00"},%q:{"size":-1,"mtime":0,"sha256":"../x","seal":"zz"}}`, w.at("log.csv")))
	}},
	{name: "kept readings of another recording", set: func(w *hostileWorld) {
		w.write("work/counter.json", `{"seal":"","seen":{"key":"../../outside","groups":[{"parts":[-1,9],"counter":{"unit":"m"}}]}}`)
	}},
	{name: "a folder stands where a temporary one was", set: func(w *hostileWorld) { w.write("work/unfinished-0123456789abcdef/log.csv", "left over") }},
}

// forgedEdit is a correction of the job sheet that no page would have made.
func forgedEdit(key, value string) string {
	return fmt.Sprintf(`{"id":%q,"time":"2026-03-02T18:00:00Z","author":"eve","what":"sheet","values":{%q:%s}}`+"\n", "forged-"+key, key, value)
}

// hostileCommands are run one after the other on each job with a trap.
func (w *hostileWorld) hostileCommands() []hostileCommand {
	here := func(args ...string) func() (int, string) {
		return func() (int, string) { return runHere(args...) }
	}
	return []hostileCommand{
		{"verify", here("verify", w.job)},
		{"check", here("check", w.job)},
		{"copy", here("copy", "--as-it-is", w.job, w.drive)},
		{"bag", here("bag", "--as-it-is", "--as", "folder", "--to", w.archives, w.job)},
		{"review", w.review},
		{"make", here("make", w.job)},
	}
}

type hostileCommand struct {
	name string
	run  func() (code int, said string)
}

// try runs the commands on the job and holds them to what must not happen. A hyphen in
// want leaves a command out.
func (w *hostileWorld) try(want string, says ...string) {
	w.Helper()
	before, all, codes := w.precious(), "", ""
	for i, c := range w.hostileCommands() {
		if want[i] == '-' {
			codes += "-"
			continue
		}
		code, said := c.run()
		codes += fmt.Sprint(code)
		all += "\n$ pushcue " + c.name + "\n" + said
		if strings.Contains(said, canary) {
			w.Errorf("%s quotes a file outside:\n%s", c.name, said)
		}
		if code == exitInput && !strings.Contains(said, "hint: ") {
			w.Errorf("%s gives no hint:\n%s", c.name, said)
		}
		if strings.Contains(said, "this shouldn't happen") {
			w.Errorf("%s takes it for a fault of its own:\n%s", c.name, said)
		}
		after := w.precious()
		if c.name == "review" && before["jobs/job/edits.jsonl"] != after["jobs/job/edits.jsonl"] {
			before["jobs/job/edits.jsonl"] = after["jobs/job/edits.jsonl"] // what a person corrected
		}
		if names := changed(before, after); len(names) > 0 {
			w.Errorf("%s changed %q:\n%s", c.name, names, said)
		}
		if names := w.quoted(); len(names) > 0 {
			w.Errorf("%s put what lies outside into %q", c.name, names)
		}
	}
	if codes != want {
		w.Errorf("verify, check, copy, bag, review and make ended with %s, want %s:\n%s", codes, want, all)
	}
	for _, text := range says {
		if !strings.Contains(strings.ReplaceAll(all, "\n      ", " "), w.fill(text)) {
			w.Errorf("%q isn't said in:\n%s", text, all)
		}
	}
}

// A stranger's job folder with a trap in it: each command ends with the right code,
// changes nothing outside, and shows nothing of it.
func TestHostileJobs(t *testing.T) {
	t.Setenv("XDG_CONFIG_HOME", t.TempDir())
	for _, c := range refusedTraps {
		t.Run(c.name, func(t *testing.T) {
			w := newHostileWorld(t)
			c.set(w)
			w.try(c.want, c.says)
		})
	}
	t.Run("a job full of them", func(t *testing.T) {
		w := newHostileWorld(t)
		var says []string
		for _, c := range toleratedTraps {
			c.set(w)
			if c.says != "" {
				says = append(says, c.says)
			}
		}
		w.try("033303", says...)
		for _, name := range listing(t, w.at("handover/photos")) {
			if name != "01_1.0m_roots.jpg" {
				t.Errorf("%s was handed over", name)
			}
		}
	})
	t.Logf("%d traps", len(refusedTraps)+len(toleratedTraps))
}
