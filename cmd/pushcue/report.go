package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"unicode"

	"github.com/mattn/go-runewidth"

	"pushcue/internal/ffmpeg"
	"pushcue/internal/handover/drive"
	"pushcue/internal/trouble"
	"pushcue/timeline"
	"pushcue/timeline/fault"
	"pushcue/timeline/words"
)

// Exit codes. exitStatus says the same to users.
const (
	exitDone        = 0
	exitOurs        = 1
	exitUsage       = 2
	exitOpen        = 3
	exitInput       = 4
	exitFFmpeg      = 5
	exitUnproven    = 6
	exitInterrupted = 130
)

const exitStatus = `The exit status of every command:
   0  done
   1  a fault of pushcue's own
   2  wrong use
   3  done, but something was left open: rows without a place, cells that can't
      be read, a damaged recording, an on-screen counter that nobody confirmed
   4  an input can't be used or is ambiguous, or there is no room to write
   5  ffmpeg is missing, too old or failed
   6  something isn't what it was: a file changed, is gone, or reads back
      differently
 130  interrupted`

var (
	errInterrupted = errors.New("interrupted")
	// errOpen ends the program with 3; what was left open has been said already.
	errOpen = errors.New("something was left open")
)

// A complaint is one thing wrong, as it is shown.
type complaint struct {
	Text string `json:"text"`
	Hint string `json:"hint,omitempty"`
}

// understand turns an error into an exit code and what to say.
func understand(err error) (code int, complaints []complaint) {
	var usage *usageError
	var refusal *trouble.Refusal
	var trouble *trouble.Trouble
	var tool *ffmpeg.Error
	var place *ffmpeg.PlaceError
	var unproven *drive.Unproven
	var said ended
	var many several
	switch faults, isFaults := fault.In(err); {
	case err == nil, errors.Is(err, errEnded):
		return exitDone, nil
	case errors.Is(err, errInterrupted):
		return exitInterrupted, []complaint{{"interrupted", "run the same command again: what is done is kept, what was begun is made anew"}}
	case errors.Is(err, errOpen):
		return exitOpen, nil
	case errors.As(err, &said):
		return int(said), nil
	case errors.As(err, &many):
		return together(many)
	case errors.As(err, &unproven):
		return exitUnproven, []complaint{{unproven.Text, unproven.Hint}}
	case errors.As(err, &usage):
		return exitUsage, []complaint{{usage.text, usage.hint}}
	case errors.As(err, &refusal):
		return exitUsage, []complaint{{refusal.Text.String(), refusal.Hint.String()}}
	case isFaults:
		for _, f := range faults {
			complaints = append(complaints, complaint{f.Error(), f.Hint.String()})
		}
		return exitInput, complaints
	case errors.As(err, &trouble):
		return exitInput, []complaint{{trouble.Text.String(), trouble.Hint.String()}}
	case errors.As(err, &place):
		return exitInput, []complaint{{place.Text.String(), place.Hint.String()}}
	case errors.As(err, &tool):
		return exitFFmpeg, []complaint{{tool.Text.String(), tool.Hint.String()}}
	}
	return exitOurs, []complaint{{err.Error(), "this shouldn't happen; run again with --verbose and send us what it prints"}}
}

// report says what went wrong, in two lines each, and returns the exit code.
func report(err error, asJSON bool, out, errs io.Writer) int {
	code, complaints := understand(err)
	if asJSON && len(complaints) > 0 {
		_ = writeJSON(out, map[string]any{"exit": code, "errors": complaints})
		return code
	}
	hinted := ""
	for _, c := range complaints {
		fmt.Fprintln(errs, folded(errs, "error: "+printable(c.Text)))
		if c.Hint != "" && c.Hint != hinted {
			fmt.Fprintln(errs, folded(errs, "hint: "+printable(c.Hint)))
			hinted = c.Hint
		}
	}
	return code
}

func writeJSON(w io.Writer, value any) error {
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	return e.Encode(value)
}

// wantsJSON looks for --json itself, since an error may be met before flags are read.
func wantsJSON(argv []string) bool {
	end := slices.Index(argv, "--")
	if end < 0 {
		end = len(argv)
	}
	return slices.ContainsFunc(argv[:end], func(a string) bool {
		return a == "--json" || a == "-json" || a == "--json=true"
	})
}

// sayWarnings lists warnings, those that leave something open first.
func sayWarnings(w io.Writer, ws []timeline.Warning) {
	ordered := slices.Clone(ws)
	slices.SortStableFunc(ordered, func(a, b timeline.Warning) int {
		switch {
		case a.Open() == b.Open():
			return 0
		case a.Open():
			return -1
		}
		return 1
	})
	for _, x := range gathered(ordered) {
		label := "note"
		if x.Open() {
			label = "open"
		}
		fmt.Fprintln(w, folded(w, label+": "+printable(x.Text.String())))
		switch {
		case x.Hint.Empty():
		case isTerminal(w): // among folded lines it wouldn't be seen where the hint begins
			fmt.Fprintln(w, fold("   -> "+printable(x.Hint.String()), tableWidth))
		default:
			fmt.Fprintln(w, indent+printable(x.Hint.String()))
		}
	}
}

// gathered says once what is said of many rows in the same words.
func gathered(ws []timeline.Warning) []timeline.Warning {
	const named = 3
	rows := map[string][]int{} // by what is said of them
	about := func(w timeline.Warning) (clause words.Sentence, key string, found bool) {
		clause, found = w.Clause()
		return clause, fmt.Sprintf("%s\x00%s\x00%s\x00%t", w.Code, clause, w.Hint, w.Open()), found
	}
	for _, w := range ws {
		if _, key, found := about(w); found {
			rows[key] = append(rows[key], w.Row)
		}
	}
	var kept []timeline.Warning
	for _, w := range ws {
		clause, key, found := about(w)
		switch all := rows[key]; {
		case !found || len(all) <= named+1:
			kept = append(kept, w)
		case w.Row == all[0]:
			w.Text = words.Plain("rows %s and %d more: %s", strings.Trim(strings.Join(strings.Fields(fmt.Sprint(all[:named])), ", "), "[]"), len(all)-named, clause)
			kept = append(kept, w)
		}
	}
	return kept
}

// indent stands before whatever goes on below a line.
const indent = "      "

// folded breaks a text between its words where a terminal's 80 columns are full, and
// leaves it as it is for programs and files.
func folded(w io.Writer, text string) string {
	if !isTerminal(w) {
		return text
	}
	return fold(text, tableWidth)
}

func fold(text string, most int) string {
	var b strings.Builder
	column := 0
	for i, word := range strings.Split(text, " ") {
		wide := runewidth.StringWidth(word)
		switch {
		case i == 0:
		case column+1+wide > most && strings.TrimSpace(b.String()) != "":
			b.WriteString("\n" + indent)
			column = len(indent)
		default:
			b.WriteByte(' ')
			column++
		}
		b.WriteString(word)
		column += wide
	}
	return b.String()
}

// printable shows text from a log or a file name without letting it move the
// terminal's cursor, change its colours or turn the writing direction.
func printable(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\n':
			return r
		case unicode.IsControl(r), unicode.Is(unicode.Bidi_Control, r):
			return unicode.ReplacementChar
		}
		return r
	}, s)
}

// isTerminal reports whether f is one, for progress bars.
func isTerminal(f io.Writer) bool {
	file, ok := f.(*os.File)
	if !ok {
		return false
	}
	info, err := file.Stat()
	return err == nil && info.Mode()&os.ModeCharDevice != 0
}

// fromHere names a file from the current folder where it lies below it.
func fromHere(path string) string {
	here, err := os.Getwd()
	if err != nil {
		return path
	}
	if rel, err := filepath.Rel(here, path); err == nil && filepath.IsLocal(rel) {
		return rel
	}
	return path
}
