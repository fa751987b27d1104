// Package overlay puts captions into pictures: their layout, their font, the strip
// they stand in, and the script that burns them.
//
//	l, warnings := overlay.NewLayout(t, lang, overlay.Spec{Width: 1280, Height: 720, Captions: sheet.Captions})
//	err := subtitles.WriteASS(w, l.PlaceScript(t.ShowFrom, t.ShowTo)) // to a file beside the font
//	stream := l.Graph(pictures, overlay.Burn{Script: "place.ass", Fonts: "fonts"})
//
// It runs nothing and writes no file: the graph piece and the script are joined
// into one run by whoever makes the handover. It doesn't promise that a script
// written for one layout fits another, nor that a font other than FontFile
// measures the same.
package overlay
