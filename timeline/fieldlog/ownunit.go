package fieldlog

import "pushcue/timeline/distance"

// OwnUnit is the unit, metres or feet, that a log's distances are written in; "" where
// neither the header nor any row names one, or where rows name different ones.
func (l *Log) OwnUnit() distance.Unit {
	if l == nil {
		return ""
	}
	header := distance.Unit("")
	if at, ok := l.Meaning["distance"]; ok && at < len(l.Header) {
		header, _ = Options{}.unitOf(l.Header[at])
	}
	var own distance.Unit
	for i := range l.Rows {
		d := l.Rows[i].Distance
		if d == nil || header == "" && bareLength(d.Text) {
			continue
		}
		if own != "" && d.Unit != own {
			return ""
		}
		own = d.Unit
	}
	return own
}

// bareLength reports whether a written length names no unit.
func bareLength(text string) bool {
	m, err := distance.Parse(text, distance.ParseOptions{Unit: distance.Metre})
	f, err2 := distance.Parse(text, distance.ParseOptions{Unit: distance.Foot})
	return err != nil || err2 != nil || m[0].Metres != f[0].Metres || m[0].Metres == 0
}
