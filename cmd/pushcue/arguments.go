package main

import (
	"fmt"
	"slices"
	"strings"

	"github.com/urfave/cli/v2"
)

// usageError is an order that can't be followed as given: the program ends with 2.
type usageError struct{ text, hint string }

func (e *usageError) Error() string { return e.text }

func withoutCommand(c *cli.Context) error {
	if c.NArg() == 0 {
		return reviewJob(c, "") // a double-click: the start page
	}
	return unknownCommand(c.App, c.Args().First())
}

func unknownCommand(app *cli.App, name string) error {
	var known []string
	for _, c := range app.Commands {
		known = append(known, c.Name)
	}
	return &usageError{
		text: fmt.Sprintf("there is no command %q", name),
		hint: "did you mean: pushcue " + nearest(name, known) + "?",
	}
}

// inOrder puts flags ahead of arguments, since the library stops reading flags at
// the first argument, and refuses a flag that the command doesn't have. Flags may
// stand ahead of the command too. What follows "--" is an argument.
func inOrder(app *cli.App, argv []string) ([]string, error) {
	app.Setup()
	words, flags := splitArguments(app, argv[1:])
	if len(words) == 0 {
		return append(argv[:1:1], flags...), rootFlags(app, flags)
	}
	if words[0] == "help" || words[0] == "h" {
		return argv, nil
	}
	command := app.Command(words[0])
	if command == nil {
		return nil, unknownCommand(app, words[0])
	}
	for _, f := range flags {
		if err := checkFlag(app, command, f); err != nil {
			return nil, err
		}
	}
	ordered := append([]string{argv[0], command.Name}, flags...)
	return append(append(ordered, "--"), words[1:]...), nil
}

// splitArguments tells words from flags. A flag and its value become one item.
func splitArguments(app *cli.App, args []string) (words, flags []string) {
	for i := 0; i < len(args); i++ {
		a := args[i]
		switch {
		case a == "--":
			return append(words, args[i+1:]...), flags
		case !strings.HasPrefix(a, "-") || a == "-":
			words = append(words, a)
		case takesValue(app, a) && i+1 < len(args):
			i++
			flags = append(flags, a+"="+args[i])
		default:
			flags = append(flags, a)
		}
	}
	return words, flags
}

func flagName(flag string) string {
	name, _, _ := strings.Cut(strings.TrimLeft(flag, "-"), "=")
	return name
}

// takesValue reports a flag that is followed by its value. A name means the same
// in every command, so that the command needn't be known yet.
func takesValue(app *cli.App, flag string) bool {
	if strings.Contains(flag, "=") {
		return false
	}
	for _, c := range app.Commands {
		for _, f := range c.Flags {
			if slices.Contains(f.Names(), flagName(flag)) {
				_, isSwitch := f.(*cli.BoolFlag)
				return !isSwitch
			}
		}
	}
	return false
}

func checkFlag(app *cli.App, c *cli.Command, flag string) error {
	known := []string{"help"}
	for _, f := range c.Flags {
		if slices.Contains(f.Names(), flagName(flag)) {
			_, isSwitch := f.(*cli.BoolFlag)
			if !isSwitch && !strings.Contains(flag, "=") {
				return &usageError{text: fmt.Sprintf("%s needs a value", flag), hint: "see: pushcue " + c.Name + " --help"}
			}
			return nil
		}
		known = append(known, f.Names()[0])
	}
	if flagName(flag) == "help" || flagName(flag) == "h" {
		return nil
	}
	wrong := &usageError{
		text: fmt.Sprintf("pushcue %s knows no flag %s", c.Name, strings.SplitN(flag, "=", 2)[0]),
		hint: fmt.Sprintf("did you mean --%s? See: pushcue %s --help", nearest(flagName(flag), known), c.Name),
	}
	for _, other := range app.Commands {
		for _, f := range other.Flags {
			if f.Names()[0] == flagName(flag) {
				wrong.hint = fmt.Sprintf("--%s is a flag of: pushcue %s", flagName(flag), other.Name)
			}
		}
	}
	return wrong
}

func rootFlags(app *cli.App, flags []string) error {
	for _, f := range flags {
		switch flagName(f) {
		case "help", "h", "version", "v":
		default:
			return &usageError{
				text: fmt.Sprintf("%s stands without a command", f),
				hint: "say what to do: pushcue new, pushcue check or pushcue make; see: pushcue --help",
			}
		}
	}
	return nil
}

// nearest is the known word that takes the fewest changed letters.
func nearest(word string, known []string) string {
	best, fewest := "", -1
	for _, k := range known {
		if d := changes(word, k); fewest < 0 || d < fewest {
			best, fewest = k, d
		}
	}
	return best
}

// changes is the Levenshtein distance: letters put in, left out or replaced.
func changes(a, b string) int {
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range len(a) {
		diagonal := row[0]
		row[0] = i + 1
		for j := range len(b) {
			replaced := diagonal
			if a[i] != b[j] {
				replaced++
			}
			diagonal = row[j+1]
			row[j+1] = min(replaced, row[j]+1, row[j+1]+1)
		}
	}
	return row[len(b)]
}
