package fieldlog

import (
	"bytes"
	"context"
	"io"

	"pushcue/timeline/words"
)

// Read reads a log written as text, or a sheet (.xlsx): what it is shows in its
// first bytes. The error is a fault.List where the log can't be used or leaves
// something open that only its writer knows; it then holds every fault of the log.
// Otherwise it is the reader's own error, or the context's.
func Read(ctx context.Context, r io.Reader, o Options) (*Log, error) {
	t, err := load(ctx, r, o)
	if err != nil {
		return nil, err
	}
	return interpret(ctx, t, o)
}

// ReadSheet is Read for a sheet (.xlsx) of size bytes.
func ReadSheet(ctx context.Context, r io.ReaderAt, size int64, o Options) (*Log, error) {
	t, err := loadSheet(ctx, r, size, o, headerScore(o.headerMeanings))
	if err != nil {
		return nil, err
	}
	return interpret(ctx, t, o)
}

// load makes a table of a log in whatever form.
func load(ctx context.Context, r io.Reader, o Options) (*table, error) {
	return loadAs(ctx, r, o, headerScore(o.headerMeanings))
}

// loadAs makes a table of a file whose header row is told by score.
func loadAs(ctx context.Context, r io.Reader, o Options, score scorer) (*table, error) {
	data, err := slurp(ctx, r, o.File)
	if err != nil {
		return nil, err
	}
	if isZip(data) {
		return loadSheet(ctx, bytes.NewReader(data), int64(len(data)), o, score)
	}
	text, charset, guessed, err := decode(data, o)
	if err != nil {
		return nil, err
	}
	t, err := split(ctx, text, o, score)
	if err != nil {
		return nil, err
	}
	t.charset = charset
	if guessed {
		t.notes = append(t.notes, words.Tell(`the log says nothing about its charset and was read as %s; if letters look wrong, name the right one under [log] in job.toml: charset = "…"`, charset))
	}
	return t, nil
}
