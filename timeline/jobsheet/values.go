package jobsheet

import (
	"strings"

	"pushcue/timeline/timecode"
)

// Value is the value in force behind a key, as a correction would give it: text, true
// or false, or a list. nil where there is none, and for a key that isn't one of Keys.
func (s *Sheet) Value(key string) any {
	switch v := s.value(key).(type) {
	case string:
		if v == "" {
			return nil
		}
		return v
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
	default:
		return v
	}
}

func (s *Sheet) value(key string) any {
	word := func(yes bool, no, is string) string {
		if yes {
			return is
		}
		return no
	}
	switch key {
	case "job.reference":
		return s.Job.Reference
	case "job.date":
		if s.Job.Date.IsZero() {
			return nil
		}
		return s.Job.Date.String()
	case "job.zone":
		return s.Job.Zone.String()
	case "job.units":
		return string(s.Job.Units)
	case "job.language":
		return s.Job.Language
	case "job.operator":
		return s.Job.Operator
	case "job.reason":
		return s.Job.Reason
	case "job.weather":
		return s.Job.Weather
	case "job.cleaned":
		return s.Job.Cleaned
	case "job.ended":
		return s.Job.Ended
	case "firm.name":
		return s.Firm.Name
	case "firm.address":
		return s.Firm.Address
	case "firm.phone":
		return s.Firm.Phone
	case "firm.email":
		return s.Firm.Email
	case "firm.licence":
		return s.Firm.Licence
	case "firm.logo":
		return s.Firm.Logo
	case "customer.name":
		return s.Customer.Name
	case "customer.address":
		return s.Customer.Address
	case "customer.phone":
		return s.Customer.Phone
	case "customer.email":
		return s.Customer.Email
	case "site.address":
		return s.Site.Address
	case "site.access":
		return s.Site.Access
	case "line.name":
		return s.Line.Name
	case "line.from":
		return s.Line.From
	case "line.to":
		return s.Line.To
	case "line.travel":
		return s.Line.Travel
	case "line.size":
		return s.Line.Size
	case "line.material":
		return s.Line.Material
	case "log.file":
		return s.Log.File
	case "log.ahead":
		return s.Log.Ahead
	case "log.lag":
		return s.Log.Lag
	case "log.dates":
		return s.Log.Dates
	case "log.decimal":
		if s.Log.Decimal == 0 {
			return nil
		}
		return string(s.Log.Decimal)
	case "log.charset":
		return s.Log.Charset
	case "log.kinds":
		return s.Log.Kinds
	case "recording.files":
		return strings.Join(s.Recording.Files, ", ")
	case "recording.starts":
		if s.Recording.Starts == nil {
			return nil
		}
		return s.Recording.Starts.Text
	case "recording.ahead":
		return s.Recording.Ahead
	case "recording.show_from":
		return s.Recording.ShowFrom
	case "recording.show_to":
		return s.Recording.ShowTo
	case "recording.sound":
		return word(s.Recording.DropSound, "keep", "drop")
	case "distance.readings":
		return s.Distance.Readings
	case "distance.fastest":
		return s.Distance.Fastest.Format("m", '.') + "/s"
	case "distance.zero":
		return s.Distance.Zero.Format(s.Job.Units, '.')
	case "counter.look":
		if s.Counter.Look == "box" {
			return s.Counter.Box
		}
		return s.Counter.Look
	case "counter.unit":
		return string(s.Counter.Unit)
	case "counter.confirmed":
		return s.Counter.Confirmed
	case "stills.window":
		return s.Stills.Window
	case "clips.lead":
		return s.Clips.Lead
	case "clips.tail":
		return s.Clips.Tail
	case "clips.spoken":
		return s.Clips.Spoken
	case "photos.location":
		return word(s.Photos.KeepLocation, "drop", "keep")
	case "captions.strip":
		return s.Captions.Strip
	case "captions.show":
		return s.Captions.Show
	}
	return nil
}
