package jobsheet

import (
	"pushcue/timeline/distance"
	"pushcue/timeline/timecode"
)

// Values are the values in force behind all Keys, as corrections would give them:
// text, true or false, or a list; nil where there is none.
func (s *Sheet) Values() map[string]any {
	all := map[string]any{}
	for _, f := range sheetFields() {
		if f.get != nil {
			all[f.path] = s.plain(f.get(s))
		}
	}
	return all
}

// plain writes a value as a person would.
func (s *Sheet) plain(v any) any {
	switch v := v.(type) {
	case string:
		if v == "" {
			return nil
		}
	case []string:
		if len(v) == 0 {
			return nil
		}
	case Date:
		if v.IsZero() {
			return nil
		}
		return v.String()
	case *LogTime:
		if v == nil {
			return nil
		}
		return v.Text
	case *duration:
		if v == nil {
			return nil
		}
		return timecode.FormatSpan(*v)
	case duration:
		return timecode.FormatSpan(v)
	case *video:
		if v == nil {
			return nil
		}
		return v.Format(3)
	case distance.Metres:
		return v.Format(s.Job.Units, '.')
	}
	return v
}
