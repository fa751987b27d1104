package bag

import (
	"bytes"
	"fmt"
	"path"
	"slices"
	"strings"

	"pushcue/internal/manifest"
)

// explanation is WHAT-IS-THIS.txt: what each file is and with what it can be opened,
// for somebody who finds the bag in thirty years and knows neither drains nor this
// program.
func explanation(info Info, list []manifest.Entry) []byte {
	e := &explaining{}
	e.line("WHAT THIS IS")
	e.line("")
	e.line("The record of a drain camera push. A camera on a stiff cable was pushed through")
	e.line("a drain from an access point; a recorder kept what it saw, and somebody wrote")
	e.line("down what was seen and where. Here are the recordings as they came off the")
	e.line("recorder, what was written down, and what was made from both for the customer.")
	e.line("")
	for _, f := range info {
		e.line("  %s: %s", f.Label, strings.Join(strings.Fields(f.Value), " "))
	}
	e.line("")
	e.line("It holds names and addresses of people. Treat it as the law of your time asks.")
	e.line("")
	e.places(list)
	e.words()
	e.proof()
	e.line("WITH WHAT IT CAN BE OPENED")
	e.line("")
	for _, ending := range endingsOf(list) {
		e.line("  %-8s %s", ending, opens(ending))
	}
	e.line("")
	e.line("Texts are UTF-8 (RFC 3629) unless a program of their day wrote them otherwise.")
	e.line("In data/handover moving pictures are H.264 (ISO/IEC 14496-10) and sound is AAC")
	e.line("(ISO/IEC 14496-3); recordings as filmed are coded as their recorder did. All")
	e.line("these formats are published: where no program opens one any more, its")
	e.line("specification tells how to write one.")
	e.line("")
	e.line("The handover can be made again from the folder data with the program pushcue and")
	e.line("the program ffmpeg: pushcue make data")
	return e.text.Bytes()
}

type explaining struct{ text bytes.Buffer }

func (e *explaining) line(format string, args ...any) { fmt.Fprintf(&e.text, format+"\n", args...) }

// made is what stands in the handover folder, a line for a file or a folder of many.
var made = []struct{ name, is string }{
	{"index.html", "start here: the customer's page, with pictures and recording"},
	{"report.pdf", "the same to print"},
	{"video/", "the recording with place and time written above the picture;"},
	{"", ".srt and .vtt beside it hold the notes, by time"},
	{"as-filmed/", "the recording untouched, with its notes beside it"},
	{"stills/", "a picture of each observation; thumbs/ are small ones"},
	{"clips/", "seconds of each observation; findings.mp4 is all of them"},
	{"spoken/", "spoken notes, evened out in loudness"},
	{"photos/", "photos taken by hand, turned upright"},
	{"log.csv", "the log with its place on the recording added"},
	{"timeline.json", "everything in one file, for programs"},
	{"SHA256SUMS", "the sums of the files beside it"},
}

// places lists what is there: each file that came home, and the handover by its parts.
func (e *explaining) places(list []manifest.Entry) {
	const handover = "handover/"
	e.line("WHERE THINGS ARE")
	e.line("")
	e.line("  data/  the job folder, with what came home:")
	for _, f := range list {
		name := strings.TrimPrefix(f.Name, payloadDir)
		if !strings.HasPrefix(name, handover) {
			e.line("    %-28s %s", listed(name), cameHome(name))
		}
	}
	if holds := func(name string) bool {
		return slices.ContainsFunc(list, func(f manifest.Entry) bool {
			at := strings.TrimPrefix(f.Name, payloadDir+handover)
			return at != f.Name && (at == name || strings.HasSuffix(name, "/") && strings.Contains("/"+at, "/"+name))
		})
	}; slices.ContainsFunc(made, func(m struct{ name, is string }) bool { return holds(m.name) }) {
		e.line("  data/handover/  what the customer got, made from that:")
		shown := false
		for _, m := range made {
			if shown = m.name == "" && shown || holds(m.name); shown {
				e.line("    %-15s %s", m.name, m.is)
			}
		}
	}
	e.line("  manifest-*.txt     the sum of each file under data/")
	e.line("  tagmanifest-*.txt  the sums of these lists and notes themselves")
	e.line("  bag-info.txt       who, what and when")
	e.line("")
	e.line("%s", "In the lists of sums, %25 in a file's name stands for a percent sign,")
	e.line("%s", "%0A and %0D for line ends in it (RFC 8493 section 2.1.3). sha512sum looks")
	e.line("%s", "for such a file by the name as the list has it, and doesn't find it.")
	e.line("")
}

// listed is a name that can't break the lines of a plain text.
func listed(name string) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7f {
			return '_'
		}
		return r
	}, name)
}

// cameHome tells a file of the job folder by what the job folder calls it.
func cameHome(name string) string {
	switch {
	case path.Base(name) == "job.toml":
		return "job sheet: who, where, when, which line"
	case path.Base(name) == "firm.toml":
		return "the firm that did the work"
	case path.Base(name) == "visit.toml":
		return "the visit that several pushes belong to"
	case path.Base(name) == "edits.jsonl":
		return "corrections made by people, in order of time"
	case inFolder(name, "spoken"):
		return "spoken note"
	case inFolder(name, "photos"):
		return "photo taken by hand"
	}
	kind, _, _ := strings.Cut(opens(strings.ToLower(path.Ext(name))), ",")
	switch kind {
	case "moving pictures":
		return "moving pictures: a part of the recording"
	case "table", "plain text":
		return kind + ": log as written, readings or codes"
	}
	return kind
}

func inFolder(name, folder string) bool {
	return slices.Contains(strings.Split(path.Dir(strings.ToLower(name)), "/"), folder)
}

func (e *explaining) words() {
	e.line("WORDS IN IT")
	e.line("")
	e.line("  push          one run of the camera through a line")
	e.line("  observation   something seen at one place, or over a stretch")
	e.line("  distance      length of cable from the access point, not a line on the surface")
	e.line("  clock         where on the pipe's wall, as on a clock's face seen along the")
	e.line("                direction of travel: 12 is the top")
	e.line("  video time    from the recording's first picture; true time is the time of day")
	e.line("  ±             the truth lies within it in 19 of 20 cases")
	e.line("  basis         what an observation's time was told by")
	e.line("")
}

func (e *explaining) proof() {
	e.line("IS IT STILL WHAT IT WAS?")
	e.line("")
	e.line("This folder follows BagIt 1.0 (RFC 8493); what knows BagIt can check it.")
	e.line("With nothing but the standard tools of a Unix system, in this folder:")
	e.line("  sha512sum -c tagmanifest-sha512.txt && sha512sum -c manifest-sha512.txt")
	e.line("(a per cent sign or a line end in a name is written there as %%25, %%0D, %%0A).")
	e.line("Whoever changed a file on purpose may have changed its sum too. That shows in")
	e.line("the seal, which was told when this was made and may stand with the invoice: it")
	e.line("is what this prints:")
	e.line("  sha512sum tagmanifest-sha512.txt")
	e.line("")
}
