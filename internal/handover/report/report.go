// Package report writes the printable report: the same words as the customer's
// page, a drawing of the line, and a page of stills for every four observations.
//
//	err := report.Write(w, report.Input{Account: a, Made: date, Still: open})
//
// The same input gives the same bytes. The font is embedded, so the text can be
// searched; what the font can't draw is written as its number in brackets.
package report

import (
	"bytes"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"codeberg.org/go-pdf/fpdf"
	"github.com/go-fonts/dejavu/dejavusans"
	"github.com/go-fonts/dejavu/dejavusansbold"

	"pushcue/internal/handover/account"
	"pushcue/overlay"
)

// Input is what a report is made of.
type Input struct {
	Account *account.Account
	Letter  bool      // US letter instead of A4
	Made    time.Time // the date that the file carries
	Logo    []byte    // JPEG or PNG as this program encoded it; nil for none
	// Picture opens the JPEG of a still or a photo by its path in the account.
	Picture func(path string) (io.ReadCloser, error)
}

// Measures in millimetres, type in points.
const (
	margin   = 18.0
	lineHigh = 5.2
	small    = 8.5
	body     = 10.0
	heading  = 13.0
	title    = 22.0
	hang     = 9.0  // of a paragraph behind its number
	boxHigh  = 24.0 // of the box to sign in
	boxAbove = 5.0  // between it and the text
)

// sheets is a report being written.
type sheets struct {
	*fpdf.Fpdf
	in   Input
	say  func(key string, args ...any) string
	wide float64 // between the margins
	high float64 // of the page

	registered int             // pictures handed to the PDF writer
	stubs      map[string]stub // of its pictures, by name
}

// Write writes the report as a PDF (ISO 32000).
func Write(w io.Writer, in Input) error {
	s := newSheets(in)
	s.cover()
	s.visit()
	for i := range in.Account.Pushes {
		s.push(&in.Account.Pushes[i])
	}
	s.closing()
	if err := s.pictures(); err != nil {
		return err
	}
	var pdf bytes.Buffer
	if err := s.Output(&pdf); err != nil {
		return fmt.Errorf("writing the report: %w", err)
	}
	return pour(w, pdf.Bytes(), s.stubs)
}

func newSheets(in Input) *sheets {
	size := "A4"
	if in.Letter {
		size = "Letter"
	}
	s := &sheets{Fpdf: fpdf.New("P", "mm", size, ""), in: in, say: in.Account.Language.Say, stubs: map[string]stub{}}
	width, height := s.GetPageSize()
	s.wide, s.high = width-2*margin, height
	s.SetCatalogSort(true)
	s.SetCreationDate(in.Made.UTC())
	s.SetModificationDate(in.Made.UTC())
	s.SetProducer("pushcue", true)
	s.SetTitle(plain(in.Account.Title), true)
	s.SetLang(in.Account.Language.Tag)
	s.SetMargins(margin, margin, margin)
	s.SetAutoPageBreak(true, margin+6)
	s.AddUTF8FontFromBytes("text", "", dejavusans.TTF)
	s.AddUTF8FontFromBytes("text", "B", dejavusansbold.TTF)
	s.AliasNbPages("{pages}")
	s.SetFooterFunc(s.footer)
	s.AddPage()
	return s
}

func (s *sheets) footer() {
	s.SetY(s.high - margin)
	s.SetFont("text", "", small)
	s.SetTextColor(80, 80, 80)
	s.CellFormat(s.wide*0.75, 4, overlay.Drawn(s.cut(first(s.in.Account.Subtitle, " · "), s.wide*0.75)), "", 0, "L", false, 0, "")
	s.CellFormat(s.wide*0.25, 4, fmt.Sprintf("%d / {pages}", s.PageNo()), "", 0, "R", false, 0, "")
	s.SetTextColor(0, 0, 0)
}

// cover is the head: firm and logo, what this is, and who, where and when.
func (s *sheets) cover() {
	a := s.in.Account
	if len(s.in.Logo) > 0 {
		s.logo()
	}
	if a.Firm != "" {
		s.text(body, "B", a.Firm)
	}
	s.SetFont("text", "B", title)
	s.paragraph(s.wide, 9.5, a.Title)
	s.text(body, "", first(a.Subtitle, " · "))
	s.Bookmark(plain(a.Title), 0, margin)
	s.Ln(2)
	s.rule()
	s.facts(a.Facts)
	s.rule()
}

// facts sets labels and values in two columns.
func (s *sheets) facts(facts []account.Fact) {
	const label = 0.36
	column := s.wide/2 - 3
	for i := 0; i < len(facts); i += 2 {
		top, low := s.GetY(), s.GetY()
		for j := i; j < min(i+2, len(facts)); j++ {
			x := margin + float64(j-i)*(column+6)
			s.SetXY(x, top)
			s.SetFont("text", "", small)
			s.SetTextColor(80, 80, 80)
			s.paragraph(column*label, lineHigh, facts[j].Label)
			low = max(low, s.GetY())
			s.SetTextColor(0, 0, 0)
			s.SetFont("text", "", body-1)
			s.SetXY(x+column*label, top)
			s.paragraph(column*(1-label), lineHigh, facts[j].Value)
			low = max(low, s.GetY())
		}
		s.SetY(low)
	}
}

// visit sums up several pushes, each by itself.
func (s *sheets) visit() {
	if len(s.in.Account.Pushes) < 2 {
		return
	}
	s.heading(s.say("page-pushes"), 0)
	s.text(body, "", s.say("page-pushes-apart"))
	for _, p := range s.in.Account.Pushes {
		s.indented("–", p.Heading+". "+strings.Join(p.Verdict, " "))
	}
}

// push tells one push: the summary, the drawing, each observation in words.
func (s *sheets) push(p *account.PushAccount) {
	if p.Heading != "" {
		s.heading(p.Heading, 0)
	}
	s.heading(s.say("page-short"), 1)
	s.text(heading-1, "B", strings.Join(p.Verdict, " "))
	for _, g := range p.Groups {
		s.Ln(1.2)
		s.need(3 * lineHigh)
		s.text(body, "B", g.Title)
		s.text(body, "", g.Caution)
		s.SetFont("text", "", body)
		for _, item := range g.Items {
			mark, where := fmt.Sprint(item.Number), commaed(item.Place)
			if item.Number == 0 {
				mark, where = "–", where+commaed(s.say("summary-where"))
			}
			s.indented(mark, item.Text+where)
		}
	}
	s.Ln(1.2)
	for _, line := range p.Missing {
		s.indented("–", line)
	}
	for _, line := range append([]string{p.Noted}, p.Went...) {
		s.text(body, "", line)
	}
	if len(p.NotSeen) > 0 {
		s.Ln(1.2)
		s.text(body, "B", s.say("page-not-seen"))
		for _, line := range p.NotSeen {
			s.indented("–", line)
		}
	}
	s.drawing(p)
	s.observations(p)
}

func (s *sheets) observations(p *account.PushAccount) {
	if len(p.Observations) > 0 {
		s.heading(s.say("page-observations"), 1)
	}
	for _, o := range p.Observations {
		s.observation(o)
	}
	if len(p.Unplaced) > 0 {
		s.heading(s.say("page-unplaced"), 1)
		for _, u := range p.Unplaced {
			s.indented("–", u.What+commaed(u.Place)+dotted(u.Known)+dotted(s.labelled("page-advice", u.Advice))+dotted(u.Written)+dotted(u.Note))
			s.spoken("", u.Spoken)
		}
	}
	if len(p.Spoken) > 0 {
		s.heading(s.say("page-spoken"), 1)
		s.spoken("–", p.Spoken)
	}
}

// observation is kept on one page where it is of ordinary length.
func (s *sheets) observation(o account.Observation) {
	s.SetFont("text", "", body)
	lines := s.together(s.labelled("page-advice", o.Advice), o.Known, seen(o), o.Size, o.Depth, o.Written)
	lines = append(lines, o.Note, s.labelled("page-means", o.Means), o.When+dotted(o.TrueTime), o.Also)
	lines = slices.DeleteFunc(lines, func(line string) bool { return line == "" })
	count := 1 + len(o.Spoken)
	for _, line := range lines {
		count += len(s.SplitText(plain(line), s.wide-hang))
	}
	s.need(min(float64(count)*lineHigh, s.high/3))
	s.Bookmark(plain(fmt.Sprintf("%d %s", o.Number, o.What)), 2, -1)
	s.SetFont("text", "B", body)
	s.indented(fmt.Sprintf("%d", o.Number), o.What+dotted(o.Place))
	s.SetFont("text", "", body)
	for _, line := range lines {
		s.indented("", line)
	}
	s.spoken("", o.Spoken)
	s.Ln(1.5)
}

// spoken tells where notes are to be heard, which paper can't.
func (s *sheets) spoken(mark string, notes []account.Spoken) {
	for _, n := range notes {
		s.indented(mark, n.Text+dotted(n.File))
	}
}

// seen is a clock position with the way one looks, without which 3 and 9 could change
// places.
func seen(o account.Observation) string {
	if o.Dial == nil {
		return ""
	}
	if o.Dial.Travel == "" {
		return o.Dial.Text
	}
	return o.Dial.Text + " (" + o.Dial.Travel + ")"
}

// closing says how all of it is known, then holds the cautions, how far the record goes,
// and the box to sign in: these three on one page, so that whoever signs has all of it before them, and the box never stands
// alone.
func (s *sheets) closing() {
	a := s.in.Account
	for _, p := range a.Pushes {
		if len(p.HowKnown) > 0 {
			s.need(s.listHigh(p.HowKnown))
			s.list(s.say("known-title")+dotted(p.Heading), p.HowKnown)
		}
	}
	careful := s.listHigh(a.Careful) + boxAbove + boxHigh
	s.need(s.listHigh(a.Cautions) + careful)
	s.list(s.say("page-cautions"), a.Cautions)
	s.need(careful)
	s.list(s.say("page-careful"), a.Careful)
	s.signature()
}

func (s *sheets) signature() {
	s.Ln(boxAbove)
	top, half := s.GetY(), s.wide/2
	s.Rect(margin, top, s.wide, boxHigh, "D")
	s.Line(margin+half, top, margin+half, top+boxHigh)
	s.SetFont("text", "", small)
	for i, label := range []string{s.say("field-licence"), s.say("report-signature")} {
		s.SetXY(margin+float64(i)*half+2, top+1)
		s.CellFormat(half-4, 5, s.cut(plain(label), half-4), "", 0, "L", false, 0, "")
	}
	s.SetFont("text", "", body)
	s.SetXY(margin+2, top+9)
	s.paragraph(half-4, lineHigh, s.in.Account.Licence)
	s.SetXY(margin, top+boxHigh)
}
