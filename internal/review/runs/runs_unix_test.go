//go:build unix

package runs

import (
	"encoding/json"
	"net"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"pushcue/internal/safefile"
)

// noted leaves a note on a job and returns where it lies.
func noted(t *testing.T) (dir, job, path string) {
	t.Helper()
	dir, job = filepath.Join(t.TempDir(), "running"), t.TempDir()
	if _, err := Note(dir, job, 4711, NewSecret()); err != nil {
		t.Fatal(err)
	}
	real, err := folderOf(job)
	if err != nil {
		t.Fatal(err)
	}
	return dir, real, filepath.Join(dir, name(real))
}

func believed(t *testing.T, dir, job string) bool {
	t.Helper()
	folder, err := safefile.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	defer folder.Close()
	n, err := read(folder, job)
	if (n == nil) == (err == nil) {
		t.Errorf("%v, %v", n, err)
	}
	return err == nil
}

func TestANoteIsBelievedOnlyWhereNobodyElseCouldWriteOrReadIt(t *testing.T) {
	rewrite := func(change func(*note)) func(t *testing.T, job, path string) {
		return func(t *testing.T, _, path string) {
			text, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			var n note
			if err := json.Unmarshal(text, &n); err != nil {
				t.Fatal(err)
			}
			change(&n)
			if text, err = json.Marshal(n); err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(path, text, 0o600); err != nil {
				t.Fatal(err)
			}
		}
	}
	for what, spoil := range map[string]func(t *testing.T, job, path string){
		"others can read it":  func(t *testing.T, _, path string) { do(t, os.Chmod(path, 0o604)) },
		"others can write it": func(t *testing.T, _, path string) { do(t, os.Chmod(path, 0o602)) },
		"a group can read it": func(t *testing.T, _, path string) { do(t, os.Chmod(path, 0o640)) },
		"another user's": func(t *testing.T, _, path string) {
			if os.Geteuid() != 0 {
				t.Skip("NOT TRIED: only root can give a file to another user")
			}
			do(t, os.Chown(path, 61002, 61002))
		},
		"a link": func(t *testing.T, _, path string) {
			do(t, os.Rename(path, path+"-aside"))
			do(t, os.Symlink(path+"-aside", path))
		},
		"of another job":    rewrite(func(n *note) { n.Job += "x" }),
		"no port":           rewrite(func(n *note) { n.Port = 0 }),
		"a port that isn't": rewrite(func(n *note) { n.Port = 1 << 16 }),
		"no secret":         rewrite(func(n *note) { n.Secret = "" }),
		"torn":              func(t *testing.T, _, path string) { do(t, os.Truncate(path, 20)) },
		"endless":           func(t *testing.T, _, path string) { do(t, os.Truncate(path, mostBytes+1)) },
		"gone":              func(t *testing.T, _, path string) { do(t, os.Remove(path)) },
	} {
		t.Run(what, func(t *testing.T) {
			dir, job, path := noted(t)
			if !believed(t, dir, job) {
				t.Fatal("our own note isn't believed")
			}
			spoil(t, job, path)
			if believed(t, dir, job) {
				t.Error("it is believed")
			}
			if page, err := Find(t.Context(), dir, job); page != nil || err != nil {
				t.Errorf("somebody is asked: %v, %v", page, err)
			}
		})
	}
}

func do(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

func TestOnlyTheOneWhoLeftANoteTakesItAway(t *testing.T) {
	dir, job, path := noted(t)
	remove(dir, job, NewSecret())
	if _, err := os.Lstat(path); err != nil {
		t.Error("another program's note was removed")
	}
	forget, err := Note(dir, job, 4712, NewSecret()) // a newer one takes its place
	do(t, err)
	forget()
	if _, err := os.Lstat(path); !os.IsNotExist(err) {
		t.Errorf("it stays: %v", err)
	}
	if info, err := os.Stat(dir); err != nil || info.Mode().Perm() != 0o700 {
		t.Errorf("others can look into the folder: %v, %v", info, err)
	}
}

// A program that was killed leaves its note, and another one may have its port since.
func TestAPortWithoutOurProgramIsNobody(t *testing.T) {
	dir, job := filepath.Join(t.TempDir(), "running"), t.TempDir()
	l, err := net.Listen("tcp4", "127.0.0.1:0")
	do(t, err)
	port := l.Addr().(*net.TCPAddr).Port
	_, err = Note(dir, job, port, NewSecret())
	do(t, err)
	go func() {
		c, err := l.Accept()
		if err != nil {
			return
		}
		defer c.Close()
		_, _ = c.Read(make([]byte, 4096))
		_, _ = c.Write([]byte("HTTP/1.1 200 OK\r\nContent-Length: 32\r\n\r\n" + strings.Repeat(" ", 13) + `{"token":"stolen"} `))
	}()
	if page, err := Find(t.Context(), dir, job); page != nil || err != nil {
		t.Errorf("a stranger is believed: %v, %v", page, err)
	}
	do(t, l.Close())
	if page, err := Find(t.Context(), dir, job); page != nil || err != nil {
		t.Errorf("nobody is believed: %v, %v", page, err)
	}
}
