package report

import (
	"bytes"
	"fmt"
	"io"
	"net/http"

	"codeberg.org/go-pdf/fpdf"

	"pushcue/internal/handover/account"
	"pushcue/overlay"
)

// logo stands at the top right, at most 40 by 18 mm.
func (s *sheets) logo() {
	const wide, high = 40.0, 18.0
	kind := "JPG"
	if http.DetectContentType(s.in.Logo) == "image/png" {
		kind = "PNG"
	}
	info, err := s.register("logo", kind, bytes.NewReader(s.in.Logo))
	if err != nil {
		s.ClearError() // a logo that can't be read is no reason for no report
		return
	}
	w, h := fit(info.Width(), info.Height(), wide, high)
	s.ImageOptions("logo", margin+s.wide-w, margin, w, h, false, fpdf.ImageOptions{ImageType: kind}, 0, "")
}

// drawing sets the line laid open, as on the page.
func (s *sheets) drawing(p *account.PushAccount) {
	d := p.Drawing
	if d == nil {
		return
	}
	scale := s.wide / d.Width
	s.need(d.Height*scale + 22)
	s.heading(s.say("page-line"), 1)
	s.text(small, "", d.Text)
	s.Ln(2)
	x := func(v float64) float64 { return margin + v*scale }
	top := s.GetY()
	y := func(v float64) float64 { return top + v*scale }
	rect := func(b account.Box, style string) { s.Rect(x(b.X), y(b.Y), b.W*scale, b.H*scale, style) }

	s.SetLineWidth(0.2)
	s.SetFillColor(240, 240, 240)
	rect(d.Wall, "FD")
	s.SetDrawColor(190, 190, 190)
	for _, r := range d.Rows {
		s.Line(x(d.Wall.X), y(r.Y), x(d.Wall.X+d.Wall.W), y(r.Y))
	}
	s.SetFont("text", "", 7)
	for _, t := range d.Ticks {
		s.Line(x(t.X), y(d.Wall.Y), x(t.X), y(d.Wall.Y+d.Wall.H)+1.5)
		s.SetXY(x(t.X)-10, y(d.Wall.Y+d.Wall.H)+1.5)
		s.CellFormat(20, 3.5, t.Text, "", 0, "C", false, 0, "")
	}
	for _, r := range d.Rows {
		s.SetXY(margin, y(r.Y)-2)
		s.CellFormat(d.Wall.X*scale-1.5, 4, plain(r.Text), "", 0, "R", false, 0, "")
	}
	s.SetFillColor(255, 255, 255)
	s.SetDashPattern([]float64{0.8, 1.2}, 0)
	for _, unseen := range d.Unseen {
		rect(unseen, "FD")
	}
	s.SetDashPattern(nil, 0)
	s.SetDrawColor(0, 0, 0)
	s.marks(d, x, y, rect)
	s.SetXY(margin, y(d.Height)+1)
}

func (s *sheets) marks(d *account.Drawing, x, y func(float64) float64, rect func(account.Box, string)) {
	for _, m := range d.Marks {
		s.SetFillColor(150, 165, 170)
		for _, b := range m.Boxes {
			rect(b, "FD")
		}
		if len(m.Boxes) == 0 {
			s.SetDashPattern([]float64{0.5, 0.8}, 0)
			s.Line(x(m.X), y(m.Top), x(m.X), y(m.Bottom))
			s.SetDashPattern(nil, 0)
		}
		s.Line(x(m.LabelX), y(m.LabelY), x(m.X), y(m.Top))
	}
	for _, m := range d.Marks {
		ink, paper := 0, 255
		if m.Decision {
			ink, paper = 255, 0
		}
		s.SetFillColor(paper, paper, paper)
		s.SetTextColor(ink, ink, ink)
		s.Circle(x(m.LabelX), y(m.LabelY), 2.3, "FD")
		s.SetFont("text", "B", 6.5)
		s.SetXY(x(m.LabelX)-4, y(m.LabelY)-2)
		s.CellFormat(8, 4, fmt.Sprint(m.Number), "", 0, "C", false, 0, "")
	}
	s.SetTextColor(0, 0, 0)
}

// A cell is one picture with its words beneath.
type cell struct {
	picture, head string
	words         []string
}

// cells lists the stills and photos, those of an observation together.
func (s *sheets) cells() []cell {
	var all []cell
	for _, p := range s.in.Account.Pushes {
		for _, o := range p.Observations {
			head := fmt.Sprintf("%d  %s%s", o.Number, o.What, dotted(o.Place))
			if o.Still != "" {
				all = append(all, cell{o.Still, head, []string{p.Heading, seen(o), s.labelled("page-advice", o.Advice), o.Note, o.When + dotted(o.TrueTime)}})
			}
			for _, photo := range o.Photos {
				all = append(all, cell{photo.File, head, []string{p.Heading, photo.Text}})
			}
		}
		for _, u := range p.Unplaced {
			for _, photo := range u.Photos {
				all = append(all, cell{photo.File, u.What, []string{p.Heading, photo.Text, s.labelled("page-advice", u.Advice), u.Note}})
			}
		}
		for _, photo := range p.Photos {
			all = append(all, cell{photo.File, photo.Text, []string{p.Heading}})
		}
	}
	return all
}

// pictures sets four of them a page.
func (s *sheets) pictures() error {
	if s.in.Picture == nil {
		return nil
	}
	for i, c := range s.cells() {
		if i%4 == 0 {
			s.AddPage()
			if i == 0 {
				s.Bookmark(plain(s.say("report-stills")), 0, -1)
			}
		}
		if err := s.set(c, i%4); err != nil {
			return err
		}
	}
	return nil
}

func (s *sheets) set(c cell, place int) error {
	const gap = 8.0
	wide := (s.wide - gap) / 2
	high := (s.high - 2*margin - 10 - gap) / 2
	left := margin + float64(place%2)*(wide+gap)
	top := margin + float64(place/2)*(high+gap)

	name, picture, err := stubFor(func() (io.ReadCloser, error) { return s.in.Picture(c.picture) })
	if err != nil {
		return fmt.Errorf("the picture %s can't be put into the report: %w", c.picture, err)
	}
	s.stubs[name] = picture
	info, err := s.register(name, "JPG", bytes.NewReader(picture.head))
	if err != nil {
		return fmt.Errorf("the picture %s can't be put into the report: %w", c.picture, err)
	}
	const words = 34.0 // left for the words beneath
	w, h := fit(info.Width(), info.Height(), wide, high-words)
	s.ImageOptions(name, left, top, w, h, false, fpdf.ImageOptions{ImageType: "JPG"}, 0, "")
	s.SetXY(left, top+h+1.5)
	s.SetFont("text", "B", body-1)
	s.lines(left, wide, 2, c.head)
	s.SetFont("text", "", small)
	for _, t := range c.words {
		if t != "" {
			s.lines(left, wide, 2, t)
		}
	}
	return nil
}

// lines sets at most so many lines of a text, the last one cut where it is longer.
func (s *sheets) lines(left, wide float64, most int, t string) {
	parts := s.SplitText(plain(t), wide-2)
	for i, line := range parts {
		if i == most {
			break
		}
		if i == most-1 && len(parts) > most {
			line = s.cut(line+" …", wide-2)
		}
		s.SetX(left)
		s.CellFormat(wide, 4.4, overlay.Drawn(line), "", 2, "L", false, 0, "")
	}
}

// fit is the largest size of a picture of w by h that stays within wide by high.
func fit(w, h, wide, high float64) (float64, float64) {
	k := min(wide/w, high/h)
	return w * k, h * k
}
