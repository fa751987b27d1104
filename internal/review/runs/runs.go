// Package runs lets a second pushcue find the one that serves a job's page already.
//
// The one that serves leaves a note in a folder of the user's own, never in the job
// folder: whoever prepared that could send the browser anywhere. A note counts only if it
// is the user's and nobody else can read it, and the program that answers at its port
// must prove that it knows the note's secret.
//
//	forget, err := runs.Note(dir, job, port, secret) // the one that serves
//	page, err := runs.Find(ctx, dir, job)            // the second one; nil: none serves it
package runs

import (
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"io/fs"
	"os"
	"path/filepath"

	"pushcue/internal/safefile"
)

// Path is where a server answers a second pushcue.
const Path = "/api/join"

// A Secret is known to the program that serves and to those who may read its note.
type Secret string

// NewSecret makes one.
func NewSecret() Secret { return Secret(rand.Text()) }

// prove is what only those can work out who know the secret.
func (s Secret) prove(what ...string) string {
	mac := hmac.New(sha256.New, []byte(s))
	text, _ := json.Marshal(what) // so that no two lists of strings give the same bytes
	mac.Write(text)
	return hex.EncodeToString(mac.Sum(nil))
}

// An Ask is what a second pushcue sends to Path.
type Ask struct {
	Nonce string `json:"nonce"`
	Proof string `json:"proof"`
}

// An Answer is the first line that it gets.
type Answer struct {
	Token string `json:"token"` // lets one page in
	Proof string `json:"proof"`
}

// A Used is the second line, once a page came in by the token, or none did in time.
type Used struct {
	Used bool `json:"used"`
}

// Asks reports whether an Ask was made by somebody who knows the secret.
func (s Secret) Asks(a Ask) bool {
	return a.Nonce != "" && hmac.Equal([]byte(a.Proof), []byte(s.prove("ask", a.Nonce)))
}

// Answer answers an Ask.
func (s Secret) Answer(a Ask, token string) Answer {
	return Answer{token, s.prove("answer", a.Nonce, token)}
}

// A note says who serves a job.
type note struct {
	Job    string `json:"job"`
	Port   int    `json:"port"`
	Secret Secret `json:"secret"`
}

// name is that of a job's note.
func name(job string) string {
	sum := sha256.Sum256([]byte(job))
	return hex.EncodeToString(sum[:16]) + ".json"
}

// folderOf is the job's folder whatever path leads to it.
func folderOf(job string) (string, error) {
	abs, err := filepath.Abs(job)
	if err != nil {
		return "", err
	}
	return filepath.EvalSymlinks(abs)
}

// Note leaves a note in dir that this program serves a job's page at a port of
// 127.0.0.1. forget removes it.
func Note(dir, job string, port int, secret Secret) (forget func(), err error) {
	if job, err = folderOf(job); err != nil {
		return nil, err
	}
	folder, err := safefile.MakePrivate(dir)
	if err != nil {
		return nil, err
	}
	defer folder.Close()
	text, err := json.Marshal(note{job, port, secret})
	if err != nil {
		return nil, err
	}
	if err := write(folder, name(job), text); err != nil {
		return nil, err
	}
	return func() { remove(dir, job, secret) }, nil
}

// write gives a file for this user alone its final name once it is whole.
func write(folder *safefile.Folder, final string, text []byte) error {
	temp, err := folder.TempFolder("new-")
	if err != nil {
		return err
	}
	defer temp.Discard()
	f, err := temp.OpenFile(final, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return err
	}
	_, err = f.Write(text)
	if closed := f.Close(); err == nil {
		err = closed
	}
	if err != nil {
		return err
	}
	return temp.Move(final, folder, final)
}

// remove removes a note, unless another program has left its own since.
func remove(dir, job string, secret Secret) {
	folder, err := safefile.Open(dir)
	if err != nil {
		return
	}
	defer folder.Close()
	if n, err := read(folder, job); err == nil && n.Secret == secret {
		_ = folder.Remove(name(job))
	}
}

const mostBytes = 64 << 10

var errNotOurs = errors.New("it isn't this user's alone")

// read returns the note on a job, if it can be trusted.
func read(folder *safefile.Folder, job string) (*note, error) {
	f, err := folder.Open(name(job))
	if err != nil {
		return nil, err
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return nil, err
	}
	if !isOursAlone(info) || info.Size() > mostBytes {
		return nil, errNotOurs
	}
	text := make([]byte, info.Size())
	if _, err := f.ReadAt(text, 0); err != nil {
		return nil, err
	}
	n := &note{}
	if err := json.Unmarshal(text, n); err != nil {
		return nil, err
	}
	if n.Job != job || n.Port < 1 || n.Port > 65535 || n.Secret == "" {
		return nil, fs.ErrInvalid
	}
	return n, nil
}
