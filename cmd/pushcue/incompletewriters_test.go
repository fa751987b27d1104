package main

import (
	"bytes"
	"compress/zlib"
	"fmt"
	"html"
	"io"
	"regexp"
	"strings"
	"testing"
	"time"
	"unicode/utf16"

	"pushcue/internal/handover/account"
	"pushcue/internal/handover/page"
	handoverreport "pushcue/internal/handover/report"
	"pushcue/internal/job"
	"pushcue/internal/placing"
	"pushcue/overlay"
	"pushcue/subtitles"
	"pushcue/timeline"
	"pushcue/timeline/distance"
	"pushcue/timeline/edits"
	"pushcue/timeline/fieldlog"
	"pushcue/timeline/jobsheet"
	"pushcue/timeline/timecode"
	"pushcue/timeline/wording"
	"pushcue/timeline/words"
)

// An incomplete push is described by small texts, as they lie in a job folder.
type incomplete struct {
	name, what string

	job      string    // lines of [job] in job.toml
	undated  bool      // without the usual date
	sheet    string    // tables of job.toml below the usual ones
	log      string    // log.csv; "" for none
	edits    string    // edits.jsonl
	counter  string    // what the picture's counter showed: "0:0 60:12", seconds and metres, straight between them
	readings string    // readings.csv
	parts    []float64 // seconds; 120 where none is given
	began    string    // by the files' own times, RFC 3339
	clock    string    // on the picture, at its first frame: "2026-03-02 10:00:00"
	damage   string
	buyer    bool
	quick    bool // without excerpts and captioned video

	whole  bool        // what stands on every page is kept in the case's file too
	second *incomplete // another push of the same visit
}

const usualSheet = `[job]
zone = "Europe/Lisbon"
language = %q
%s
[line]
name = "kitchen lateral"
from = "rear clean-out"
to = "mainline"
travel = "downstream"
`

// A placedPush is one push of a case, resolved.
type placedPush struct {
	of   *incomplete
	name string
	t    *timeline.Timeline
}

func (c incomplete) pushes(t *testing.T, tag string) []placedPush {
	t.Helper()
	all := []placedPush{{&c, "push", c.resolved(t, tag)}}
	if c.second != nil {
		all[0].name = "first"
		all = append(all, placedPush{c.second, "second", c.second.resolved(t, tag)})
	}
	return all
}

func (c incomplete) resolved(t *testing.T, tag string) *timeline.Timeline {
	t.Helper()
	ctx := t.Context()
	job := c.job
	if !c.undated {
		job += "date = 2026-03-02\n"
	}
	source := jobsheet.Sources{Job: &jobsheet.Source{File: "job.toml", Data: []byte(fmt.Sprintf(usualSheet, tag, job) + c.sheet)}}
	list := edits.Read(edits.File, []byte(c.edits))
	sheet, unfit, err := jobsheet.ReadCorrected(source, list.Corrections())
	if err != nil || len(unfit) > 0 {
		t.Fatal(err, unfit)
	}
	in := timeline.Input{Sheet: sheet, Recording: c.recording(t), Readings: c.counted(t)}
	o := fieldlog.Options{File: "log.csv", Date: timecode.Date(sheet.Job.Date), Zone: sheet.Job.Zone, Dates: timecode.DateOrder(sheet.Log.Dates), Decimal: sheet.Log.Decimal, Unit: sheet.Job.Units}
	if c.log != "" {
		if in.Log, err = fieldlog.Read(ctx, strings.NewReader(c.log), o); err != nil {
			t.Fatal(err)
		}
	}
	if c.readings != "" {
		o.File = "readings.csv"
		if in.ReadingsFile, err = fieldlog.ReadReadings(ctx, strings.NewReader(c.readings), o); err != nil {
			t.Fatal(err)
		}
	}
	l, err := words.For(tag)
	if err != nil {
		t.Fatal(err)
	}
	corrected, wrong := list.Apply(sheet, in.Log, o, l.Column)
	if len(wrong) > 0 || len(list.Faults) > 0 {
		t.Fatal(wrong, list.Faults)
	}
	in.Log = corrected
	line, err := timeline.Resolve(ctx, in)
	if err != nil {
		t.Fatal(err)
	}
	return line
}

// recording is filmed at five frames a second, which is enough for words.
func (c incomplete) recording(t *testing.T) timeline.Recording {
	t.Helper()
	lengths := c.parts
	if lengths == nil {
		lengths = []float64{120}
	}
	var rec timeline.Recording
	for i, length := range lengths {
		p := timeline.Part{File: fmt.Sprintf("part%d.mp4", i+1), Start: rec.End, First: len(rec.Frames), Duration: time.Duration(length * 1e9), Rate: timecode.Rate{Num: 5, Den: 1}}
		for n := range int(length * 5) {
			rec.Frames = append(rec.Frames, p.Start+timecode.Video(n)*2e8)
		}
		rec.End = p.Start.Add(p.Duration)
		rec.Parts = append(rec.Parts, p)
	}
	first := &rec.Parts[0]
	var err error
	if c.began != "" {
		if first.Began, err = time.Parse(time.RFC3339, c.began); err != nil {
			t.Fatal(err)
		}
	}
	if c.clock != "" {
		first.Shown = &timeline.Shown{Dated: true}
		if first.Shown.At, err = time.Parse(time.DateTime, c.clock); err != nil {
			t.Fatal(err)
		}
	}
	if c.damage != "" {
		first.Damage = words.Plain("%s", c.damage)
	}
	return rec
}

// counted is what the counter in the picture showed, once a second.
func (c incomplete) counted(t *testing.T) []distance.Reading {
	t.Helper()
	var all []distance.Reading
	at, shown := -1.0, 0.0
	for _, point := range strings.Fields(c.counter) {
		var s, m float64
		if _, err := fmt.Sscanf(point, "%g:%g", &s, &m); err != nil {
			t.Fatal(err)
		}
		for x := at + 1; at >= 0 && x < s; x++ {
			tenths := int((shown+(m-shown)*(x-at)/(s-at))*10 + 0.5)
			all = append(all, distance.Reading{At: timecode.VideoSeconds(x), Shown: distance.Metres(float64(tenths) / 10), Source: distance.FromPicture})
		}
		all = append(all, distance.Reading{At: timecode.VideoSeconds(s), Shown: distance.Metres(m), Source: distance.FromPicture})
		at, shown = s, m
	}
	return all
}

// account is the case as the customer's page and report tell of it.
func (c incomplete) account(l *words.Language, pushes []placedPush) *account.Account {
	in := account.Input{Language: l, Report: "report.pdf"}
	for _, p := range pushes {
		line := *p.t
		if c.buyer {
			line.Sheet = line.Sheet.WithoutContacts()
		}
		made := account.Made{Stills: map[int]account.Still{}, Clips: map[int]string{}}
		if !p.of.quick {
			made.Videos = []account.Film{{File: "video/x.mp4", From: line.ShowFrom}}
		}
		for _, o := range line.Observations {
			if o.Hidden {
				continue
			}
			made.Stills[o.Row] = account.Still{File: fmt.Sprintf("stills/%02d.jpg", o.Number)}
			if !p.of.quick {
				made.Clips[o.Row] = fmt.Sprintf("clips/%02d.mp4", o.Number)
			}
		}
		base := ""
		if len(pushes) > 1 {
			base = p.name + "/"
		}
		in.Pushes = append(in.Pushes, account.Push{Name: p.name, Base: base, Log: line.Log != nil, Timeline: &line, Warnings: line.Warnings, Made: made})
	}
	return account.Of(in)
}

var (
	noText   = regexp.MustCompile(`(?s)<style.*?</style>|<script.*?</script>|<head>.*?<title>|</title>.*?</head>|<title>.*?</title>|<p class="actions">.*?</p>|<span class="sr">.*?</span>|<a class="skip".*?</a>|<dialog.*?</dialog>|<video.*?</video>`)
	inline   = regexp.MustCompile(`</?(bdi|a|strong|em|time|span|output)\b[^>]*>`)
	drawn    = regexp.MustCompile(`(?s)<text.*?</text>`)
	anyTag   = regexp.MustCompile(`<[^>]*>`)
	numbered = regexp.MustCompile(`<li value="(\d+)"[^>]*>`)
)

// pageText is what the page says, a line for each of its blocks; prose leaves out what
// stands in its drawings.
func pageText(t *testing.T, a *account.Account) (all, prose string) {
	t.Helper()
	var b bytes.Buffer
	if err := page.Write(&b, page.Input{Account: a, Films: make([][]page.Film, len(a.Pushes))}); err != nil {
		t.Fatal(err)
	}
	text := noText.ReplaceAllString(b.String(), "")
	return lined(text), lined(drawn.ReplaceAllString(text, ""))
}

func lined(text string) string {
	text = numbered.ReplaceAllString(text, "\n$1. ")
	text = strings.NewReplacer("<li", "\n– <li", "<h1", "\n# <h1", "<h2", "\n# <h2", "<h3", "\n## <h3").Replace(text)
	text = anyTag.ReplaceAllString(inline.ReplaceAllString(text, ""), "\n")
	return tidy(html.UnescapeString(text))
}

// own is a page's text without what every page says alike.
func own(text string, l *words.Language) string {
	var b strings.Builder
	usual := false
	for line := range strings.Lines(text) {
		if heading, found := strings.CutPrefix(line, "# "); found {
			usual = heading == l.Say("page-cautions")+"\n" || heading == l.Say("page-files")+"\n"
		}
		if !usual {
			b.WriteString(line)
		}
	}
	return b.String()
}

func tidy(text string) string {
	var b strings.Builder
	mark := ""
	for line := range strings.Lines(text) {
		switch line = strings.Join(strings.Fields(line), " "); line {
		case "":
		case "–", "#", "##":
			mark = line + " "
		default:
			fmt.Fprintln(&b, mark+line)
			mark = ""
		}
	}
	return b.String()
}

var (
	stream  = regexp.MustCompile(`(?s)stream\n(.*?)\nendstream`)
	setText = regexp.MustCompile(`(?s)Td \((.*?[^\\])\) ?Tj`)
)

// reportText is what the report's pages say: a PDF's strings in an embedded font are
// big-endian UTF-16 as fpdf writes them, with backslashes before ( ) \ and line ends.
func reportText(t *testing.T, a *account.Account) string {
	t.Helper()
	var pdf bytes.Buffer
	if err := handoverreport.Write(&pdf, handoverreport.Input{Account: a, Made: time.Date(2026, 3, 2, 0, 0, 0, 0, time.UTC)}); err != nil {
		t.Fatal(err)
	}
	var b strings.Builder
	for _, m := range stream.FindAllSubmatch(pdf.Bytes(), -1) {
		z, err := zlib.NewReader(bytes.NewReader(m[1]))
		if err != nil {
			continue // not a page
		}
		content, err := io.ReadAll(z)
		if err != nil || !bytes.Contains(content, []byte("Tj")) {
			continue
		}
		set := setText.FindAllSubmatch(content, -1)
		const footer = 2 // what was filmed, and the page's number
		for _, s := range set[:len(set)-footer] {
			fmt.Fprintln(&b, utf16Text(s[1]))
		}
	}
	if b.Len() == 0 {
		t.Fatal("no text was found in the report")
	}
	return b.String()
}

func utf16Text(escaped []byte) string {
	plain := strings.NewReplacer(`\\`, `\`, `\(`, `(`, `\)`, `)`, `\r`, "\r").Replace(string(escaped))
	var units []uint16
	for i := 0; i+1 < len(plain); i += 2 {
		units = append(units, uint16(plain[i])<<8|uint16(plain[i+1]))
	}
	return string(utf16.Decode(units))
}

var burnedText = regexp.MustCompile(`(?m)^Dialogue: .*?,,0+,0+,0+,,(.*)$`)

// strip is what is burned into the first and the last picture shown and into that of each
// observation, and what its still's caption says.
func (p placedPush) strip(t *testing.T, l *words.Language) string {
	t.Helper()
	layout, warnings := overlay.NewLayout(p.t, l, overlay.Spec{Width: 1280, Height: 720, Captions: p.t.Sheet.Captions, Notes: true})
	var b strings.Builder
	for _, w := range warnings {
		fmt.Fprintln(&b, "warning:", l.Put(w.Text))
	}
	_, first, _ := p.t.FrameAt(p.t.ShowFrom)
	_, last, _ := p.t.FrameAt(p.t.ShowTo - 1)
	frame := func(name string, v timecode.Video) {
		_, at, until := p.t.FrameAt(v)
		var script strings.Builder
		if _, err := layout.PlaceScript(at, until).WriteTo(&script); err != nil {
			t.Fatal(err)
		}
		var texts []string
		for _, m := range burnedText.FindAllStringSubmatch(script.String(), -1) {
			texts = append(texts, assTag.ReplaceAllString(m[1], ""))
		}
		fmt.Fprintf(&b, "%s: %s\n", name, strings.Join(texts, " | "))
	}
	frame("first picture", first)
	w := wording.In(l, p.t)
	for i := range p.t.Observations {
		o := &p.t.Observations[i]
		if o.Hidden {
			fmt.Fprintf(&b, "observation %d: not shown, %s\n", o.Number, w.TimeAt(o.Video))
			continue
		}
		frame(fmt.Sprintf("observation %d", o.Number), o.Video)
		fmt.Fprintf(&b, "its still: %s | %s | %s\n", w.WhereShown(o, o.Video), w.TimeAt(o.Video), w.Label(o))
	}
	frame("last picture", last)
	return b.String()
}

var assTag = regexp.MustCompile(`\{[^}]*\}`)

// cues are the sidecar notes and the chapters.
func (p placedPush) cues(l *words.Language) string {
	var b strings.Builder
	for _, c := range subtitles.Cues(p.t, l, p.t.ShowFrom, p.t.ShowTo) {
		fmt.Fprintln(&b, strings.Join(c.Lines, " "))
	}
	for _, c := range subtitles.Chapters(p.t, l, p.t.ShowFrom, p.t.ShowTo) {
		fmt.Fprintln(&b, "chapter:", c.Title)
	}
	return b.String()
}

// table is the command's table alone.
func (p placedPush) table(t *testing.T) string {
	t.Helper()
	var b bytes.Buffer
	if err := placedTable(p.t).write(&b); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// command is what pushcue check prints, and what it ends with.
func (p placedPush) command(t *testing.T) string {
	t.Helper()
	var b bytes.Buffer
	placed := &placing.Placed{Job: &job.Job{Name: p.name}, Timeline: p.t, Warnings: p.t.Warnings}
	if err := show(placed, voice{out: &b}); err != nil {
		t.Fatal(err)
	}
	code, _ := understand(outcome(placed.Open()))
	fmt.Fprintf(&b, "ends with %d\n", code)
	return b.String()
}
