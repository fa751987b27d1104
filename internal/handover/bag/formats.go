package bag

import (
	"path"
	"sort"
	"strings"

	"pushcue/internal/manifest"
)

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
		"moving pictures, MPEG-4 part 14 (ISO/IEC 14496-14), QuickTime, 3GPP": ".mp4 .m4v .mov .3gp",
		"moving pictures, Audio Video Interleave (RIFF)":                      ".avi",
		"moving pictures, Matroska or WebM (RFC 9559)":                        ".mkv .webm",
		"moving pictures, MPEG transport or program stream (ISO/IEC 13818-1)": ".ts .m2ts .mts .mpg .mpeg .vob",
		"moving pictures, Advanced Systems Format":                            ".asf .wmv",
		"moving pictures, Flash Video":                                        ".flv",
		"moving pictures, DV (IEC 61834)":                                     ".dv",
		"moving pictures, Material Exchange Format (SMPTE ST 377-1)":          ".mxf",
		"sound, waveform (RIFF)":                                              ".wav",
		"sound, MPEG audio (ISO/IEC 11172-3, 14496-3)":                        ".mp3 .m4a .aac",
		"sound, Ogg (RFC 3533)":                                               ".ogg .oga .opus",
		"sound, Free Lossless Audio Codec (RFC 9639)":                         ".flac",
		"picture, JPEG (ISO/IEC 10918)":                                       ".jpg .jpeg",
		"picture, PNG (ISO/IEC 15948)":                                        ".png",
		"picture, HEIF (ISO/IEC 23008-12)":                                    ".heic .heif",
		"page for a web browser, HTML":                                        ".html",
		"printable pages, PDF (ISO 32000)":                                    ".pdf",
		"subtitles, SubRip: plain text with times":                            ".srt",
		"subtitles, WebVTT (W3C): plain text with times":                      ".vtt",
		"table, comma-separated text (RFC 4180)":                              ".csv .tsv",
		"table, Office Open XML (ISO/IEC 29500)":                              ".xlsx",
		"data as text, JSON (RFC 8259)":                                       ".json .jsonl",
		"settings as text, TOML 1.0":                                          ".toml",
		"plain text":                                                          ".txt .md",
	} {
		for _, e := range strings.Fields(endings) {
			if e == ending {
				return kind
			}
		}
	}
	if ending == "" {
		return "no ending; SHA256SUMS is plain text"
	}
	return "not one of pushcue's own kinds"
}
