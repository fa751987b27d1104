package overlay

import "strings"

// wrap breaks text into at most rows lines no wider than wide pixels. Where that
// isn't enough, it ends in more ("… more on the page") and cut is true.
func (s size) wrap(text string, wide float64, rows int, more string) (lines []string, cut bool) {
	for rest := text; rest != ""; {
		if len(lines) == rows {
			lines[rows-1] = s.end(lines[rows-1], wide, more)
			return lines, true
		}
		var line string
		line, rest = s.fill(rest, wide)
		lines = append(lines, line)
	}
	return lines, false
}

// fill takes as many words as fit, or as much of the first as fits.
func (s size) fill(text string, wide float64) (line, rest string) {
	end, afterBlank := 0, 0 // where the line could end, where the next would begin
	for i := 0; i <= len(text); {
		next := strings.IndexByte(text[i:], ' ')
		if next < 0 {
			next = len(text) - i
		}
		if s.wide(text[:i+next]) > wide {
			break
		}
		end, afterBlank = i+next, min(i+next+1, len(text))
		i = i + next + 1
	}
	if end > 0 {
		return text[:end], text[afterBlank:]
	}
	at := s.breakWord(text, wide)
	return text[:at], strings.TrimPrefix(text[at:], " ")
}

// breakWord is where a word too long for a line is broken: before the character
// that doesn't fit, never before a mark that belongs to the one before it, and
// after one character at least.
func (s size) breakWord(text string, wide float64) int {
	used, at := 0.0, 0
	for i, r := range text {
		if i > 0 && !isMark(r) {
			switch {
			case used <= wide:
				at = i
			case at == 0:
				return i
			default:
				return at
			}
		}
		a, _ := advance(r)
		used += s.pixels(a)
	}
	if used <= wide || at == 0 {
		return len(text)
	}
	return at
}

// end puts more after the line, dropping words (or, of a single word, characters)
// until both fit.
func (s size) end(line string, wide float64, more string) string {
	if s.wide(more) > wide {
		more = "…"
	}
	for s.wide(line+" "+more) > wide {
		blank := strings.LastIndexByte(line, ' ')
		if blank < 0 {
			room := wide - s.wide(" "+more)
			if at := s.breakWord(line, max(room, 0)); at < len(line) {
				return line[:at] + " " + more
			}
			return more
		}
		line = line[:blank]
	}
	return line + " " + more
}
