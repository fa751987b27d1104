package bag

import (
	"bytes"
	"context"
	"crypto/sha512"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"sort"

	"pushcue/internal/manifest"
	"pushcue/internal/reach"
	"pushcue/internal/safefile"
	"pushcue/timeline/fault"
	"pushcue/timeline/words"
)

// Progress tells how far the work is, in bytes. Writing counts each byte twice:
// once put in, once read back.
type Progress func(step, name string, bytes int64)

// Written is what a finished bag can be told by.
type Written struct {
	Path  string
	Files int
	Bytes int64
	Seal  string // SHA-512 of tagmanifest-sha512.txt: noted elsewhere, it shows even a change of the sums
}

// Write makes a bag of the payload at target, whose ending chooses the form. It
// appears whole or not at all, and only after it was read back and found the same.
// A target that exists is a fault.
func Write(ctx context.Context, target string, payload []File, info Info, progress Progress) (*Written, error) {
	if progress == nil {
		progress = func(string, string, int64) {}
	}
	if err := checkPayload(payload); err != nil {
		return nil, err
	}
	taken := fault.Of(fault.Fault{File: target, Text: words.Tell("a file or folder of this name is there already"), Hint: words.Tell("choose another name with --to, or move the old one away")})
	if _, err := os.Lstat(target); err == nil {
		return nil, taken
	}
	dir, err := safefile.Make(filepath.Dir(target))
	if err != nil {
		return nil, err
	}
	defer dir.Close()
	// The ending must stay, since it tells the form when the bag is read back.
	final := filepath.Base(target)
	part := ".unfinished-" + final
	if err := dir.RemoveAll(part); err != nil {
		return nil, err
	}
	w, err := writeUnproven(ctx, dir, part, bagName(target), payload, info, progress)
	if err == nil {
		err = prove(ctx, dir.At(part), progress)
	}
	if err == nil {
		err = dir.Rename(part, final)
	}
	if err != nil {
		if errors.Is(err, fs.ErrExist) {
			err = taken
		}
		return nil, errors.Join(err, dir.RemoveAll(part))
	}
	w.Path = target
	return w, nil
}

// Unproven is the error when an archive isn't what was written.
type Unproven struct{ Text string }

func (u *Unproven) Error() string { return u.Text }

func prove(ctx context.Context, part string, progress Progress) error {
	report, err := Verify(ctx, part, func(_, name string, n int64) { progress("reading back", name, n) })
	if err == nil && !report.Good() {
		err = &Unproven{"the archive reads back differently from what was written: " + report.Problems()[0]}
	}
	return err
}

// writeUnproven puts everything into a container in an order that needs no going
// back: declaration, payload, then what can only be known after it.
func writeUnproven(ctx context.Context, dir *safefile.Folder, part, name string, payload []File, info Info, progress Progress) (*Written, error) {
	c, err := create(dir, part, name)
	if err != nil {
		return nil, err
	}
	w, err := fill(ctx, c, payload, info, progress)
	if closing := c.close(); err == nil {
		err = closing
	}
	return w, err
}

func fill(ctx context.Context, c container, payload []File, info Info, progress Progress) (*Written, error) {
	files := append([]File(nil), payload...)
	sort.Slice(files, func(i, j int) bool { return files[i].Name < files[j].Name })

	var tags []manifest.Entry
	tag := func(name string, text []byte) error {
		e, err := c.put(ctx, name, bytes.NewReader(text), int64(len(text)), nil)
		tags = append(tags, e)
		return err
	}
	if err := tag(declaration, []byte("BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n")); err != nil {
		return nil, err
	}
	w := &Written{Files: len(files)}
	var list []manifest.Entry
	for _, f := range files {
		e, err := putFile(ctx, c, f, progress)
		if err != nil {
			return nil, err
		}
		w.Bytes += e.Size
		list = append(list, e)
	}
	if err := tag(readMe, explanation(append(slices.Clone(info), Field{"Bagging-Date", now().Format("2006-01-02")}), list)); err != nil {
		return nil, err
	}
	if err := tag(infoName, complete(info, w).text()); err != nil {
		return nil, err
	}
	for _, a := range algorithms {
		if err := tag(manifestName(a), listText(a, list)); err != nil {
			return nil, err
		}
	}
	all := append([]manifest.Entry(nil), tags...) // tag manifests list no tag manifest (RFC 8493 section 2.2.1)
	for _, a := range algorithms {
		text := listText(a, all)
		if err := tag(tagManifestName(a), text); err != nil {
			return nil, err
		}
		if a == manifest.SHA512 {
			w.Seal = seal(text)
		}
	}
	return w, nil
}

func putFile(ctx context.Context, c container, f File, progress Progress) (manifest.Entry, error) {
	if f.Open == nil {
		f.Open = func() (*os.File, error) { return reach.Open(f.Path, reach.AnySize) }
	}
	in, err := f.Open()
	if err != nil {
		return manifest.Entry{}, err
	}
	defer in.Close()
	info, err := in.Stat()
	if err != nil {
		return manifest.Entry{}, err
	}
	return c.put(ctx, payloadDir+f.Name, in, info.Size(), func(n int) { progress("writing", f.Name, int64(n)) })
}

// complete adds what only a finished payload can tell.
func complete(info Info, w *Written) Info {
	return append(append(Info(nil), info...),
		Field{"Bagging-Date", now().Format("2006-01-02")},
		Field{"Payload-Oxum", fmt.Sprintf("%d.%d", w.Bytes, w.Files)},
		Field{"Bag-Software-Agent", agent})
}

func listText(a manifest.Algorithm, list []manifest.Entry) []byte {
	var b bytes.Buffer
	if err := manifest.WriteBagIt(&b, a, list); err != nil {
		panic(err) // every entry was summed with every algorithm, and memory takes all
	}
	return b.Bytes()
}

func seal(tagManifest []byte) string {
	sum := sha512.Sum512(tagManifest)
	return hex.EncodeToString(sum[:])
}
