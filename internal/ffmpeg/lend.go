package ffmpeg

import (
	"errors"
	"fmt"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strconv"
	"strings"

	"pushcue/internal/reach"
	"pushcue/internal/safefile"
	"pushcue/timeline/fault"
	"pushcue/timeline/words"
)

// A child is given open files and folders, not paths: whoever exchanges a file or a folder
// after it was looked at has the child read and write the first one all the same. It
// finds them under plain names in the folder that it runs in. On Linux these are links
// into /proc/self/fd, which open the very file anew (proc(5)). On macOS, where opening
// /dev/fd/N goes on at N's own position, each input has an open file to itself.
//
// On Windows an input keeps its path, which nobody can lead elsewhere while we hold the
// file open (reach.Source.Pin). Where none of this works, an input's path is looked at
// again when the child has ended; an exchange that was undone by then isn't found.
//
// A folder for outputs, and the one that a child runs in, keep their paths elsewhere than on
// Linux. Both were created with rights for this user alone (0700). In the system's folder
// for temporary files no other user can rename them, as long as that is private to the user,
// as on macOS, or has the sticky bit; this isn't looked at. In a job's work folder whoever may
// rename them may exchange what is made of them just as well.

// descriptors is the folder in which a process finds its own open files; "" on Windows.
// Tests change it.
var descriptors = map[string]string{"linux": "/proc/self/fd", "darwin": "/dev/fd", "freebsd": "/dev/fd"}[runtime.GOOS]

// A loan is what a child is given.
type loan struct {
	args    []string
	folder  *safefile.Temp
	discard func() // removes folder where the loan made it
	files   []*os.File
	links   []lentLink
	inputs  []lentInput
}

// A lentLink is a name in the child's folder for one of loan.files.
type lentLink struct {
	name string
	file int
}

type lentInput struct {
	source *reach.Source
	file   *os.File
	byPath bool
}

// lend opens what a process reads and where it writes, and has its arguments say so. Each
// input with a path must be one of the process's sources.
func (p process) lend() (l *loan, err error) {
	l = &loan{args: slices.Clone(p.args), folder: p.folder, discard: func() {}}
	defer func() {
		if err != nil {
			l.close()
		}
	}()
	for _, name := range slices.Sorted(maps.Keys(p.files)) {
		if err := l.file(name, p.files[name]); err != nil {
			return l, err
		}
	}
	for i, arg := range l.args {
		path, isFile := strings.CutPrefix(arg, "file:")
		if !isFile || !filepath.IsAbs(path) {
			continue
		}
		if i > 0 && l.args[i-1] == "-i" {
			err = l.input(i, path, p.sources)
		} else {
			err = l.output(i, path)
		}
		if err != nil {
			return l, err
		}
	}
	return l, nil
}

// file has the child find a file of ours under name.
func (l *loan) file(name, path string) error {
	abs, err := filepath.Abs(path)
	if err != nil {
		return err
	}
	if err := place(l.folder.Folder, name); err != nil {
		return err
	}
	file, err := reach.Ours(abs).Pin()
	if err != nil {
		return err
	}
	l.files = append(l.files, file)
	if !handsOver(file) {
		return l.folder.LinkTo(name, abs)
	}
	l.links = append(l.links, lentLink{name, len(l.files) - 1})
	return nil
}

func (l *loan) input(i int, path string, sources []*reach.Source) error {
	at := slices.IndexFunc(sources, func(s *reach.Source) bool { return s.Path == path })
	if at < 0 {
		return fmt.Errorf("%q is read without having been opened", path)
	}
	file, err := sources[at].Pin()
	if err != nil {
		return ofSource(sources[at], err)
	}
	l.inputs = append(l.inputs, lentInput{sources[at], file, !handsOver(file)})
	l.files = append(l.files, file)
	if l.inputs[len(l.inputs)-1].byPath {
		return nil
	}
	if l.folder == nil {
		folder, discard, err := tempFolder()
		if err != nil {
			return err
		}
		l.folder, l.discard = folder, discard
	}
	name := "input" + strconv.Itoa(i) + plainEnding.FindString(path)
	l.links = append(l.links, lentLink{name, len(l.files) - 1})
	l.args[i] = "file:" + name
	return nil
}

// plainEnding is an ending that goes into the name of an input: where a file's content
// leaves its kind open, ffmpeg goes by that.
var plainEnding = regexp.MustCompile(`\.[A-Za-z0-9]{1,8}$`)

func (l *loan) output(i int, path string) error {
	if l.folder == nil || runtime.GOOS != "linux" {
		return nil
	}
	dir, err := reach.Folder(filepath.Dir(path))
	if err != nil {
		return err
	}
	l.files = append(l.files, dir)
	if !handsOver(dir) {
		return nil
	}
	name := "output" + strconv.Itoa(i)
	l.links = append(l.links, lentLink{name, len(l.files) - 1})
	l.args[i] = "file:" + name + "/" + filepath.Base(path)
	return nil
}

// handsOver reports whether the system shows an open file in descriptors.
func handsOver(f *os.File) bool {
	if descriptors == "" {
		return false
	}
	info, err := f.Stat()
	if err != nil {
		return false
	}
	there, err := os.Stat(filepath.Join(descriptors, strconv.Itoa(int(f.Fd()))))
	return err == nil && os.SameFile(info, there)
}

// give hands the open files over to a command that is about to start.
func (l *loan) give(cmd *exec.Cmd) error {
	const first = 3 // behind standard input, output and error
	if l.folder != nil {
		cmd.Dir = l.folder.Path()
		if dir, err := l.folder.Handle(); err == nil {
			l.files = append(l.files, dir) // stays open until the child has started in it
			if handsOver(dir) && runtime.GOOS == "linux" {
				cmd.Dir = filepath.Join(descriptors, strconv.Itoa(int(dir.Fd())))
			}
		}
	}
	for _, link := range l.links {
		number := first + len(cmd.ExtraFiles)
		cmd.ExtraFiles = append(cmd.ExtraFiles, l.files[link.file])
		if err := l.folder.PointTo(link.name, filepath.Join(descriptors, strconv.Itoa(number))); err != nil {
			return tempTrouble(l.folder.Path(), err)
		}
	}
	return nil
}

// unchanged fails where an input isn't what it was when the child began.
func (l *loan) unchanged() error {
	for _, in := range l.inputs {
		err := in.source.Verify(in.file)
		if err == nil && in.byPath {
			err = in.source.Unchanged()
		}
		if err != nil {
			return ofSource(in.source, err)
		}
	}
	return nil
}

func (l *loan) close() {
	for _, f := range l.files {
		f.Close()
	}
	l.discard()
}

// ofSource makes a fault of why a source can't be opened.
func ofSource(s *reach.Source, err error) error {
	text, hint := words.Tell("can't be opened: %s", reason(err)), words.Tell("see who may read the file, and whether the drive is in")
	var why *reach.Error
	if errors.As(err, &why) {
		text, hint = why.Text, why.Hint
	}
	return &sourceError{fault.List{{File: s.Name, Text: text, Hint: hint}}, err}
}

// A sourceError is a fault of a source with its cause.
type sourceError struct {
	fault.List
	cause error
}

func (e *sourceError) Unwrap() []error { return []error{e.List, e.cause} }
