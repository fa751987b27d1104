package main

import (
	"fmt"
	"strings"

	"pushcue/timeline/words"
)

// incompletePushes are ways in which a push can be incomplete, one a case; the last ones
// join several.
var incompletePushes = []incomplete{
	{name: "no-log", what: "the recording alone", whole: true},
	{name: "no-log-counter", what: "no log; the counter was read off the picture", counter: "0:0 90:15"},
	{name: "no-log-file-time", what: "no log; the file says when it was filmed", began: "2026-03-02T10:00:00Z"},
	{name: "no-log-buyer", what: "no log, for a buyer", buyer: true,
		sheet: "[customer]\nname = \"Quintela household\"\nphone = \"000 111\"\n[site]\naddress = \"3 Noria Lane\"\naccess = \"key under the pot\"\n"},
	{name: "empty-log", what: "a log with a header and no rows", log: "time,distance,what\n"},
	{name: "all-set-aside", what: "a person set every row aside", sheet: starts, log: "time,distance,what,urgency\n10:00:20,3.0,roots,repair\n",
		edits: `{"id":"1","time":"2026-03-02T12:00:00Z","author":"R. Almada","what":"aside","row":1}` + "\n"},
	{name: "one-set-aside", what: "a person set one of two rows aside", sheet: starts, log: "time,distance,what,urgency\n10:00:20,3.0,roots,repair\n10:00:40,6.0,bend,\n",
		edits: `{"id":"1","time":"2026-03-02T12:00:00Z","author":"R. Almada","what":"aside","row":1}` + "\n"},
	{name: "added-without-log", what: "no log; a person added an observation on the review page",
		edits: `{"id":"1","time":"2026-03-02T12:00:00Z","author":"R. Almada","what":"add","video_s":30,"values":{"what":"crack"}}` + "\n"},
	{name: "moved-by-person", what: "a person showed where a row was seen", sheet: starts, log: "time,distance,what,urgency\n10:00:20,3.0,roots,repair\n",
		edits: `{"id":"1","time":"2026-03-02T12:00:00Z","author":"R. Almada","what":"seen","row":1,"video_s":33}` + "\n"},
	{name: "sound-parts-only", what: "only parts of a sound line were noted", sheet: starts, log: "time,distance,what,note\n10:00:01,0,line start,\n10:00:40,6.0,connection,from the bath\n10:01:30,12.0,line end,\n"},
	{name: "urgency-none", what: "a defect with urgency none", sheet: starts, log: "time,distance,what,urgency\n10:00:20,3.0,crack,none\n"},
	{name: "urgency-empty", what: "a defect without urgency", sheet: starts, log: "time,distance,what,urgency\n10:00:20,3.0,crack,\n"},
	{name: "urgency-unreadable", what: "an urgency that isn't known, at a connection", sheet: starts, log: "time,distance,what,urgency\n10:00:20,3.0,connection,ergent\n10:00:40,5.0,bend,none\n"},
	{name: "fault-in-note", what: "the fault stands only in a note", sheet: starts, log: "time,distance,what,note\n10:00:20,3.0,connection,cracks all round it\n"},
	{name: "unknown-kind", what: "a word for what was seen that isn't known", sheet: starts, log: "time,distance,what\n10:00:20,3.0,odd stain\n10:00:40,6.0,bend\n"},
	{name: "remark-only", what: "a remark alone", sheet: starts, log: "time,distance,what,note\n10:00:20,3.0,remark,something hangs down\n"},
	{name: "no-what", what: "rows that don't say what was seen", sheet: starts, log: "time,distance,note\n10:00:20,3.0,look here\n10:00:40,6.0,\n"},
	{name: "could-go-no-further", what: "the camera could go no further, and nothing else was noted", sheet: starts, log: "time,distance,what,note\n10:01:30,12.0,could go no further,\n"},
	{name: "stopped-by-roots", what: "roots stopped the camera; the sheet says so", sheet: starts, job: "ended = \"roots stopped the camera at 12.0 m\"\n", log: "time,distance,what,urgency,note\n10:01:28,12.0,roots,repair,half the bore\n10:01:30,12.0,could go no further,,roots\n"},
	{name: "unplaced-one", what: "a row without time and distance", sheet: starts, log: "time,distance,what,urgency\n10:00:20,3.0,roots,repair\n,,grease,watch\n"},
	{name: "unplaced-danger", what: "a collapse and a hole without a place", sheet: starts, log: "time,distance,what,urgency,note\n10:00:20,3.0,grease,watch,\n,14.0,collapse,at once,\n,,hole,repair,beyond the bend\n"},
	{name: "unplaced-all-no-clock", what: "times in the log, and nothing that ties them to the recording", log: "time,distance,what,urgency\n10:00:20,3.0,roots,repair\n10:00:40,6.0,bend,\n"},
	{name: "other-day", what: "a log of another day", sheet: starts, log: "date,time,distance,what,urgency\n2026-02-14,10:00:20,3.0,roots,repair\n2026-02-14,10:00:40,6.0,crack,watch\n"},
	{name: "cut-off-log", what: "the last row of the log is cut off", sheet: starts, log: "time,distance,what,urgency\n10:00:20,3.0,roots,repair\n10:00:40,6."},
	{name: "unreadable-cells", what: "cells that can't be read", sheet: starts, log: "time,distance,what,clock\n10:00:20,thr3e,roots,9-3\n10:00:40,6.0,crack,seven\n"},
	{name: "crossing", what: "a suspected crossing utility with urgency none", whole: true, sheet: starts, log: "time,distance,what,urgency\n10:00:20,3.0,roots,at once\n10:00:40,6.0,cross bore,none\n"},
	{name: "collapse-no-urgency", what: "a collapse without urgency", sheet: starts, log: "time,distance,what,urgency\n10:00:20,3.0,collapse,\n"},
	{name: "counter-unconfirmed", what: "a counter in the picture that nobody confirmed", sheet: starts, counter: "0:0 90:15", log: "time,distance,what,urgency\n10:00:20,,roots,repair\n10:00:42,7.0,crack,\n"},
	{name: "counter-confirmed", what: "a confirmed counter, no taped length", sheet: starts + confirmed, counter: "0:0 90:15", log: "time,distance,what,urgency\n10:00:20,,roots,repair\n"},
	{name: "counter-taped", what: "a confirmed counter, zero and a taped length", sheet: starts + confirmed + "[distance]\nzero = \"0.4 m\"\n[[distance.taped]]\ncounter = \"10.4 m\"\nlength = \"9.8 m\"\n",
		counter: "0:0 90:15", log: "time,distance,what,urgency\n10:00:20,3.4,roots,repair\n10:01:20,13.2,crack,watch\n"},
	{name: "counter-starts-late", what: "the counter starts at 8.2 m", sheet: starts + confirmed, counter: "0:8.2 90:15", log: "time,distance,what\n10:00:20,9.7,roots\n"},
	{name: "counter-reset", what: "the counter was set anew on the way, and nobody said where", sheet: starts + confirmed, counter: "0:0 60:10 61:0 110:8", log: "time,distance,what\n10:00:20,3.4,roots\n10:01:30,5.0,crack\n"},
	{name: "counter-gap", what: "the counter wasn't read over a long stretch", sheet: starts + confirmed, counter: "0:0 20:3", readings: "video,distance\n1:30,15\n1:31,15.1\n", log: "time,distance,what\n10:00:55,,roots\n10:01:50,,crack\n"},
	{name: "beyond-the-counter", what: "a distance beyond what the counter showed", sheet: starts + confirmed, counter: "0:0 90:15", log: "time,distance,what,urgency\n10:00:20,3.3,crack,watch\n10:00:50,80.0,roots,repair\n"},
	{name: "distance-disagrees", what: "the log's distance isn't what the counter showed then", sheet: starts + confirmed, counter: "0:0 90:15", log: "time,distance,what,urgency\n10:00:20,9.0,roots,repair\n"},
	{name: "several-passes", what: "a distance alone, at which the camera was three times", sheet: confirmed, counter: "0:0 40:10 60:2 90:12 110:0", log: "distance,what,urgency\n5.0,roots,repair\n"},
	{name: "never-there", what: "a distance alone, at which the camera never was", sheet: confirmed, counter: "0:0 90:15", log: "distance,what,urgency\n22.0,roots,repair\n"},
	{name: "readings-file", what: "a file of readings, distances alone", readings: "video,distance\n0:00,0\n0:30,5\n1:00,10\n1:30,15\n", log: "distance,what,urgency\n5.0,roots,repair\n12.0,belly,watch\n"},
	{name: "weak-clock", what: "only the file's time ties the log", began: "2026-03-02T10:00:00Z", log: "time,distance,what,urgency\n10:00:20,3.0,roots,repair\n"},
	{name: "weak-clock-ahead", what: "only the file's time, and the sheet says how far the recorder's clock was ahead", sheet: "[recording]\nahead = \"1h\"\n", began: "2026-03-02T11:00:00Z", log: "time,distance,what,urgency\n10:00:20,3.0,roots,repair\n"},
	{name: "recorder-clock-shown", what: "the recorder's clock in the picture, an hour behind; the log's clock is 1 min 35 s ahead", sheet: starts + "[log]\nahead = \"1m35s\"\n", clock: "2026-03-02 08:58:25", log: "time,distance,what,urgency\n10:00:20,3.0,roots,repair\n"},
	{name: "elapsed-log", what: "a log of elapsed times, tied by an anchor; the day only from the file", sheet: "[[anchor]]\nlog = \"0:00:20\"\nvideo = \"25\"\n", began: "2026-03-02T10:00:00Z", log: "elapsed,distance,what,urgency\n0:00:20,3.0,roots,repair\n0:00:50,5.0,crack,watch\n"},
	{name: "minutes-only", what: "the start is known to the minute only", sheet: "[recording]\nstarts = \"10:00\"\n", log: "time,distance,what,urgency\n10:01,3.0,roots,repair\n10:02,5.0,crack,watch\n"},
	{name: "anchors", what: "two anchors", sheet: "[[anchor]]\nlog = \"10:00:20\"\nvideo = \"20\"\n[[anchor]]\nlog = \"10:01:30\"\nvideo = \"90\"\n", log: "time,distance,what,urgency\n10:00:25,3.0,roots,repair\n"},
	{name: "video-times", what: "the log has the recording's own times, and no clock", log: "video,distance,what,urgency\n0:20,3.0,roots,repair\n1:10,6.5,crack,watch\n"},
	{name: "undated", what: "no date anywhere", undated: true, log: "video,what\n0:20,roots\n"},
	{name: "under-water", what: "nothing could be seen below the water", sheet: starts + confirmed, counter: "0:0 90:15", log: "time,distance,to,what,urgency,note\n10:00:20,3.3,5.5,standing water,watch,a third of the pipe\n10:00:45,7.5,,belly,repair,\n"},
	{name: "hidden-rows", what: "rows outside what the customer is shown", sheet: "[recording]\nstarts = \"10:00:00\"\nshow_from = \"0:30\"\nshow_to = \"1:00\"\n", log: "time,distance,what,urgency\n10:00:20,3.0,roots,repair\n10:00:40,6.0,crack,watch\n10:01:20,9.0,hole,at once\n"},
	{name: "damaged-recording", what: "the recording is damaged", sheet: starts, damage: "it breaks off", log: "time,distance,what,urgency\n10:00:20,3.0,roots,repair\n"},
	{name: "untied-part", what: "two parts, one of which nothing ties", sheet: "[[anchor]]\nlog = \"10:00:20\"\nvideo = \"20\"\n", parts: []float64{60, 60}, log: "time,distance,what,urgency\n10:00:25,3.0,roots,repair\n10:20:00,6.0,crack,watch\n"},
	{name: "feet", what: "a job in feet, a stretch", job: "units = \"ft\"\n", sheet: starts + "[captions]\nshow = \"place+label\"\n", log: "time,distance (ft),to (ft),what,urgency\n10:00:20,40.5,44,roots,repair\n"},
	{name: "long-note", what: "a note too long for a cue", sheet: starts, log: "time,distance,what,urgency,note\n10:00:20,3.0,roots,repair," + longNote + "\n10:00:23,3.2,crack,watch,\n"},
	{name: "quick", what: "no captioned video and no excerpts", quick: true, sheet: starts, log: "time,distance,what,urgency\n10:00:20,3.0,roots,repair\n"},
	{name: "buyer", what: "for a buyer", buyer: true, sheet: starts + "[customer]\nname = \"Quintela household\"\n[site]\naddress = \"3 Noria Lane\"\naccess = \"key under the pot\"\n", log: "time,distance,what,urgency\n10:00:20,3.0,roots,repair\n"},
	{name: "every-kind", what: "each kind once, without urgency", sheet: starts, log: everyKind()},
	{name: "visit-before-after", what: "before and after jetting, the second without a log", sheet: starts, log: "time,distance,what,urgency\n10:00:20,3.0,roots,repair\n10:00:40,6.0,grease,watch\n",
		second: &incomplete{name: "second", counter: "0:0 90:15"}},
}

const (
	starts    = "[recording]\nstarts = \"10:00:00\"\n"
	confirmed = "[counter]\nconfirmed = true\n"
	longNote  = "the roots come through the crown joint and reach down to the flow and have caught paper and wipes over about half a metre so that water stands behind them whenever the kitchen is used"
)

// everyKind is a log with each kind once, two of them with clock positions.
func everyKind() string {
	var b strings.Builder
	b.WriteString("time,distance,what,clock\n")
	for i, kind := range words.Kinds() {
		fmt.Fprintf(&b, "10:%02d:%02d,%d.0,%s,%s\n", i*3/60, i*3%60, i, kind, []string{"9-3", "3", ""}[min(i, 2)])
	}
	return b.String()
}
