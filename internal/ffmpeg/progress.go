package ffmpeg

import (
	"bytes"
	"strconv"
	"strings"
	"sync/atomic"
	"time"
)

// tailBytes of what ffmpeg said are kept: its end tells why it failed.
const tailBytes = 8 << 10

// A counter counts signs of life.
type counter = atomic.Int64

// A listener takes ffmpeg's standard error apart: reports of progress, which go
// there too since standard output may carry pictures, and complaints.
type listener struct {
	report    func(Progress)
	complaint func(string) // may be nil
	alive     *counter
	line      []byte
	now       Progress
	tail      []byte
	complain  int // lines of complaint
}

// Write is called by one goroutine.
func (l *listener) Write(b []byte) (int, error) {
	l.alive.Add(1)
	n := len(b)
	for len(b) > 0 {
		end := bytes.IndexByte(b, '\n')
		if end < 0 {
			l.line = append(l.line, b...)
			if len(l.line) > tailBytes { // no line of use is as long
				l.line = l.line[:tailBytes]
			}
			break
		}
		l.line = append(l.line, b[:end]...)
		l.take(strings.TrimRight(string(l.line), "\r"))
		l.line, b = l.line[:0], b[end+1:]
	}
	return n, nil
}

func (l *listener) take(line string) {
	if l.progress(line) {
		return
	}
	if strings.TrimSpace(line) == "" {
		return
	}
	l.complain++
	if l.complaint != nil {
		l.complaint(line)
	}
	l.tail = append(append(l.tail, line...), '\n')
	if over := len(l.tail) - tailBytes; over > 0 {
		l.tail = append(l.tail[:0], l.tail[over:]...)
	}
}

// progress reads one line of a report: key=value, closed by progress=continue or
// progress=end.
func (l *listener) progress(line string) bool {
	key, value, ok := strings.Cut(line, "=")
	if !ok || strings.ContainsAny(key, " \t[") {
		return false
	}
	value = strings.TrimSpace(value)
	switch key {
	case "frame":
		if n, err := strconv.ParseInt(value, 10, 64); err == nil {
			l.now.Frame = n
		}
	case "out_time_us":
		if us, err := strconv.ParseInt(value, 10, 64); err == nil && us > 0 && us < int64(1<<62)/1000 {
			l.now.Time = time.Duration(us) * time.Microsecond
		}
	case "speed":
		l.now.Speed, _ = strconv.ParseFloat(strings.TrimSuffix(value, "x"), 64)
	case "progress":
		l.now.Done = value == "end"
		if l.report != nil {
			l.report(l.now)
		}
	case "fps", "bitrate", "total_size", "out_time_ms", "out_time", "dup_frames", "drop_frames":
	default:
		return strings.HasPrefix(key, "stream_")
	}
	return true
}

func (l *listener) said() string { return strings.TrimSpace(string(l.tail)) }
