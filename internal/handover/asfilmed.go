package handover

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"io"
	"os"
	"path"
	"strconv"

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

// asFilmed is a part of the recording, copied as it is.
type asFilmed struct {
	source   job.Source
	name     string // in the handover
	key      string
	size     int64
	from, to timecode.Video
	todo     bool
}

// givesAsFilmed reports whether the customer gets the untouched recording: not
// where part of it was left out on purpose, and to a buyer only where somebody wants it.
func (m *maker) givesAsFilmed() bool {
	r := m.job.Sheet.Recording
	if m.opts.For == job.ForBuyer && !m.job.Sheet.Buyer.Keeps("as_filmed") {
		return false
	}
	return r.ShowFrom == nil && r.ShowTo == nil && !r.DropSound
}

// planAsFilmed names the copies and finds out which are there.
func (m *maker) planAsFilmed(ctx context.Context) error {
	m.asFilmed = nil
	if !m.givesAsFilmed() {
		return nil
	}
	names := make([]string, len(m.job.Videos))
	for i, v := range m.job.Videos {
		names[i] = job.SourceName(path.Base(v.Name))
	}
	for i, name := range job.Distinct(names) {
		v := m.job.Videos[i]
		p := m.placed.Timeline.Recording.Parts[i]
		info, err := m.job.Stat(v)
		if err != nil {
			return job.UnreadableSource(v, err)
		}
		a := asFilmed{
			source: v, name: path.Join("as-filmed", name), key: shelf.KeyOf("as filmed", m.sourceOf[v.Path]), size: info.Size(),
			from: p.Start, to: p.Start.Add(p.Duration),
		}
		have, err := m.folder.Has(ctx, a.name, a.key)
		if err != nil {
			return err
		}
		a.todo = !have && m.wants["video"]
		m.asFilmed = append(m.asFilmed, a)
		if (have || a.todo) && a.size > m.limit() {
			m.warnings = append(m.warnings, timeline.Warning{
				Code: codes.FileLarge, Text: words.Tell("%s is as large as it was filmed, %s: a drive formatted as FAT32 can't hold it", a.name, gigabytes(a.size)),
				Hint: words.Tell("use a drive formatted as exFAT"),
			})
		}
	}
	return nil
}

func (m *maker) asFilmedTodo() []asFilmed {
	var todo []asFilmed
	for _, a := range m.asFilmed {
		if a.todo {
			todo = append(todo, a)
		}
	}
	return todo
}

// copyAsFilmed copies the recording, byte by byte, and compares sums.
func (m *maker) copyAsFilmed(ctx context.Context) error {
	todo := m.asFilmedTodo()
	var total, done int64
	for _, a := range todo {
		total += a.size
	}
	if len(todo) > 0 {
		m.progress.Step(words.Tell("copying the recording as filmed"), float64(total))
	}
	for i, a := range todo {
		name := "filmed" + strconv.Itoa(i)
		sum, err := m.copyFile(ctx, a.source, m.ground.tmp.Folder, name, func(n int) {
			done += int64(n)
			m.progress.Advance(float64(done))
		})
		if err != nil {
			return err
		}
		if sum != m.sourceOf[a.source.Path] {
			return fault.Of(fault.Fault{File: a.source.Name, Text: words.Tell("gave other bytes when it was read a second time"), Hint: words.Tell("the disk or the card may be failing: copy the file to another one and try again")})
		}
		if err := m.folder.Publish(ctx, shelf.Piece{Name: a.name, Key: a.key, Temp: m.ground.tmp.At(name)}); err != nil {
			return err
		}
	}
	return nil
}

// copyFile copies a source and returns the sum of what was read.
func (m *maker) copyFile(ctx context.Context, from job.Source, dir *safefile.Folder, name string, read func(int)) (string, error) {
	to := dir.At(name)
	in, err := m.job.Open(from)
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

// sumSources takes the sums of all sources: what is made depends on them. A note or
// photo that can't be read goes without.
func (m *maker) sumSources(ctx context.Context) error {
	m.sourceOf = map[string]string{}
	var total, done int64
	for _, s := range m.job.Files() {
		if info, err := m.job.Stat(s); err == nil {
			total += info.Size()
		}
	}
	m.progress.Step(words.Tell("taking the sums of the sources"), float64(total))
	needed := len(m.job.Needed())
	for i, s := range m.job.Files() {
		sum, err := m.sums.Sum(ctx, m.job, s, func(n int) {
			done += int64(n)
			m.progress.Advance(float64(done))
		})
		if err != nil && (ctx.Err() != nil || i < needed) {
			return err
		}
		m.sourceOf[s.Path] = sum
	}
	return nil
}
