package subtitles

import (
	"strings"
	"time"
	"unicode"

	"github.com/mattn/go-runewidth"
)

// The rules of reading. Speed and lines follow the BBC Subtitle Guidelines: 160 to
// 180 words a minute, and at most two lines; 42 letters a line and the shortest time
// are common practice, no published source.
const (
	fastWord = 330 * time.Millisecond
	slowWord = 375 * time.Millisecond
	shortest = 1500 * time.Millisecond
	perLine  = 42
	perPage  = 2 // lines
)

// A page is what stands on the picture at once.
type page struct {
	lines []string
	words int
}

// time is how long a page takes to read at so much a word.
func (p page) time(word time.Duration) time.Duration {
	return max(shortest, time.Duration(p.words)*word)
}

func readingTime(pages []page, word time.Duration) time.Duration {
	var sum time.Duration
	for _, p := range pages {
		sum += p.time(word)
	}
	return sum
}

// paginate breaks pieces, each no wider than a line, into pages. The pages of fewer
// pieces are the same pages, but for the last.
func paginate(pieces []string) []page {
	var pages []page
	room := 0
	for _, piece := range pieces {
		wide := width(piece)
		last := len(pages) - 1
		switch {
		case last >= 0 && wide+1 <= room:
			lines := pages[last].lines
			lines[len(lines)-1] += " " + piece
			room -= wide + 1
		case last >= 0 && len(pages[last].lines) < perPage:
			pages[last].lines = append(pages[last].lines, piece)
			room = perLine - wide
		default:
			pages = append(pages, page{lines: []string{piece}})
			last++
			room = perLine - wide
		}
		pages[last].words += wordCount(piece)
	}
	return pages
}

// pieces cuts text at its blanks, and what is wider than a line wherever a line is
// full.
func pieces(text string) []string {
	var all []string
	for _, word := range strings.Split(clean(text), " ") {
		for width(word) > perLine {
			cut := fullLine(word)
			all = append(all, word[:cut])
			word = word[cut:]
		}
		if word != "" {
			all = append(all, word)
		}
	}
	return all
}

// fullLine is where to cut a word that no line holds: not ahead of a character that
// belongs to the one before.
func fullLine(word string) int {
	cut, used := 0, 0
	for i, r := range word {
		if used+runeWidth(r) > perLine {
			if cut == 0 {
				cut = i
			}
			return cut
		}
		if i > 0 && !unicode.In(r, unicode.M) && r != '\u200d' && !strings.HasSuffix(word[:i], "\u200d") {
			cut = i
		}
		used += runeWidth(r)
	}
	return len(word)
}

func width(s string) int {
	n := 0
	for _, r := range s {
		n += runeWidth(r)
	}
	return n
}

// cells doesn't ask the computer's language how wide a letter is: cues are the same
// everywhere.
var cells = runewidth.Condition{StrictEmojiNeutral: true}

// runeWidth is 2 for the letters that take two places, 1 for all others, combining
// ones too: a line is rather too short than too long.
func runeWidth(r rune) int { return max(1, cells.RuneWidth(r)) }

// longWord is how many letters count as one word to read; a longer one counts more.
const longWord = 20

// wordCount is what there is to read in a piece: nothing in a dash or a dot alone.
func wordCount(piece string) int {
	n := 0
	for _, word := range strings.Fields(piece) {
		if strings.ContainsFunc(word, func(r rune) bool { return unicode.IsLetter(r) || unicode.IsNumber(r) || unicode.IsSymbol(r) }) {
			n += (width(word) + longWord - 1) / longWord
		}
	}
	return n
}
