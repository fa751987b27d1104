package fieldlog

import (
	"context"
	"io"

	"pushcue/timeline/distance"
	"pushcue/timeline/fault"
	"pushcue/timeline/words"
)

// Readings are what a counter showed over the recording, from a file.
type Readings struct {
	File    string
	Dialect Dialect
	Rows    []Reading // those with a length and a time, in the file's order
	Elapsed bool      // its times count from the file's own zero, not from midnight
	Undated bool      // as for a Log
	Faults  fault.List
	Notes   []words.Sentence
}

// A Reading is one of them. It has a time on the log's clock, or the recording's own,
// or both.
type Reading struct {
	Number   int // data rows counted from 1
	Line     int // line or sheet row in the file, from 1
	Time     *Moment
	Video    *VideoTime
	Distance distance.Length
}

// ReadReadings reads a readings file: a time or the recording's time, and the
// distance shown then, in the columns and dialects of a log. What o says of the log's
// charset, decimal mark and header words holds where the file itself doesn't tell.
// Rows that lack either value are left out, and named where something stood there.
func ReadReadings(ctx context.Context, r io.Reader, o Options) (*Readings, error) {
	o.Kinds, o.beside = nil, true
	t, err := load(ctx, r, o)
	if err != nil {
		return nil, err
	}
	log, err := interpret(ctx, t, o)
	if err != nil {
		return nil, err
	}
	rs := &Readings{File: log.File, Dialect: log.Dialect, Elapsed: log.Elapsed, Undated: log.Undated, Faults: log.Faults, Notes: log.Notes}
	if err := log.lacksReadings(); err != nil {
		return nil, err
	}
	for _, row := range log.Rows {
		if row.Distance != nil && (row.Time != nil || row.Video != nil) {
			rs.Rows = append(rs.Rows, Reading{Number: row.Number, Line: row.Line, Time: row.Time, Video: row.Video, Distance: *row.Distance})
		}
	}
	return rs, nil
}

// lacksReadings refuses a file whose rows hold nothing to read.
func (l *Log) lacksReadings() error {
	timed, long := false, false
	for _, row := range l.Rows {
		timed = timed || row.Time != nil || row.Video != nil
		long = long || row.Distance != nil
	}
	if timed && long || len(l.Rows) == 0 {
		return nil
	}
	return append(fault.List{{File: l.File, Text: words.Tell("no row holds a time and a distance"), Hint: words.Tell("a readings file needs the columns video (or time) and distance")}}, l.Faults...)
}
