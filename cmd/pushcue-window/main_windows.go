// Command pushcue-window opens pushcue's review page without a console window: it is what
// a person double-clicks. It runs the pushcue.exe beside it and shows its errors. The program ends a few minutes after its last page was closed.
package main

import (
	"io"
	"os"
	"path/filepath"
	"strings"
	"syscall"

	"golang.org/x/sys/windows"
)

func main() {
	text, code := review()
	show(text)
	os.Exit(code)
}

// review runs pushcue, shows what it says while it runs, and returns what it said last
// and its exit code.
func review() (text string, code int) {
	self, err := os.Executable()
	if err != nil {
		return err.Error(), 1
	}
	program := filepath.Join(filepath.Dir(self), "pushcue.exe")
	read, write, err := os.Pipe()
	if err != nil {
		return err.Error(), 1
	}
	defer read.Close()
	nothing, err := os.OpenFile(os.DevNull, os.O_RDWR, 0)
	if err != nil {
		return err.Error(), 1
	}
	defer nothing.Close()
	process, err := os.StartProcess(program, []string{program, "review", "--until-closed", "--quiet"}, &os.ProcAttr{
		Files: []*os.File{nothing, nothing, write},
		Sys:   &syscall.SysProcAttr{HideWindow: true, CreationFlags: windows.CREATE_NO_WINDOW},
	})
	write.Close()
	if err != nil {
		return "pushcue.exe belongs into the same folder as this program, and can't be started there: " + err.Error() + "\n\nUnpack the whole archive, and start the program there.", 1
	}
	text = showAll(read)
	state, err := process.Wait()
	if err != nil {
		return err.Error(), 1
	}
	return text, state.ExitCode()
}

// showAll shows each message when it comes. An error is the last thing that pushcue says:
// it is returned whole.
func showAll(from io.Reader) string {
	chunk := make([]byte, 4096)
	for {
		n, err := from.Read(chunk)
		text := string(chunk[:n])
		if strings.HasPrefix(text, "error:") {
			rest, _ := io.ReadAll(from)
			return text + string(rest)
		}
		show(text)
		if err != nil {
			return ""
		}
	}
}

func show(text string) {
	if text = strings.TrimSpace(text); text == "" {
		return
	}
	body, err := windows.UTF16PtrFromString(strings.ReplaceAll(text, "\x00", ""))
	title, titleErr := windows.UTF16PtrFromString("pushcue")
	if err == nil && titleErr == nil {
		_, _ = windows.MessageBox(0, body, title, windows.MB_OK|windows.MB_ICONERROR)
	}
}
