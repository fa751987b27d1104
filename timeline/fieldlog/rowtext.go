package fieldlog

// Text is a row's value in a column, as it was written or as a person typed it; ""
// where it has none.
func (r *Row) Text(column string) string {
	switch column {
	case "video":
		if r.Seen != nil {
			return r.Seen.Format(3)
		}
		if r.Video != nil {
			return r.Video.Text
		}
	case "time":
		if r.Time != nil {
			return r.Time.Text
		}
	case "distance":
		if r.Distance != nil {
			return r.Distance.Text
		}
	case "to":
		if r.To != nil {
			return r.To.Text
		}
	case "depth":
		if r.Depth != nil {
			return r.Depth.Text
		}
	case "clock":
		if r.Clock != nil {
			return r.Clock.Text
		}
	case "what":
		return r.What.Text
	case "urgency":
		return string(r.Urgency)
	case "note":
		return r.Note
	case "size":
		return r.Size
	}
	return ""
}
