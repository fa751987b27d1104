// Package overlay puts captions into pictures: their layout, their font, the strip
// they stand in, and the script that burns them.
//
//	l, warnings := overlay.NewLayout(t, lang, overlay.Spec{Width: 1280, Height: 720, Captions: t.Sheet.Captions})
//	_, err := l.PlaceScript(t.ShowFrom, t.ShowTo).WriteTo(file)           // captions.ass
//	burned := l.Graph(pictures, overlay.Burn{Script: "captions.ass", Fonts: "fonts"})
//
//	plan := overlay.PlanFindings(t)                                       // which frames show what
//	excerpts := plan.CloseUp(withNotes.Graph(plan.Pick(pictures, 0), burn))
//
//	still := forStills.CaptionStill(picture, frame, &t.Observations[0])
//
// It runs nothing and writes no file: what it returns is joined into one run of
// ffmpeg by whoever makes the handover. It doesn't promise that a script written
// for one layout fits another, nor that a font other than FontFile measures the
// same; and text in scripts that have letters in several shapes is placed with
// less care in stills (golang.org/x/image) than in video (libass).
package overlay
