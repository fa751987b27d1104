package bag

import (
	"bytes"
	"fmt"
	"path"
	"sort"
	"strings"

	"pushcue/internal/manifest"
)

// explanation is WHAT-IS-THIS.txt: what each file is and with what it can be
// opened, for somebody who finds the bag in thirty years and knows none of this.
func explanation(info Info, list []manifest.Entry) []byte {
	var b bytes.Buffer
	line := func(format string, args ...any) { fmt.Fprintf(&b, format+"\n", args...) }
	line("WHAT THIS IS")
	line("")
	line("The record of a drain camera push: the recordings as they came off the recorder,")
	line("what was written down, and what was made from both for the customer.")
	for _, f := range info {
		line("  %s: %s", f.Label, strings.Join(strings.Fields(f.Value), " "))
	}
	line("")
	line("WHERE THINGS ARE")
	line("")
	line("  data/                    the job folder: recordings, log, job sheet, notes, photos")
	line("  data/edits.jsonl         corrections made by people, one a line, in order of time")
	line("  data/handover/           what the customer got; start with index.html or report.pdf")
	line("  data/handover/timeline.json   everything in one file, for programs")
	line("  manifest-*.txt           the sum of each file under data/")
	line("  tagmanifest-*.txt        the sums of these lists and notes themselves")
	line("  bag-info.txt             who, what and when")
	line("")
	line("IS IT STILL WHAT IT WAS?")
	line("")
	line("This folder follows BagIt 1.0 (RFC 8493); any program that knows BagIt can check it.")
	line("With nothing but the standard tools of a Unix system, in this folder:")
	line("  sha512sum -c tagmanifest-sha512.txt && sha512sum -c manifest-sha512.txt")
	line("(names that hold a per cent sign or a line end are written there as %%25, %%0D, %%0A).")
	line("")
	line("WITH WHAT IT CAN BE OPENED")
	line("")
	for _, ending := range endingsOf(list) {
		line("  %-8s %s", ending, opens(ending))
	}
	line("")
	line("All of these are published formats. Where no program opens one any more, its")
	line("specification tells how to write one.")
	return b.Bytes()
}

// endingsOf lists the endings that occur, sorted.
func endingsOf(list []manifest.Entry) []string {
	seen := map[string]bool{}
	for _, e := range list {
		seen[strings.ToLower(path.Ext(e.Name))] = true
	}
	var all []string
	for ending := range seen {
		all = append(all, ending)
	}
	sort.Strings(all)
	return all
}

// opens tells what a kind of file is, by its published name.
func opens(ending string) string {
	for kind, endings := range map[string]string{
		"moving pictures, MPEG-4 part 14 (ISO/IEC 14496-14), QuickTime or 3GPP": ".mp4 .m4v .mov .3gp",
		"moving pictures, Audio Video Interleave (RIFF)":                        ".avi",
		"moving pictures, Matroska or WebM (RFC 9559)":                          ".mkv .webm",
		"moving pictures, MPEG transport or program stream (ISO/IEC 13818-1)":   ".ts .m2ts .mts .mpg .mpeg .vob",
		"moving pictures, Advanced Systems Format":                              ".asf .wmv",
		"moving pictures, Flash Video":                                          ".flv",
		"moving pictures, DV (IEC 61834)":                                       ".dv",
		"moving pictures, Material Exchange Format (SMPTE ST 377-1)":            ".mxf",
		"sound, waveform (RIFF)":                                                ".wav",
		"sound, MPEG audio (ISO/IEC 11172-3, 14496-3)":                          ".mp3 .m4a .aac",
		"sound, Ogg (RFC 3533)":                                                 ".ogg .oga .opus",
		"sound, Free Lossless Audio Codec (RFC 9639)":                           ".flac",
		"picture, JPEG (ISO/IEC 10918)":                                         ".jpg .jpeg",
		"picture, PNG (ISO/IEC 15948)":                                          ".png",
		"picture, HEIF (ISO/IEC 23008-12)":                                      ".heic .heif",
		"page for a web browser, HTML":                                          ".html",
		"printable pages, PDF (ISO 32000)":                                      ".pdf",
		"subtitles, SubRip: plain text with times":                              ".srt",
		"subtitles, WebVTT (W3C): plain text with times":                        ".vtt",
		"table, comma-separated text (RFC 4180)":                                ".csv .tsv",
		"table, Office Open XML (ISO/IEC 29500)":                                ".xlsx",
		"data as text, JSON (RFC 8259)":                                         ".json .jsonl",
		"settings as text, TOML 1.0":                                            ".toml",
		"plain text":                                                            ".txt .md",
	} {
		for _, e := range strings.Fields(endings) {
			if e == ending {
				return kind
			}
		}
	}
	if ending == "" {
		return "no ending: look at SHA256SUMS with any text editor, at others with care"
	}
	return "not one of pushcue's own kinds"
}
