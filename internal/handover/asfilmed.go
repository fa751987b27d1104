package handover

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"io"
	"os"
	"path"
	"slices"
	"strconv"

	"pushcue/internal/handover/account"
	"pushcue/internal/job"
	"pushcue/internal/safefile"
	"pushcue/internal/shelf"
	"pushcue/internal/trouble"
	"pushcue/timeline"
	"pushcue/timeline/codes"
	"pushcue/timeline/fault"
	"pushcue/timeline/timecode"
	"pushcue/timeline/words"
)

// asFilmed are copies of the recording, byte by byte.
type asFilmed struct {
	*making
	joinsNothing
}

// filmedPart is a part of the recording, copied as it is.
type filmedPart struct {
	source   job.Source
	name     string // in the handover
	key      string
	size     int64
	from, to timecode.Video
	todo     bool
}

// givesAsFilmed reports whether the customer gets the untouched recording: not
// where part of it was left out on purpose, and to a buyer only where somebody wants it.
func (f *asFilmed) givesAsFilmed() bool {
	r := f.job.Sheet.Recording
	if f.opts.For == job.ForBuyer && !f.job.Sheet.Buyer.Keeps("as_filmed") {
		return false
	}
	return r.ShowFrom == nil && r.ShowTo == nil && !r.DropSound
}

// plan names the copies and finds out which are there.
func (f *asFilmed) plan(ctx context.Context) error {
	if !f.givesAsFilmed() {
		return nil
	}
	names := make([]string, len(f.job.Videos))
	for i, v := range f.job.Videos {
		names[i] = job.SourceName(path.Base(v.Name))
	}
	for i, name := range job.Distinct(names) {
		v := f.job.Videos[i]
		p := f.placed.Timeline.Recording.Parts[i]
		info, err := f.job.Stat(v)
		if err != nil {
			return job.UnreadableSource(v, err)
		}
		a := filmedPart{
			source: v, name: path.Join("as-filmed", name), key: shelf.KeyOf("as filmed", f.sourceOf[v.Path]), size: info.Size(),
			from: p.Start, to: p.Start.Add(p.Duration),
		}
		have, err := f.shelf.Has(ctx, a.name, a.key)
		if err != nil {
			return err
		}
		a.todo = !have && f.wants["video"]
		if a.todo {
			f.need += a.size
		}
		f.filmed = append(f.filmed, a)
		if (have || a.todo) && a.size > f.limit() {
			f.warnings = append(f.warnings, timeline.Warning{
				Code: codes.FileLarge, Text: words.Tell("%s is as large as it was filmed, %s: a drive formatted as FAT32 can't hold it", a.name, gigabytes(a.size)),
				Hint: words.Tell("use a drive formatted as exFAT"),
			})
		}
	}
	return nil
}

// finish copies the recording, byte by byte, and compares sums.
func (f *asFilmed) finish(ctx context.Context) error {
	todo := slices.DeleteFunc(slices.Clone(f.filmed), func(a filmedPart) bool { return !a.todo })
	var total, done int64
	for _, a := range todo {
		total += a.size
	}
	if len(todo) > 0 {
		f.progress.Step(words.Tell("copying the recording as filmed"), float64(total))
	}
	for i, a := range todo {
		name := "filmed" + strconv.Itoa(i)
		sum, err := f.copyFile(ctx, a.source, f.shelf.Temp, name, func(n int) {
			done += int64(n)
			f.progress.Advance(float64(done))
		})
		if err != nil {
			return err
		}
		if sum != f.sourceOf[a.source.Path] {
			return fault.Of(fault.Fault{File: a.source.Name, Text: words.Tell("gave other bytes when it was read a second time"), Hint: words.Tell("the disk or the card may be failing: copy the file to another one and try again")})
		}
		if err := f.shelf.Publish(ctx, shelf.Piece{Name: a.name, Key: a.key, Temp: f.shelf.Temp.At(name)}); err != nil {
			return err
		}
	}
	return nil
}

func (f *asFilmed) enter(made *account.Made) {
	for _, a := range f.filmed {
		if f.isThere(a.name) {
			made.AsFilmed = append(made.AsFilmed, account.Film{File: a.name, From: a.from})
		}
	}
}

// copyFile copies a source and returns the sum of what was read.
func (f *asFilmed) copyFile(ctx context.Context, from job.Source, dir *safefile.Folder, name string, read func(int)) (string, error) {
	to := dir.At(name)
	in, err := f.job.Open(from)
	if err != nil {
		return "", job.UnreadableSource(from, err)
	}
	defer in.Close()
	out, err := dir.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_TRUNC, 0o666)
	if err != nil {
		return "", trouble.Writing(to, err)
	}
	defer out.Close()
	h := sha256.New()
	buffer := make([]byte, 1<<20)
	for {
		if err := ctx.Err(); err != nil {
			return "", err
		}
		n, err := in.Read(buffer)
		h.Write(buffer[:n])
		if _, errOut := out.Write(buffer[:n]); errOut != nil {
			return "", trouble.Writing(to, errOut)
		}
		read(n)
		if err == io.EOF {
			break
		}
		if err != nil {
			return "", job.UnreadableSource(from, err)
		}
	}
	if err := out.Sync(); err != nil {
		return "", trouble.Writing(to, err)
	}
	return hex.EncodeToString(h.Sum(nil)), trouble.Writing(to, out.Close())
}
