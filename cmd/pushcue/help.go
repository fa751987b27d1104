package main

import (
	"bytes"
	"fmt"
	"io"
	"regexp"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/urfave/cli/v2"
)

// helpWidth is the width of a plain terminal: no line of a help text is longer.
const helpWidth = 80

// A topic is a help text that belongs to no single command. The manual page holds the
// topics too.
type topic struct{ name, title, text string }

var topics = []topic{
	{"exits", "EXIT STATUS", exitStatus},
}

// helpCommand replaces the library's own, which knows commands only.
func helpCommand() *cli.Command {
	return &cli.Command{
		Name: "help", Aliases: []string{"h"}, Usage: "explain a command or a topic; topics: " + topicNames(), ArgsUsage: "[COMMAND | TOPIC]",
		Action: func(c *cli.Context) error {
			name := c.Args().First()
			if name == "" {
				return cli.ShowAppHelp(c)
			}
			if i := slices.IndexFunc(topics, func(t topic) bool { return t.name == name }); i >= 0 {
				fmt.Fprintln(c.App.Writer, topics[i].text)
				return nil
			}
			command := c.App.Command(name)
			if command == nil {
				return unknownTopic(c.App, name)
			}
			cli.HelpPrinter(c.App.Writer, cli.CommandHelpTemplate, command)
			return nil
		},
	}
}

func unknownTopic(app *cli.App, name string) error {
	var known []string
	for _, t := range topics {
		known = append(known, t.name)
	}
	for _, c := range app.VisibleCommands() {
		known = append(known, c.Name)
	}
	return &usageError{
		text: fmt.Sprintf("there is no help on %q", name),
		hint: "did you mean: pushcue help " + nearest(name, known) + "? See: pushcue help",
	}
}

func topicNames() string {
	var names []string
	for _, t := range topics {
		names = append(names, t.name)
	}
	return strings.Join(names, ", ")
}

// printHelp prints a help text of the library's with its lines broken at helpWidth.
func printHelp(w io.Writer, template string, data any) {
	var text bytes.Buffer
	cli.HelpPrinterCustom(&text, template, data, nil)
	plain := strings.ReplaceAll(strings.TrimSuffix(text.String(), "\n"), " (default: false)", "")
	for line := range strings.SplitSeq(plain, "\n") {
		fmt.Fprintln(w, wrapped(strings.TrimRight(line, " ")))
	}
}

// columns matches a line's indent, and with it the first column of a table with its gap.
var columns = regexp.MustCompile(`^ *(?:\S+(?: \S+)*  +)?`)

// wrapped breaks one line at blanks. The lines that follow the first begin where its
// text does: in the second column of a table, unless that leaves too little room.
func wrapped(line string) string {
	if utf8.RuneCountInString(line) <= helpWidth {
		return line
	}
	start := columns.FindString(line)
	indent := utf8.RuneCountInString(start)
	if indent > helpWidth/2 {
		indent = len(start) - len(strings.TrimLeft(start, " ")) + 6
		start = strings.TrimRight(start, " ") + "  "
	}
	var out strings.Builder
	out.WriteString(start)
	at := utf8.RuneCountInString(start)
	fresh := true // nothing stands on this line yet but what it begins with
	for word := range strings.FieldsSeq(line[len(columns.FindString(line)):]) {
		n := utf8.RuneCountInString(word)
		switch {
		case !fresh && at+1+n > helpWidth, fresh && at > indent && at+n > helpWidth:
			out.WriteString("\n" + strings.Repeat(" ", indent))
			at = indent
		case !fresh:
			out.WriteByte(' ')
			at++
		}
		out.WriteString(word)
		at += n
		fresh = false
	}
	return strings.ReplaceAll(out.String(), " \n", "\n")
}
