package review

import (
	"slices"
	"strings"

	"pushcue/timeline/distance"
	"pushcue/timeline/jobsheet"
	"pushcue/timeline/words"
)

// sheetValue is one field of the job sheet.
type sheetValue struct {
	Key     string   `json:"key"`
	Value   any      `json:"value"`
	From    string   `json:"from"` // sheet, person, default
	Type    string   `json:"type"`
	Choices []string `json:"choices"`
	Group   string   `json:"group"`
}

// choicesOf are the words that a field takes, where it takes no others.
func choicesOf(key string) []string {
	switch key {
	case "job.units", "counter.unit":
		return []string{string(distance.Metre), string(distance.Foot)}
	case "job.language":
		return words.Tags()
	case "line.travel":
		return []string{"downstream", "upstream"}
	case "log.dates":
		return []string{"dmy", "mdy", "ymd"}
	case "log.decimal":
		return []string{",", "."}
	case "buyer.positions", "buyer.notes", "buyer.picture":
		return []string{"keep"}
	case "recording.sound", "photos.location", "buyer.as_filmed", "buyer.sound", "buyer.spoken", "buyer.photos":
		return []string{"keep", "drop"}
	case "captions.strip":
		return []string{"above", "below", "over", "none"}
	case "captions.show":
		return []string{"place", "place+label", "all"}
	case "captions.encode":
		return []string{"fast", "small"}
	}
	return nil
}

var typesOf = map[string]string{
	"job.date": "date", "job.zone": "zone", "log.ahead": "duration", "log.lag": "duration", "recording.ahead": "duration",
	"recording.starts": "text", "recording.show_from": "time", "recording.show_to": "time", "distance.zero": "length",
	"counter.confirmed": "flag", "clips.spoken": "flag", "stills.window": "duration", "clips.lead": "duration", "clips.tail": "duration",
}

func sheetOf(v *view) []sheetValue {
	all := []sheetValue{}
	s := v.job.Sheet
	values := s.Values()
	for _, key := range jobsheet.Keys() {
		one := sheetValue{Key: key, Value: values[key], From: "default", Type: typesOf[key], Choices: choicesOf(key)}
		one.Group, _, _ = strings.Cut(key, ".")
		switch {
		case slices.Contains(s.Corrected, key):
			one.From = "person"
		case slices.Contains(s.Given, key):
			one.From = "sheet"
		}
		switch {
		case one.Choices != nil:
			one.Type = "choice"
		case one.Type == "":
			one.Type = "text"
		}
		all = append(all, one)
	}
	return all
}
