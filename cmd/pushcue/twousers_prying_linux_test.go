package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
)

// pryingChild holds, in the environment of a second user's process, what it is to try.
const pryingChild = "PUSHCUE_TEST_PRY"

// A try is one way to get at what another user has.
type try struct {
	what, how, at string
	closed        bool // it must not work; else it must, and show no secret
}

// MarshalJSON sends what the second user's process needs of it.
func (t try) MarshalJSON() ([]byte, error) { return json.Marshal([2]string{t.how, t.at}) }

// A got is what came of a try.
type got struct {
	Done bool   // something was read, changed or answered
	Text string // what was read
	Err  string // why not
}

// init lets a test start its own program as the second user.
func init() {
	if os.Getenv(pryingChild) != "" {
		os.Exit(pry())
	}
}

// pry tries everything in the order of the environment and tells what came of it. It
// runs as the second user.
func pry() int {
	var tries [][2]string
	if err := json.Unmarshal([]byte(os.Getenv(pryingChild)), &tries); err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	if os.Geteuid() != secondUser {
		fmt.Fprintln(os.Stderr, "not the second user")
		return 1
	}
	os.Unsetenv(pryingChild)
	all := make([]got, len(tries))
	for i, t := range tries {
		text, err := ways[t[0]](t[1])
		all[i] = got{Done: err == nil, Text: text}
		if err != nil {
			all[i].Err = err.Error()
		}
	}
	if err := json.NewEncoder(os.Stdout).Encode(all); err != nil {
		return 1
	}
	return 0
}

var errNothing = errors.New("nothing there that can be reached")

// ways are what the second user can do.
var ways = map[string]func(at string) (string, error){
	"read": func(pattern string) (text string, err error) {
		return eachOf(pattern, func(path string) (string, error) {
			f, err := os.OpenFile(path, os.O_RDONLY|syscall.O_NONBLOCK, 0)
			if err != nil {
				return "", err
			}
			defer f.Close()
			text, err := io.ReadAll(io.LimitReader(f, 1<<20))
			return string(text), err
		})
	},
	"list": func(path string) (string, error) {
		entries, err := os.ReadDir(path)
		return fmt.Sprint(entries), err
	},
	"write": func(pattern string) (string, error) {
		return eachOf(pattern, func(path string) (string, error) {
			f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|syscall.O_NONBLOCK, 0o666)
			if err != nil {
				return "", err
			}
			_, err = f.WriteString("forged")
			return path, errors.Join(err, f.Close())
		})
	},
	"rename": func(path string) (string, error) { return path, os.Rename(path, path+"-aside") },
	"trace": func(pid string) (string, error) {
		n, _ := strconv.Atoi(pid)
		err := syscall.PtraceAttach(n)
		if err == nil {
			_ = syscall.PtraceDetach(n)
		}
		return "", err
	},
	"kill": func(pid string) (string, error) {
		n, _ := strconv.Atoi(pid)
		return "", syscall.Kill(n, 0) // asks whether it may
	},
	"http": askAsStranger,
	"pushcue": func(job string) (string, error) {
		out, err := exec.Command(os.Args[0], "review", "--no-browser", job).Output()
		return string(out), err
	},
}

// eachOf does something to all that a pattern fits; done is what works once.
func eachOf(pattern string, do func(path string) (string, error)) (string, error) {
	paths, err := filepath.Glob(pattern)
	if err != nil || len(paths) == 0 {
		paths = []string{pattern} // a name that isn't there yet, or can't be seen
		if strings.ContainsAny(pattern, "*") {
			return "", errNothing
		}
	}
	failed, text, done := errNothing, "", false
	for _, path := range paths {
		var info syscall.Stat_t
		if syscall.Lstat(path, &info) == nil && info.Uid == secondUser {
			continue // its own
		}
		one, err := do(path)
		if err != nil {
			failed = err
			continue
		}
		text, done = text+one+"\n", true
	}
	if done {
		return text, nil
	}
	return text, failed
}

// askAsStranger sends a request as it stands: a line, headers, and after an empty line the
// body. The first line is that of the request without its version.
func askAsStranger(request string) (string, error) {
	port := os.Getenv("PUSHCUE_TEST_PORT")
	head, body, _ := strings.Cut(strings.ReplaceAll(request, "PORT", port), "\n\n")
	line, headers, _ := strings.Cut(head, "\n")
	all := line + " HTTP/1.1\n"
	if !strings.Contains("\n"+headers, "\nHost:") {
		all += "Host: 127.0.0.1:" + port + "\n"
	}
	if headers != "" {
		all += headers + "\n"
	}
	if !strings.Contains(headers, "Connection:") {
		all += "Connection: close\n"
	}
	all += fmt.Sprintf("Content-Length: %d\n\n", len(body))
	c, err := net.Dial("tcp", "127.0.0.1:"+port)
	if err != nil {
		return "", err
	}
	defer c.Close()
	if _, err := io.WriteString(c, strings.ReplaceAll(all, "\n", "\r\n")+body); err != nil {
		return "", err
	}
	answer, err := io.ReadAll(io.LimitReader(c, 1<<20))
	var status int
	_, _ = fmt.Sscanf(string(answer), "HTTP/1.1 %d", &status)
	if err == nil && status == 0 {
		err = errNothing
	}
	if err == nil && status >= 300 {
		err = fmt.Errorf("status %d", status)
	}
	return string(answer), err
}
