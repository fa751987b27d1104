// Package seal signs what we keep in a job's work folder with a key of this user, so that
// a stranger's claims there are told from ours.
package seal

import (
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"io/fs"
	"path/filepath"
	"strings"
	"sync"

	"pushcue/internal/safefile"
)

// KeyName is the file in the user's settings folder with the key of a Seal. A firm
// whose computers work on the same job folders gives all of them the same file.
const KeyName = "work.key"

const (
	KeyBytes     = 32
	keyFileBytes = 4 << 10
)

// A Seal tells what we wrote into a work folder from what somebody else put there. What
// only spares reading a file again (its size and time are as they were) counts with our
// seal alone; without one it's worked out anew. A seal binds what it stands under, not
// the folder: who has one of our work folders may put its lines into another one.
type Seal []byte

var (
	SealsGuard sync.Mutex
	Seals      = map[[2]string]Seal{} // by settings folder and key file
)

// Of is the seal of this user, whose key is made at first use: in the file named key,
// or, where that can't be used or is "", in the settings. Where there are no settings, or
// no key can be kept in them, it lasts as long as the program runs.
func Of(settings, key string) Seal {
	SealsGuard.Lock()
	defer SealsGuard.Unlock()
	s, known := Seals[[2]string{settings, key}]
	if !known {
		var err error
		if s, err = sharedSeal(key); err != nil {
			s, err = keptSeal(settings)
		}
		if err != nil {
			s = make([]byte, KeyBytes)
			_, _ = rand.Read(s) // never fails
		}
		Seals[[2]string{settings, key}] = s
	}
	return s
}

// sharedSeal is that of a key file which several computers may use. Its folder isn't
// created: where it is missing, the drive that holds it isn't there.
func sharedSeal(key string) (Seal, error) {
	if key == "" {
		return nil, fs.ErrNotExist
	}
	dir, err := safefile.Open(filepath.Dir(key))
	if err != nil {
		return nil, err
	}
	defer dir.Close()
	return sealIn(dir, filepath.Base(key))
}

var errNoKey = errors.New("it holds no key")

func keptSeal(settings string) (Seal, error) {
	if settings == "" {
		return nil, fs.ErrNotExist
	}
	settings, err := filepath.Abs(settings)
	if err != nil {
		return nil, err
	}
	dir, err := safefile.MakePrivate(settings)
	if err != nil {
		return nil, err
	}
	defer dir.Close()
	return sealIn(dir, KeyName)
}

// sealIn is that of a key file, which it makes where there is none.
func sealIn(dir *safefile.Folder, name string) (Seal, error) {
	text, err := dir.ReadFile(name, keyFileBytes)
	if errors.Is(err, fs.ErrNotExist) {
		key := make([]byte, KeyBytes)
		_, _ = rand.Read(key) // never fails
		err = dir.CreatePrivate(name, []byte(hex.EncodeToString(key)+"\n"))
		if err == nil || errors.Is(err, fs.ErrExist) { // another program was first
			text, err = dir.ReadFile(name, keyFileBytes)
		}
	}
	if err != nil {
		return nil, err
	}
	key, err := hex.DecodeString(strings.TrimSpace(string(text)))
	if err != nil || len(key) < KeyBytes {
		return nil, errNoKey
	}
	return key, nil
}

// Over is the seal over what is claimed: HMAC-SHA-256 (RFC 2104), in hexadecimal.
func (s Seal) Over(claim ...any) string {
	h := hmac.New(sha256.New, s)
	if err := json.NewEncoder(h).Encode(claim); err != nil {
		panic(err) // only our own plain values go in
	}
	return hex.EncodeToString(h.Sum(nil))
}

// Holds reports whether mac is the seal over what is claimed.
func (s Seal) Holds(mac string, claim ...any) bool {
	return hmac.Equal([]byte(mac), []byte(s.Over(claim...)))
}
