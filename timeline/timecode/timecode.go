// Package timecode holds the moments the product works with, each clock a type
// of its own so that the compiler refuses to mix them, and reads and writes
// times the way people and standards write them. Every rounding of a time
// happens here.
//
//	readings, err := timecode.ParseClock("2 Mar 2026, 3:15 pm", "")
//	// one reading: 2026-03-02, 15 h 15 min since midnight, resolution 1 min
//
// It doesn't know the job's date, its zone or the recording's frame times: what a
// written time stands for beyond its own text is settled by its readers.
package timecode

import "time"

// Video is a moment in the joined recording: nanoseconds from the first frame
// shown of the first part. Presentation time, not a frame count.
type Video int64

// Log is a moment on the clock the log was written from, in nanoseconds. A log
// written in times of day counts from 1970-01-01T00:00:00Z with the civil time
// resolved in the job's zone, so that a shift alone turns it into true time. A
// log written in elapsed time counts from its own zero.
type Log int64

// VideoSeconds makes a Video from seconds, to the nearest nanosecond.
func VideoSeconds(s float64) Video { return Video(roundNano(s)) }

// Seconds returns v in seconds.
func (v Video) Seconds() float64 { return float64(v) / 1e9 }

// Add returns the moment d after v.
func (v Video) Add(d time.Duration) Video { return v + Video(d) }

// Sub returns the time from w to v.
func (v Video) Sub(w Video) time.Duration { return time.Duration(v - w) }

// Millis returns v in milliseconds, rounded to the nearest, halves away from zero.
func (v Video) Millis() int64 { return roundTo(int64(v), int64(time.Millisecond)) }

// Centis returns v in hundredths of a second, rounded to the nearest, halves away
// from zero.
func (v Video) Centis() int64 { return roundTo(int64(v), int64(10*time.Millisecond)) }

// FrameMillis returns v, when a frame is shown, in milliseconds for a file that can't
// say it more finely: the last whole one not after v, so that what is to start or end
// on the frame never does so one frame late.
func (v Video) FrameMillis() int64 {
	n, step := int64(v), int64(time.Millisecond)
	if n < 0 {
		return -((-n + step - 1) / step)
	}
	return n / step
}

// LogSeconds makes a Log from seconds, to the nearest nanosecond.
func LogSeconds(s float64) Log { return Log(roundNano(s)) }

// Seconds returns l in seconds.
func (l Log) Seconds() float64 { return float64(l) / 1e9 }

// Add returns the moment d after l.
func (l Log) Add(d time.Duration) Log { return l + Log(d) }

// Sub returns the time from m to l.
func (l Log) Sub(m Log) time.Duration { return time.Duration(l - m) }

// LogAt is the log-clock moment of a civil time already resolved to an instant.
func LogAt(t time.Time) Log { return Log(t.UnixNano()) }

// Time is the instant that a time-of-day log clock showed, in zone.
func (l Log) Time(zone *time.Location) time.Time { return time.Unix(0, int64(l)).In(zone) }

func roundNano(s float64) int64 {
	if s < 0 {
		return -int64(-s*1e9 + 0.5)
	}
	return int64(s*1e9 + 0.5)
}

// roundTo counts the steps in n, to the nearest, halves away from zero.
func roundTo(n, step int64) int64 {
	if n < 0 {
		return -((-n + step/2) / step)
	}
	return (n + step/2) / step
}
