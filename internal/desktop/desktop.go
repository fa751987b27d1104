// Package desktop opens a file or a folder with what this computer uses
// for it, and tells which zone its clock is set to.
package desktop

import (
	"context"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"time"
)

// ErrNone says that this computer opens nothing by itself.
var ErrNone = errors.New("no program for it was found")

// Open hands target over and doesn't wait for it to be closed. target is an absolute
// path and nothing else: an address could hold a secret, and every user of the computer
// can read the command line that it is handed over by. See Lead.
func Open(ctx context.Context, target string) error {
	if !filepath.IsAbs(target) {
		return errors.New("not a whole path")
	}
	name, args := opener(target)
	program, err := exec.LookPath(name)
	if err != nil {
		return ErrNone
	}
	// Its own end mustn't end what it has opened.
	opening := exec.CommandContext(context.WithoutCancel(ctx), program, args...)
	opening.Env = os.Environ()
	if err := opening.Start(); err != nil {
		return err
	}
	ended := make(chan error, 1)
	go func() { ended <- opening.Wait() }()
	select {
	case err := <-ended:
		return err
	case <-time.After(2 * time.Second): // some stay as long as what they opened
		return nil
	case <-ctx.Done():
		return nil
	}
}

func opener(target string) (name string, args []string) {
	switch runtime.GOOS {
	case "windows":
		return "rundll32", []string{"url.dll,FileProtocolHandler", target}
	case "darwin":
		return "open", []string{target}
	}
	return "xdg-open", []string{target}
}
