package timeline

import (
	"time"

	"pushcue/timeline/fieldlog"
	"pushcue/timeline/words"
)

// byPerson places a row on the very frame that a person pointed at.
func (r *resolver) byPerson(row *fieldlog.Row) (place, *cause) {
	// What was pointed at is a frame; its time may have lost a last digit on the way.
	const lost = time.Microsecond
	at := row.Seen.Add(lost)
	if at < 0 || at >= r.in.Recording.End {
		return place{}, &cause{words.Tell("a person saw it at %s, but the recording is only %s long", *row.Seen, r.in.Recording.End),
			words.Tell("was a part of the recording taken away? Show the frame again on which it is seen")}
	}
	_, at, _ = r.t.FrameAt(at)
	p := place{at: at, basis: ByPerson, why: []words.Sentence{words.Tell("A person saw it there, at %s.", at.Format(3))}}
	_, _, p.timed = r.logAt(at)
	return p, nil
}
