package ffmpeg

import (
	"bytes"
	"context"
	"errors"
	"io"
	"io/fs"
	"os"
	"strings"
	"unicode/utf8"

	"pushcue/internal/reach"
	"pushcue/timeline/fault"
	"pushcue/timeline/words"
)

// headBytes are enough to tell a text from a recording.
const headBytes = 4096

// Probe asks what a recording holds. One that can't be used is a fault.List.
func (t *Tools) Probe(ctx context.Context, source *reach.Source) (*Media, error) {
	name := source.Name
	head, size, err := look(source, words.Tell("this recording"))
	if err != nil {
		return nil, err
	}
	if isText(head) {
		return nil, refuse(name, words.Tell("this is a text, not a recording; a list that names other files is never followed"),
			words.Tell("put the recordings themselves into the job folder"))
	}
	answer, said, err := t.ask(ctx, source, formats)
	if err := stopped(ctx, err); err != nil {
		return nil, err
	}
	if err != nil {
		if !tellsOfFile(said) { // it may be ffprobe that fails
			if err := t.Check(ctx); err != nil {
				return nil, err
			}
		}
		return nil, unreadable(name, head, said)
	}
	media, err := parseProbe(answer)
	if err != nil {
		if err := t.Check(ctx); err != nil {
			return nil, err
		}
		return nil, refuse(name, words.Of(err), words.Tell("play it in an ordinary player to see what it is"))
	}
	media.Source, media.Size = source, size
	if media.Audio != nil {
		media.Voice, err = t.unpacked(ctx, source, *media.Audio, media.Format)
		if err := stopped(ctx, err); err != nil {
			return nil, err
		}
	}
	return media, nil
}

// ask has ffprobe tell in JSON what a file holds; said is what it complained of.
func (t *Tools) ask(ctx context.Context, source *reach.Source, formats string) (answer []byte, said string, err error) {
	args := append([]string{"-v", "error", "-print_format", "json", "-show_format", "-show_streams"}, whitelisted(source, formats)...)
	var out, complaints bytes.Buffer
	p := process{path: t.FFprobe, args: args, sources: []*reach.Source{source}, stall: t.Patience, stderr: &bounded{&complaints, tailBytes}, stdout: func(r io.Reader) error {
		const most = 8 << 20 // tags may be of any length
		_, err := io.Copy(&out, io.LimitReader(r, most))
		return err
	}}
	err = p.run(ctx)
	if neverRan(err) { // says nothing of the file
		t.forget()
		err = &Error{Text: words.Tell("%s doesn't run: %s", t.FFprobe, err), Hint: installHint(), Stderr: complaints.String(), Err: err}
	}
	return out.Bytes(), complaints.String(), err
}

// stopped returns an error that says nothing of the file: the run was ended by its user, be
// it after its last answer, or see OfItself. nil where there is none.
func stopped(ctx context.Context, err error) error {
	if ctx.Err() != nil {
		return ctx.Err()
	}
	if OfItself(err) {
		return err
	}
	return nil
}

// tellsOfFile reports words of ffprobe that are about the file it was to read, as
// ffmpeg's libraries have them (libavutil/error.c, and the demuxers' own).
func tellsOfFile(said string) bool {
	for _, words := range []string{"Invalid data found", "not on whitelist", "moov atom not found", "Permission denied", "Input/output error", "End of file", "partial file"} {
		if strings.Contains(said, words) {
			return true
		}
	}
	return false
}

// whitelisted are the last arguments of a call of ffprobe.
func whitelisted(source *reach.Source, formats string) []string {
	return []string{"-protocol_whitelist", protocols, "-format_whitelist", formats, "-i", "file:" + source.Path}
}

// look reads a file's beginning and refuses what can't be a recording, or whatever
// else what says that it is.
func look(source *reach.Source, what words.Sentence) (head []byte, size int64, err error) {
	name := source.Name
	f, err := source.Open()
	switch {
	case errors.Is(err, reach.ErrChanged):
		return nil, 0, ofSource(source, err)
	case os.IsNotExist(err):
		return nil, 0, refuse(name, words.Tell("%s isn't there", what), words.Tell("see how the file is named, and write it the same way"))
	case errors.Is(err, reach.ErrNotFile):
		return nil, 0, refuse(name, words.Of(err), words.Tell("name the files one by one"))
	case err != nil:
		return nil, 0, refuse(name, words.Tell("%s can't be opened: %s", what, reason(err)), words.Tell("see who may read the file, and whether the drive is in"))
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return nil, 0, refuse(name, words.Tell("%s can't be read: %s", what, reason(err)), words.Tell("copy it from the recorder again"))
	}
	if info.Size() == 0 {
		return nil, 0, refuse(name, words.Tell("%s is empty: the file has no bytes", what),
			words.Tell("copy it from the recorder again; if it is empty there too, nothing was stored, and it can be left out of the job"))
	}
	head = make([]byte, headBytes)
	n, err := io.ReadFull(f, head)
	if err != nil && n == 0 {
		return nil, 0, refuse(name, words.Tell("%s can't be read: %s", what, reason(err)), words.Tell("copy it from the recorder again"))
	}
	return head[:n], info.Size(), nil
}

// reason is a system's error without the path, which the message has already.
func reason(err error) words.Sentence {
	if errors.Is(err, fs.ErrPermission) {
		return words.Tell("permission denied")
	}
	text := err.Error()
	return words.Plain("%s", strings.TrimSpace(text[strings.LastIndex(text, ": ")+1:]))
}

// isText tells whether a file begins as only a text does.
func isText(head []byte) bool {
	head = bytes.TrimPrefix(head, []byte("\xef\xbb\xbf"))
	if bytes.HasPrefix(head, []byte("\xff\xfe")) || bytes.HasPrefix(head, []byte("\xfe\xff")) {
		return true
	}
	for cut := 0; cut < utf8.UTFMax && len(head) > 0 && !utf8.Valid(head); cut++ {
		head = head[:len(head)-1] // the last letter may be cut
	}
	if !utf8.Valid(head) {
		return false
	}
	return !bytes.ContainsFunc(head, func(r rune) bool { return r < ' ' && !strings.ContainsRune("\t\n\r\f", r) })
}

// unreadable says why ffprobe couldn't read a file.
func unreadable(name string, head []byte, said string) error {
	mov := len(head) >= 12 && bytes.ContainsAny(head[4:5], "fmwsp") &&
		(bytes.Equal(head[4:8], []byte("ftyp")) || bytes.Equal(head[4:8], []byte("mdat")) || bytes.Equal(head[4:8], []byte("wide")) ||
			bytes.Equal(head[4:8], []byte("skip")) || bytes.Equal(head[4:8], []byte("free")) || bytes.Equal(head[4:8], []byte("moov")))
	switch {
	case mov && (strings.Contains(said, "moov atom not found") || strings.Contains(said, "Invalid data")):
		return refuse(name,
			words.Tell("this recording has no index: the recorder writes it last and never came to it (its power went, or the copy stopped early); the pictures may be there, but nothing can find them"),
			words.Tell("keep this file as it is; copy it again if the recorder's is longer; put the card back and switch the recorder on, since many then finish the file; else a repair program may rebuild the index with the help of a good recording from the same recorder"))
	case strings.Contains(said, "not on whitelist"):
		return refuse(name, words.Tell("this kind of file isn't read"),
			words.Tell("recordings are read from MP4, MOV, 3GP, AVI, Matroska, WebM, MPEG transport and program streams, ASF, FLV, DV and MXF"))
	case strings.Contains(said, "Permission denied"):
		return refuse(name, words.Tell("this recording can't be opened: permission denied"), words.Tell("see who may read the file"))
	case strings.Contains(said, "Input/output error"):
		return refuse(name, words.Tell("this recording can't be read: the drive doesn't answer as it should"), words.Tell("copy it from the recorder again"))
	}
	return refuse(name, words.Tell("this is not a recording that can be read, or its beginning is damaged"),
		words.Tell("play it in an ordinary player; copy it from the recorder again if it should play"))
}

func refuse(name string, text, hint words.Sentence) error {
	return fault.Of(fault.Fault{File: name, Text: text, Hint: hint})
}

// errNoPicture and its like are texts, since a file's name is added by the caller.
func noPicture(sound bool) error {
	if sound {
		return words.Errorf("this holds sound and no picture")
	}
	return words.Errorf("there is no picture in this file")
}
