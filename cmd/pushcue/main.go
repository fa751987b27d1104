// Command pushcue turns what came home from a camera push into what the customer gets.
//
//	pushcue new jobs/2291-B
//	pushcue check jobs/2291-B
//	pushcue make jobs/2291-B
package main

import (
	"context"
	"errors"
	"io"
	"os"
	"os/signal"
	"time"

	"github.com/urfave/cli/v2"

	"pushcue/internal/desktop"
)

// version is set when a release is built.
var version = "development"

func main() { os.Exit(start()) }

// start runs the program until it's done or interrupted, and tells its exit code.
func start() int {
	time.Local = desktop.Zone()
	ctx, stop := interruptible()
	defer stop()
	return run(ctx, os.Args, os.Stdout, os.Stderr)
}

// interruptible makes a context that the first interrupt ends. From then on the
// system's own handling is back, so that a second one kills at once.
func interruptible() (context.Context, context.CancelFunc) {
	ctx, stop := signal.NotifyContext(context.Background(), stopSignals...)
	context.AfterFunc(ctx, stop)
	return ctx, stop
}

// run is the whole program: the one place that turns an error into words and an
// exit code.
func run(ctx context.Context, argv []string, out, errs io.Writer) int {
	app := newApp(out, errs)
	var err error
	if argv[len(argv)-1] != completionFlag {
		argv, err = inOrder(app, argv)
	}
	if err == nil {
		err = app.RunContext(ctx, argv)
	}
	if ctx.Err() != nil && !errors.Is(err, errEnded) {
		err = errInterrupted // a run that was stopped never looks like success
	}
	return report(err, wantsJSON(argv), out, errs)
}

// completionFlag ends what a shell's completion script asks.
const completionFlag = "--generate-bash-completion"

func init() {
	cli.HelpPrinter = printHelp
	cli.MarkdownDocTemplate = withTopics(cli.MarkdownDocTemplate)
}

func newApp(out, errs io.Writer) *cli.App {
	app := &cli.App{
		Name:                      "pushcue",
		Usage:                     "put the log of a camera push on its recording, and make what the customer gets",
		Description:               "Without a command pushcue opens a page in this computer's browser, where a job folder is chosen or made and looked over. What the exit codes mean: pushcue help exits",
		Version:                   version,
		Writer:                    out,
		ErrWriter:                 errs,
		ExitErrHandler:            func(*cli.Context, error) {}, // run reports
		Action:                    withoutCommand,
		DisableSliceFlagSeparator: true,
		EnableBashCompletion:      true,
		Flags:                     []cli.Flag{cli.HelpFlag},
		Commands: []*cli.Command{
			newCommand(), checkCommand(), makeCommand(), reviewCommand(), copyCommand(), bagCommand(), verifyCommand(),
			doctorCommand(), helpCommand(), completionCommand(), manualCommand(),
		},
	}
	for _, c := range app.Commands {
		c.HideHelpCommand = true
		c.OnUsageError = func(c *cli.Context, err error, _ bool) error {
			return &usageError{text: err.Error(), hint: "see: pushcue " + c.Command.Name + " --help"}
		}
	}
	return app
}
