package jobsheet

import (
	"pushcue/timeline/distance"
)

// sheetFields is every key a sheet may hold. [log] stands before the tables whose
// times are read in its date order.
func sheetFields() []field[Sheet] {
	return []field[Sheet]{
		{"job.reference", ofVisit, text(func(s *Sheet) *string { return &s.Job.Reference })},
		{"job.date", ofVisit, parsed(value.date, func(s *Sheet) *Date { return &s.Job.Date })},
		{"job.zone", anywhere, at(setZone, func(s *Sheet) any { return s.Job.Zone.String() })},
		{"job.units", anywhere, choice(func(s *Sheet) *distance.Unit { return &s.Job.Units }, distance.Metre, distance.Foot)},
		{"job.language", anywhere, at(setLanguage, func(s *Sheet) any { return s.Job.Language })},
		{"job.operator", ofVisit, text(func(s *Sheet) *string { return &s.Job.Operator })},
		{"job.reason", ofVisit, text(func(s *Sheet) *string { return &s.Job.Reason })},
		{"job.weather", ofVisit, text(func(s *Sheet) *string { return &s.Job.Weather })},
		{"job.cleaned", ofVisit, text(func(s *Sheet) *string { return &s.Job.Cleaned })},
		{"job.ended", inJob, text(func(s *Sheet) *string { return &s.Job.Ended })},

		{"firm.name", anywhere, text(func(s *Sheet) *string { return &s.Firm.Name })},
		{"firm.address", anywhere, text(func(s *Sheet) *string { return &s.Firm.Address })},
		{"firm.phone", anywhere, text(func(s *Sheet) *string { return &s.Firm.Phone })},
		{"firm.email", anywhere, text(func(s *Sheet) *string { return &s.Firm.Email })},
		{"firm.licence", anywhere, text(func(s *Sheet) *string { return &s.Firm.Licence })},
		{"firm.logo", anywhere, at(setLogo, func(s *Sheet) any { return s.Firm.Logo })},

		{"customer.name", ofVisit, text(func(s *Sheet) *string { return &s.Customer.Name })},
		{"customer.address", ofVisit, text(func(s *Sheet) *string { return &s.Customer.Address })},
		{"customer.phone", ofVisit, text(func(s *Sheet) *string { return &s.Customer.Phone })},
		{"customer.email", ofVisit, text(func(s *Sheet) *string { return &s.Customer.Email })},

		{"site.address", ofVisit, text(func(s *Sheet) *string { return &s.Site.Address })},
		{"site.access", ofVisit, text(func(s *Sheet) *string { return &s.Site.Access })},

		{"line.name", inJob, text(func(s *Sheet) *string { return &s.Line.Name })},
		{"line.from", inJob, text(func(s *Sheet) *string { return &s.Line.From })},
		{"line.to", inJob, text(func(s *Sheet) *string { return &s.Line.To })},
		{"line.travel", inJob, choice(func(s *Sheet) *string { return &s.Line.Travel }, "downstream", "upstream")},
		{"line.size", inJob, text(func(s *Sheet) *string { return &s.Line.Size })},
		{"line.material", inJob, text(func(s *Sheet) *string { return &s.Line.Material })},

		{"log.file", inJob, parsed(value.filePath, func(s *Sheet) *string { return &s.Log.File })},
		{"log.ahead", ofVisit, optional(value.span, func(s *Sheet) **duration { return &s.Log.Ahead })},
		{"log.lag", anywhere, between(func(s *Sheet) *duration { return &s.Log.Lag }, 0, longLag)},
		{"log.dates", anywhere, choice(func(s *Sheet) *string { return &s.Log.Dates }, "dmy", "mdy", "ymd")},
		{"log.decimal", anywhere, at(setDecimal, decimalMark)},
		{"log.charset", anywhere, text(func(s *Sheet) *string { return &s.Log.Charset })},
		{"log.kinds", anywhere, at(setKinds, func(s *Sheet) any { return s.Log.Kinds })},
		{"log.columns", anywhere, slot[Sheet]{set: setColumns}},

		{"recording.files", inJob, at(setFiles, func(s *Sheet) any { return s.Recording.Files })},
		{"recording.starts", inJob, at(setStarts, func(s *Sheet) any { return s.Recording.Starts })},
		{"recording.ahead", ofVisit, optional(value.span, func(s *Sheet) **duration { return &s.Recording.Ahead })},
		{"recording.show_from", inJob, optional(videoTime, func(s *Sheet) **video { return &s.Recording.ShowFrom })},
		{"recording.show_to", inJob, optional(videoTime, func(s *Sheet) **video { return &s.Recording.ShowTo })},
		{"recording.sound", anywhere, either(func(s *Sheet) *bool { return &s.Recording.DropSound }, "keep", "drop")},

		{"anchor", inJob, each(anchorFields, addAnchor)},

		{"distance.readings", inJob, parsed(value.filePath, func(s *Sheet) *string { return &s.Distance.Readings })},
		{"distance.fastest", anywhere, at(setFastest, func(s *Sheet) any { return s.Distance.Fastest.Format(distance.Metre, '.') + "/s" })},
		{"distance.zero", inJob, parsed(value.length, func(s *Sheet) *distance.Metres { return &s.Distance.Zero })},
		{"distance.taped", inJob, each(tapedFields, addTaped)},
		{"distance.reset", inJob, each(resetFields, addReset)},

		{"counter.look", anywhere, at(setLook, whereToLook)},
		{"counter.unit", anywhere, choice(func(s *Sheet) *distance.Unit { return &s.Counter.Unit }, distance.Metre, distance.Foot)},
		{"counter.confirmed", inJob, flag(func(s *Sheet) *bool { return &s.Counter.Confirmed })},

		{"stills.window", anywhere, between(func(s *Sheet) *duration { return &s.Stills.Window }, 0, longWindow)},
		{"clips.lead", anywhere, between(func(s *Sheet) *duration { return &s.Clips.Lead }, 0, longClip)},
		{"clips.tail", anywhere, between(func(s *Sheet) *duration { return &s.Clips.Tail }, 0, longClip)},
		{"clips.spoken", anywhere, flag(func(s *Sheet) *bool { return &s.Clips.Spoken })},
		{"photos.location", anywhere, either(func(s *Sheet) *bool { return &s.Photos.KeepLocation }, "drop", "keep")},
		{"buyer.as_filmed", anywhere, choice(func(s *Sheet) *string { return &s.Buyer.AsFilmed }, "drop", "keep")},
		{"buyer.sound", anywhere, choice(func(s *Sheet) *string { return &s.Buyer.Sound }, "drop", "keep")},
		{"buyer.spoken", ofVisit, choice(func(s *Sheet) *string { return &s.Buyer.Spoken }, "drop", "keep")},
		{"buyer.photos", ofVisit, choice(func(s *Sheet) *string { return &s.Buyer.Photos }, "drop", "keep")},
		{"buyer.positions", ofVisit, choice(func(s *Sheet) *string { return &s.Buyer.Positions }, "keep")},
		{"buyer.notes", ofVisit, choice(func(s *Sheet) *string { return &s.Buyer.Notes }, "keep")},
		{"buyer.picture", ofVisit, choice(func(s *Sheet) *string { return &s.Buyer.Picture }, "keep")},
		{"captions.strip", anywhere, choice(func(s *Sheet) *string { return &s.Captions.Strip }, "above", "below", "over", "none")},
		{"captions.show", anywhere, choice(func(s *Sheet) *string { return &s.Captions.Show }, "place", "place+label", "all")},
		{"captions.encode", anywhere, choice(func(s *Sheet) *string { return &s.Captions.Encode }, "fast", "small")},
	}
}

var anchorFields = []field[anchorEntry]{
	{"row", inJob, slot[anchorEntry]{set: setRow}},
	{"log", inJob, slot[anchorEntry]{set: setAnchorLog}},
	{"video", inJob, slot[anchorEntry]{set: setAnchorVideo}},
	{"part", inJob, parsed(value.filePath, func(a *anchorEntry) *string { return &a.Part })},
}

var resetFields = []field[resetEntry]{
	{"video", inJob, slot[resetEntry]{set: setResetVideo}},
	{"place", inJob, optional(value.length, func(e *resetEntry) **distance.Metres { return &e.place })},
}

var tapedFields = []field[tapedEntry]{
	{"counter", inJob, optional(value.length, func(t *tapedEntry) **distance.Metres { return &t.counter })},
	{"length", inJob, optional(value.length, func(t *tapedEntry) **distance.Metres { return &t.length })},
}
