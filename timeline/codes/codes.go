// Package codes is the registry of warnings: every kind of warning the program can raise,
// whether it leaves something open, what it affects and how a person settles it.
//
//	info, _ := codes.CellUnreadable.Info()
//	info.Open // codes.Always: a run with such a warning ends with exit code 3
package codes

import (
	"slices"
	"strings"
)

// A Code names one kind of warning in timeline.json, --json and edits.jsonl. A code keeps
// its spelling and its meaning in all later versions.
type Code string

// The codes. Each one has its entry in registry.
const (
	AnchorSetAside     Code = "anchor-set-aside"
	AttachedUnknown    Code = "attached-unknown"
	CaptionCut         Code = "caption-cut"
	CaptionGlyph       Code = "caption-glyph"
	CaptionOverCounter Code = "caption-over-counter"
	CellUnreadable     Code = "cell-unreadable"
	ClockByTrack       Code = "clock-by-track"
	ClockProposed      Code = "clock-proposed"
	ClockUnsure        Code = "clock-unsure"
	ClockWeak          Code = "clock-weak"
	CounterAmbiguous   Code = "counter-ambiguous"
	CounterMisread     Code = "counter-misread"
	CounterReread      Code = "counter-reread"
	CounterReset       Code = "counter-reset"
	CounterUnconfirmed Code = "counter-unconfirmed"
	CounterUnitAssumed Code = "counter-unit-assumed"
	CounterUnkept      Code = "counter-unkept"
	CounterUnread      Code = "counter-unread"
	CustomerNamed      Code = "customer-named"
	DateUnknown        Code = "date-unknown"
	DistanceDisagrees  Code = "distance-disagrees"
	EditUnfit          Code = "edit-unfit"
	EditUnreadable     Code = "edit-unreadable"
	FileChanged        Code = "file-changed"
	FileForeign        Code = "file-foreign"
	FileLarge          Code = "file-large"
	FileOutdated       Code = "file-outdated"
	FiletimeUnusable   Code = "filetime-unusable"
	KindUnlisted       Code = "kind-unlisted"
	LogMissing         Code = "log-missing"
	LogNote            Code = "log-note"
	LogoUnreadable     Code = "logo-unreadable"
	OutsideShown       Code = "outside-shown"
	PartUntied         Code = "part-untied"
	PauseFound         Code = "pause-found"
	PhotoMissing       Code = "photo-missing"
	PhotoUnjoined      Code = "photo-unjoined"
	PhotoUnreadable    Code = "photo-unreadable"
	ReadingImpossible  Code = "reading-impossible"
	ReadingUnplaced    Code = "reading-unplaced"
	ReadingsFromZero   Code = "readings-from-zero"
	RecordStrange      Code = "record-strange"
	RecordingDamaged   Code = "recording-damaged"
	RecordingOrder     Code = "recording-order"
	RecordingSeveral   Code = "recording-several"
	RecordingSound     Code = "recording-sound"
	RecordingUneven    Code = "recording-uneven"
	RecordingWashedOut Code = "recording-washed-out"
	ResetNotFound      Code = "reset-not-found"
	RowUnplaced        Code = "row-unplaced"
	SeveralPasses      Code = "several-passes"
	ShowToPastEnd      Code = "show-to-past-end"
	SpokenDamaged      Code = "spoken-damaged"
	SpokenMissing      Code = "spoken-missing"
	SpokenUnjoined     Code = "spoken-unjoined"
	SpokenUnreadable   Code = "spoken-unreadable"
	TimesDisagree      Code = "times-disagree"
	VideoUnusable      Code = "video-unusable"
	ZoneAssumed        Code = "zone-assumed"
)

// Openness says whether a warning leaves something open. A run with an open warning ends
// with exit code 3.
type Openness string

const (
	Always Openness = "always"
	Never  Openness = "never"
	ByCase Openness = "by case" // timeline.Warning.Unsettled says so
)

// An Output is a part of the handover that a warning affects.
type Output string

const (
	Rows        Output = "rows"      // whether and where an observation is shown
	Distances   Output = "distances" // on strip, cues, page and report
	Times       Output = "times"     // true time, and places found by the log's clock
	Pictures    Output = "pictures"  // video, stills and excerpts
	Captions    Output = "captions"
	SpokenNotes Output = "spoken notes"
	Photos      Output = "photos"
	Page        Output = "page"  // page and report
	Files       Output = "files" // which files lie in the handover
	Privacy     Output = "privacy"
)

// A Way is how a person settles a warning on the review page.
type Way string

const (
	PointAtRow     Way = "point at the row's picture"
	TieClock       Way = "say what the log's clock showed in a picture"
	ConfirmCounter Way = "look at the counter's sheet"
	FillCell       Way = "fill in the cell"
	SayPlace       Way = "say where the head was"
	DropAnchor     Way = "leave the anchor out"
	UndoEdit       Way = "take the correction back"
)

// Info is what the program knows of a warning's code. Every reader of warnings goes by
// it: check, make, the review page, the exit code, --json and the table of warnings in
// warnings.md.
type Info struct {
	Code
	Open     Openness
	Affects  []Output
	Ways     []Way
	Fields   []string // of the job sheet that settle it
	Assumed  string   // field of the job sheet whose assumed value a person can confirm; "" for none
	Customer string   // label that tells the customer of it; "" where only the technician is told
	OwnCard  bool     // the review page shows it on a card of its own, beside its list
}

// Title is the key, under [review] in the language files, of the warning's title.
func (c Code) Title() string { return "warn-" + string(c) }

// Info returns the entry of a code; false for one that isn't registered.
func (c Code) Info() (Info, bool) {
	i, found := slices.BinarySearchFunc(registry, c, func(e Info, c Code) int { return strings.Compare(string(e.Code), string(c)) })
	if !found {
		return Info{Code: c, Open: ByCase}, false
	}
	return registry[i], true
}

// Codes returns all entries, sorted by code.
func Codes() []Info { return slices.Clone(registry) }

// Takes reports whether w is one of the ways that settle the warning.
func (c Info) Takes(w Way) bool { return slices.Contains(c.Ways, w) }

// registry has all codes, sorted by their text.
var registry = []Info{
	{Code: AnchorSetAside, Open: Never, Affects: []Output{Times}, Ways: []Way{DropAnchor}},
	{Code: AttachedUnknown, Open: ByCase, Affects: []Output{SpokenNotes, Photos}},
	{Code: CaptionCut, Open: Never, Affects: []Output{Captions}, Fields: []string{"line.name", "line.from", "line.to"}},
	{Code: CaptionGlyph, Open: Never, Affects: []Output{Captions}},
	{Code: CaptionOverCounter, Open: Never, Affects: []Output{Captions, Pictures}, Fields: []string{"captions.strip"}},
	{Code: CellUnreadable, Open: Always, Affects: []Output{Rows}, Ways: []Way{FillCell}},
	{Code: ClockByTrack, Open: Never, Affects: []Output{Times}, Ways: []Way{TieClock}},
	{Code: ClockProposed, Open: ByCase, Affects: []Output{Rows, Times}, Ways: []Way{TieClock}},
	{Code: ClockUnsure, Open: ByCase, Affects: []Output{Rows, Times}, Ways: []Way{PointAtRow, TieClock}},
	{Code: ClockWeak, Open: Never, Affects: []Output{Times}, Ways: []Way{TieClock}},
	{Code: CounterAmbiguous, Open: Always, Affects: []Output{Distances}, Ways: []Way{ConfirmCounter}, Fields: []string{"counter.look"}},
	{Code: CounterMisread, Open: ByCase, Affects: []Output{Distances}, Ways: []Way{ConfirmCounter}, Fields: []string{"counter.confirmed"}},
	{Code: CounterReread, Open: Never, Affects: []Output{Distances}},
	{Code: CounterReset, Open: ByCase, Affects: []Output{Distances}, Ways: []Way{SayPlace}},
	{Code: CounterUnconfirmed, Open: Always, Affects: []Output{Distances}, Ways: []Way{ConfirmCounter}, Fields: []string{"counter.confirmed"}, Customer: "warn-unconfirmed", OwnCard: true},
	{Code: CounterUnitAssumed, Open: Always, Affects: []Output{Rows, Distances}, Assumed: "counter.unit"},
	{Code: CounterUnkept, Open: Never, Affects: []Output{Distances}},
	{Code: CounterUnread, Open: ByCase, Affects: []Output{Distances}, Ways: []Way{ConfirmCounter}},
	{Code: CustomerNamed, Open: ByCase, Affects: []Output{Privacy}},
	{Code: DateUnknown, Open: Never, Affects: []Output{Times}, Fields: []string{"job.date"}},
	{Code: DistanceDisagrees, Open: Never, Affects: []Output{Rows, Distances}, Ways: []Way{PointAtRow}, Fields: []string{"distance.zero"}},
	{Code: EditUnfit, Open: Always, Affects: []Output{Rows}, Ways: []Way{UndoEdit}},
	{Code: EditUnreadable, Open: ByCase, Affects: []Output{Rows}},
	{Code: FileChanged, Open: Always, Affects: []Output{Files}},
	{Code: FileForeign, Open: Never, Affects: []Output{Files}},
	{Code: FileLarge, Open: Never, Affects: []Output{Files}},
	{Code: FileOutdated, Open: Always, Affects: []Output{Files}},
	{Code: FiletimeUnusable, Open: Never, Affects: []Output{Times}, Ways: []Way{TieClock}, Fields: []string{"job.date", "recording.ahead"}},
	{Code: KindUnlisted, Open: Never, Affects: []Output{Rows}, Ways: []Way{FillCell}},
	{Code: LogMissing, Open: Always, Affects: []Output{Rows}, Fields: []string{"log.file"}},
	{Code: LogNote, Open: Never, Affects: []Output{Rows}, Fields: []string{"log.charset"}},
	{Code: LogoUnreadable, Open: Never, Affects: []Output{Page}, Fields: []string{"firm.logo"}},
	{Code: OutsideShown, Open: Always, Affects: []Output{Rows}, Fields: []string{"recording.show_from", "recording.show_to"}},
	{Code: PartUntied, Open: Never, Affects: []Output{Times}, Ways: []Way{TieClock}},
	{Code: PauseFound, Open: Never, Affects: []Output{Times}},
	{Code: PhotoMissing, Open: Always, Affects: []Output{Photos}},
	{Code: PhotoUnjoined, Open: Never, Affects: []Output{Photos}},
	{Code: PhotoUnreadable, Open: Always, Affects: []Output{Photos}},
	{Code: ReadingImpossible, Open: Never, Affects: []Output{Distances}, Fields: []string{"distance.fastest"}},
	{Code: ReadingUnplaced, Open: Always, Affects: []Output{Distances}, Fields: []string{"distance.readings"}},
	{Code: ReadingsFromZero, Open: Never, Affects: []Output{Distances}, Fields: []string{"distance.readings"}},
	{Code: RecordStrange, Open: Never, Affects: []Output{Files}},
	{Code: RecordingDamaged, Open: Always, Affects: []Output{Pictures}, Customer: "warn-damaged"},
	{Code: RecordingOrder, Open: Always, Affects: []Output{Times}, Fields: []string{"recording.files"}},
	{Code: RecordingSeveral, Open: Never, Affects: []Output{Pictures}},
	{Code: RecordingSound, Open: Always, Affects: []Output{Pictures}},
	{Code: RecordingUneven, Open: Never, Affects: []Output{Times}},
	{Code: RecordingWashedOut, Open: Never, Affects: []Output{Pictures}},
	{Code: ResetNotFound, Open: Never, Affects: []Output{Distances}},
	{Code: RowUnplaced, Open: Always, Affects: []Output{Rows}, Ways: []Way{PointAtRow}, OwnCard: true},
	{Code: SeveralPasses, Open: Never, Affects: []Output{Rows}, Ways: []Way{PointAtRow}},
	{Code: ShowToPastEnd, Open: Never, Affects: []Output{Pictures}, Fields: []string{"recording.show_to"}},
	{Code: SpokenDamaged, Open: Always, Affects: []Output{SpokenNotes}},
	{Code: SpokenMissing, Open: Always, Affects: []Output{SpokenNotes}},
	{Code: SpokenUnjoined, Open: Never, Affects: []Output{SpokenNotes}},
	{Code: SpokenUnreadable, Open: Always, Affects: []Output{SpokenNotes}},
	{Code: TimesDisagree, Open: Never, Affects: []Output{Rows}, Ways: []Way{PointAtRow}},
	{Code: VideoUnusable, Open: Always, Affects: []Output{Rows}, Ways: []Way{PointAtRow}},
	{Code: ZoneAssumed, Open: Never, Affects: []Output{Times}, Fields: []string{"job.zone"}, Assumed: "job.zone"},
}
