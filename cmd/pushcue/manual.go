package main

import (
	_ "embed"
	"fmt"
	"strings"

	"github.com/urfave/cli/v2"
)

// The completion scripts ask pushcue itself what could follow, with the library's
// --generate-bash-completion. Words that are typed are passed on as arguments and never
// evaluated. Where pushcue knows nothing, the shell completes file names.
var (
	//go:embed complete/pushcue.bash
	bashCompletion string
	//go:embed complete/pushcue.zsh
	zshCompletion string
	//go:embed complete/pushcue.ps1
	powershellCompletion string
)

func completionCommand() *cli.Command {
	return &cli.Command{
		Name:      "completion",
		Usage:     "print the script that lets a shell complete pushcue's commands and flags",
		ArgsUsage: "bash | zsh | fish | powershell",
		Description: "bash: put what is printed into ~/.local/share/bash-completion/completions/pushcue; zsh: into a file _pushcue in a" +
			" folder of $fpath; fish: into ~/.config/fish/completions/pushcue.fish; PowerShell: add it to the file that $PROFILE names.",
		Action: func(c *cli.Context) error {
			var script string
			var err error
			switch c.Args().First() {
			case "bash":
				script = bashCompletion
			case "zsh":
				script = zshCompletion
			case "powershell":
				script = powershellCompletion
			case "fish":
				script, err = c.App.ToFishCompletion()
			default:
				return &usageError{text: "completion takes the name of a shell", hint: "there are: bash, zsh, fish, powershell"}
			}
			if err == nil {
				_, err = fmt.Fprint(c.App.Writer, script)
			}
			return err
		},
	}
}

// manualCommand prints the manual page. It is for scripts/release.
func manualCommand() *cli.Command {
	return &cli.Command{Name: "manual", Usage: "print the manual page", Hidden: true, Action: func(c *cli.Context) error {
		page, err := c.App.ToManWithSection(1)
		if err == nil {
			_, err = fmt.Fprint(c.App.Writer, page)
		}
		return err
	}}
}

// withTopics adds the help topics to the library's template of a manual page.
func withTopics(template string) string {
	var all strings.Builder
	all.WriteString(template)
	for _, t := range topics {
		fmt.Fprintf(&all, "\n\n# %s\n\n```\n%s\n```\n", t.title, t.text)
	}
	return all.String()
}
