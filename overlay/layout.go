package overlay

import (
	"image"
	"math"

	"pushcue/timeline"
	"pushcue/timeline/jobsheet"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// A Spec is what a layout is for. Where the captions' strip is "none" nothing is
// burned in, neither place nor notes.
type Spec struct {
	Width, Height int // of the picture: upright, square pixels
	Captions      jobsheet.Captions

	// Notes asks for the second strip, for what was seen: excerpts have it, and so
	// has every video whose captions show all.
	Notes bool
	// Still asks for the picture's full size and for the observation's number and
	// kind in the strip.
	Still bool
	// Clear holds rectangles of the picture that captions over it must leave
	// free: what the recorder burned in.
	Clear []image.Rectangle
}

// A Layout is where everything stands in the picture handed over. It serves one
// timeline in one language, so that the strip has the size its longest text needs
// and never changes.
type Layout struct {
	Width, Height int             // of the whole: even
	Picture       image.Rectangle // where the filmed picture stands, scaled where it had to be
	Place, Notes  Block           // empty where there is none
	Level         string          // H.264 level: "4.1" or "4.2"

	// Slow is how many times slower the script runs than the recording. It is 1,
	// but for recordings with frames so close that the hundredths of a second of a
	// script can't tell two of them apart. Graph heeds it.
	Slow int

	teller *teller
	spec   Spec
	size   size
	set    setting // of Place
	more   string
	texts  fixedText
}

// fixedText is what a layout needs of its timeline, asked for once.
type fixedText struct {
	lines                      []string
	widestDistance, widestTime string
	marks                      []mark
}

// A Block is a ground with rows of text on it. It is empty when it has no rows.
type Block struct {
	Ground image.Rectangle // painted whole
	Text   image.Rectangle // text stays inside
	Rows   int
}

// safeShare is the part of each side that stays free of text: the graphics safe
// area of EBU R 95 (5 %: the wider of its two margins as a broadcaster's glossary gives
// them; R 95's own text wasn't at hand).
const safeShare = 0.05

// Capitals are at least one part in capitalShare of the picture's shorter side,
// and never so small that a screen can't draw them.
const (
	capitalShare = 28
	leastCapital = 8
)

// NewLayout lays out captions for all of t. It warns of what had to be cut short,
// of characters that the font can't show, and of captions that couldn't keep
// clear of what the recorder burned in.
func NewLayout(t *timeline.Timeline, lang *words.Language, s Spec) (*Layout, []timeline.Warning) {
	return newLayout(newTeller(t, lang), s)
}

func newLayout(told *teller, s Spec) (*Layout, []timeline.Warning) {
	l := &Layout{Slow: 1, Level: "4.1", teller: told, spec: s, more: told.lang.Say("more-on-page")}
	l.texts = fixedText{told.lines(), told.words.WidestDistance(), told.widestDateTime(), told.marks()}
	picture := image.Pt(max(s.Width, 1), max(s.Height, 1))
	if s.Still {
		l.place(picture)
		return l, l.warnings()
	}
	l.Slow = slowness(told.t.Recording.Frames)
	rate := peakRate(told.t.Recording.Frames)
	// Smaller by two pixels a step until it fits, so that no formula has to know how
	// the strip's height follows from the width; the picture alone first, which is
	// quick to try.
	width := picture.X
	for ; width > 16; width -= 2 {
		if fits(scaled(picture, width), rate) {
			break
		}
	}
	for ; ; width -= 2 {
		l.place(scaled(picture, width))
		level, ok := Level(l.Width, l.Height, rate)
		if l.Level = level; ok || width <= 16 {
			return l, l.warnings()
		}
	}
}

func fits(size image.Point, rate float64) bool {
	_, ok := Level(even(size.X), even(size.Y), rate)
	return ok
}

// scaled is a picture made width wide: as high as it is when nothing changes, else
// even.
func scaled(picture image.Point, width int) image.Point {
	if width == picture.X {
		return picture
	}
	high := float64(picture.Y) * float64(width) / float64(picture.X)
	return image.Pt(width/2*2, max(2, int(math.Round(high/2))*2))
}

// place sets everything round a picture of the given size.
func (l *Layout) place(picture image.Point) {
	l.Picture = image.Rectangle{Max: picture}
	l.Place, l.Notes, l.set = Block{}, Block{}, setting{}
	l.size = size{math.Max(leastCapital, math.Ceil(float64(min(picture.X, picture.Y))/capitalShare))}
	switch l.spec.Captions.Strip {
	case "none":
		l.Width, l.Height = even(picture.X), even(picture.Y)
	case "over":
		l.Width, l.Height = even(picture.X), even(picture.Y)
		l.over()
	default:
		l.strips()
	}
}

// strips puts the strips above and below the picture, which stays whole. A
// picture too narrow for the time of day gets ground at its sides.
func (l *Layout) strips() {
	n := l.need()
	l.Width = even(max(l.Picture.Dx(), int(math.Ceil(max(n.time, n.distance)/(1-2*safeShare)))))
	side := int(math.Ceil(float64(l.Width) * safeShare))
	wide := float64(l.Width - 2*side)
	l.set = l.size.best(n, wide)
	place := l.band(l.set.rows, side)
	notes := l.band(l.noteRows(wide), side)

	top := 0
	stack := func(b Block) Block { b = b.down(top); top = b.Ground.Max.Y; return b }
	if l.spec.Captions.Strip != "below" {
		l.Place = stack(place)
	}
	l.Picture = l.Picture.Add(image.Pt((l.Width-l.Picture.Dx())/4*2, top))
	top += even(l.Picture.Dy())
	if l.spec.Captions.Strip == "below" {
		l.Place = stack(place)
	}
	l.Notes = stack(notes)
	l.Height = top
}

// band is a block as wide as the whole, at the top.
func (l *Layout) band(rows, side int) Block {
	if rows == 0 {
		return Block{}
	}
	high := even(int(math.Ceil(float64(rows)*l.size.line() + 2*l.size.margin())))
	ground := image.Rect(0, 0, l.Width, high)
	return Block{Ground: ground, Text: image.Rect(side, 0, l.Width-side, high), Rows: rows}
}

func (b Block) down(by int) Block {
	b.Ground, b.Text = b.Ground.Add(image.Pt(0, by)), b.Text.Add(image.Pt(0, by))
	return b
}

// need is what the place strip has to hold.
func (l *Layout) need() need {
	return need{
		lines:    l.texts.lines,
		distance: l.size.wide(l.texts.widestDistance),
		time:     l.size.wide(l.texts.widestTime),
		label:    l.showsLabel(),
		more:     l.more,
	}
}

// showsLabel: the observation's number and kind stand in the place strip, unless
// there is a strip of notes that begins with them.
func (l *Layout) showsLabel() bool {
	return l.spec.Still || l.spec.Captions.Show == "place+label" && !l.showsNotes()
}

func (l *Layout) showsNotes() bool {
	return !l.spec.Still && (l.spec.Notes || l.spec.Captions.Show == "all")
}

// noteRows is how many rows the longest note takes.
func (l *Layout) noteRows(wide float64) int {
	rows := 0
	if !l.showsNotes() {
		return 0
	}
	for _, n := range l.texts.marks {
		lines, _ := l.size.wrap(n.note, wide, mostRows, l.more)
		rows = max(rows, len(lines))
	}
	return rows
}

// peakRate is the most frames that any second of the recording holds.
func peakRate(frames []timecode.Video) float64 {
	const second = timecode.Video(1e9)
	most, last := 0, 0
	for first := range frames {
		for last < len(frames) && frames[last]-frames[first] < second-second/1000 {
			last++
		}
		most = max(most, last-first)
	}
	return float64(most)
}

// even is n or the next number that is: pictures with half the colour samples
// have no odd sides.
func even(n int) int { return (n + 1) / 2 * 2 }
