package overlay

// A field is one text of the place strip.
type field int

const (
	fieldLine     field = iota // which pipe
	fieldDistance              // how far
	fieldTime                  // when
	fieldLabel                 // which observation
)

// mostRows is how many rows a strip may have.
const mostRows = 3

// A slot is where a field stands in its block, in pixels from its text's left.
type slot struct {
	field field
	row   int
	x     float64 // its left edge; its right edge when right is set
	right bool    // so that a number's digits keep their places as it grows
	wide  float64 // how much room it has
}

// A setting is a block's fields with their places.
type setting struct {
	rows  int
	slots []slot
	line  []string // the line's name, a row each
	cut   bool     // it had to be cut short
}

// A need is what has to find room. Widths are in pixels, 0 for a field that isn't
// shown.
type need struct {
	lines          []string // the line's name, the longest first
	line           string   // the one being set
	distance, time float64  // of their widest texts
	label          bool     // a row is wanted for the observation
	more           string   // "… more on the page"
}

// A way is one of the ways to set a need: in one row, with the line's name above
// the rest, or with a row for each.
type way int

const (
	inOneRow way = iota
	nameAbove
	stacked
)

var ways = []way{inOneRow, nameAbove, stacked}

// best sets n into wide pixels: in as few rows as hold all of it; else with a
// shorter name for the line; else with the name cut short.
func (s size) best(n need, wide float64) setting {
	for _, cut := range []bool{false, true} {
		for _, n.line = range n.lines {
			for _, w := range ways {
				if set, ok := s.set(w, n, wide); ok && set.cut == cut {
					return set
				}
			}
		}
	}
	return setting{}
}

// natural is how wide a way wants to be.
func (s size) natural(w way, n need) float64 {
	line := s.wide(n.line)
	switch w {
	case inOneRow:
		return s.beside(line, n.distance, n.time)
	case nameAbove:
		return max(line, s.beside(n.distance, n.time))
	}
	return max(line, n.distance, n.time)
}

// beside is how wide texts are in one row.
func (s size) beside(widths ...float64) float64 {
	sum := 0.0
	for _, w := range widths {
		if w > 0 && sum > 0 {
			sum += s.gap()
		}
		sum += w
	}
	return sum
}

// set sets n the way w into wide pixels; false when that can't be.
func (s size) set(w way, n need, wide float64) (setting, bool) {
	switch w {
	case inOneRow:
		if s.natural(inOneRow, n) > wide {
			return setting{}, false
		}
		return s.setOneRow(n, wide), true
	case nameAbove:
		if n.line == "" || s.beside(n.distance, n.time) > wide {
			return setting{}, false
		}
		return s.setNameAbove(n, wide), true
	}
	return s.setStacked(n, wide), true
}

func (s size) setOneRow(n need, wide float64) setting {
	var set setting
	set.name(s, n, wide, 1)
	set.rows = 1
	if n.time > 0 {
		set.slots = append(set.slots, slot{field: fieldTime, x: wide, right: true, wide: n.time})
	}
	switch {
	case n.distance > 0 && n.line == "":
		set.slots = append(set.slots, slot{field: fieldDistance, wide: n.distance})
	case n.distance > 0:
		x := wide
		if n.time > 0 {
			x -= n.time + s.gap()
		}
		set.slots = append(set.slots, slot{field: fieldDistance, x: x, right: true, wide: n.distance})
	}
	set.label(n, wide)
	return set
}

func (s size) setNameAbove(n need, wide float64) setting {
	rows := mostRows - 1
	if n.label {
		rows--
	}
	var set setting
	set.name(s, n, wide, rows)
	if n.distance > 0 {
		set.slots = append(set.slots, slot{field: fieldDistance, row: set.rows, wide: n.distance})
	}
	if n.time > 0 {
		set.slots = append(set.slots, slot{field: fieldTime, row: set.rows, x: wide, right: true, wide: n.time})
	}
	if n.distance > 0 || n.time > 0 {
		set.rows++
	}
	set.label(n, wide)
	return set
}

// setStacked is for narrow pictures. The observation shares the distance's row:
// there is no fourth.
func (s size) setStacked(n need, wide float64) setting {
	var set setting
	set.name(s, n, wide, 1)
	if n.time > 0 {
		set.slots = append(set.slots, slot{field: fieldTime, row: set.rows, wide: n.time})
		set.rows++
	}
	if n.distance == 0 {
		set.label(n, wide)
		return set
	}
	set.slots = append(set.slots, slot{field: fieldDistance, row: set.rows, wide: n.distance})
	if x := n.distance + s.gap(); n.label && x < wide {
		set.slots = append(set.slots, slot{field: fieldLabel, row: set.rows, x: x, wide: wide - x})
	}
	set.rows++
	return set
}

func (set *setting) name(s size, n need, wide float64, rows int) {
	set.line, set.cut = s.wrap(n.line, wide, rows, n.more)
	for range set.line {
		set.slots = append(set.slots, slot{field: fieldLine, row: set.rows, wide: wide})
		set.rows++
	}
}

func (set *setting) label(n need, wide float64) {
	if n.label {
		set.slots = append(set.slots, slot{field: fieldLabel, row: set.rows, wide: wide})
		set.rows++
	}
}
