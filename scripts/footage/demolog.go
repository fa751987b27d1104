package main

import (
	"fmt"
	"io"
	"strings"
	"time"

	"golang.org/x/text/encoding/charmap"
)

// An entry is one line of the demo's log: when the technician wrote it, and
// between which scene seconds the camera really stood before the thing.
type entry struct {
	written  float64 // scene second; 0 leaves the time empty
	from, to float64
	distance string
	end      string
	what     string
	clock    string
	urgency  string
	note     string
}

// Lengths are what the counter showed: (head + 0.41 m) less 2.5 %.
var entries = []entry{
	{4.6, 4, 5, "0,4", "", "inicio", "", "ninguna", "Rear clean-out, lid found loose"},
	{22, 14, 17, "2,7", "3,9", "grasa", "3-9", "vigilar", "Grease either side of the flow – kitchen waste"},
	{28, 23, 29, "5,0", "", "raíces", "10-2", "reparar", "Roots through the joint, from the níspero above; paper caught"},
	{38, 33, 36, "6,7", "", "acometida", "2", "ninguna", "Branch, dry. Señora Quintela says: the old laundry"},
	{50, 41, 50, "8,6", "", "grieta", "10", "vigilar", "Crack along the pipe, ± 0,8 m"},
	{59, 54, 58, "9,8", "", "junta desplazada", "12", "reparar", "Pipe has dropped about a third of the wall"},
	{68, 62, 66, "11,1", "12,9", "agua estancada", "", "reparar", "Belly; water to half the pipe"},
	{0, 71, 74, "13,7", "", "infiltración", "2", "vigilar", "Wet run with lime on it"},
	{80, 76, 79, "14,2", "", "sedimentos", "6", "vigilar", "Gravel, café grounds"},
	{85, 82, 85, "15,1", "", "fin", "", "ninguna", "Reached the main, running free"},
}

// writeLog writes the log as the firm's office exports it: a title above the
// header, semicolons, decimal commas, Windows-1252, and times of the watch.
func writeLog(w io.Writer) error {
	var b strings.Builder
	b.WriteString("Desagües Brezoval – parte de inspección 0414-B\r\n\r\n")
	b.WriteString("Hora;Distancia;Hasta;Defecto;Reloj;Urgencia;Nota;Operario\r\n")
	for _, e := range entries {
		at := ""
		if e.written > 0 {
			at = trueTime(e.written).Add(watchAhead).Format("15:04:05")
		}
		note := e.note
		if strings.ContainsAny(note, ";\"") {
			note = `"` + strings.ReplaceAll(note, `"`, `""`) + `"`
		}
		fmt.Fprintln(&b, strings.Join([]string{at, e.distance, e.end, e.what, e.clock, e.urgency, note, "I. Marsal"}, ";")+"\r")
	}
	text, err := charmap.Windows1252.NewEncoder().String(b.String())
	if err != nil {
		return err
	}
	_, err = io.WriteString(w, text)
	return err
}

// A seen is where a row of the log may rightly be placed.
type seen struct {
	Row  int     `json:"row"`
	What string  `json:"what"`
	From float64 `json:"seen_from_s"`
	To   float64 `json:"seen_to_s"`
}

func rowsSeen() []seen {
	var all []seen
	for i, e := range entries {
		all = append(all, seen{i + 1, e.what, inVideo(e.from), inVideo(e.to)})
	}
	return all
}

func writeSheet(w io.Writer) error {
	watch := func(scene float64) string { return trueTime(scene).Add(watchAhead).Format("15:04:05") }
	_, err := fmt.Fprintf(w, sheet, begun.Format(time.DateOnly), watch(2), watch(60), 60-pauseAt)
	return err
}

const sheet = `# A push that never happened: firm, people and places are made up.

[job]
reference = "0414-B"
date      = %s
zone      = "Europe/Madrid"
units     = "m"
language  = "en"
operator  = "I. Marsal"
reason    = "slow drain, kitchen"
weather   = "dry"
cleaned   = "not before filming"
ended     = "reached the main"

[firm]
name    = "Desagües Brezoval"
address = "Calle del Molino Seco 12, Brezoval"
email   = "office@brezoval.example"
licence = "BV-0000"

[customer]
name  = "Quintela household"
email = "quintela@customer.example"

[site]
address = "Camino de la Noria 3, Brezoval"
access  = "clean-out behind the kitchen"

[line]
name     = "kitchen lateral"
from     = "rear clean-out"
to       = "mainline"
travel   = "downstream"
size     = "100 mm"
material = "clay"

[recording]
files = ["tramo1.mp4", "tramo2.mp4"]
ahead = "-1h40s"            # the recorder never went over to summer time
# show_from = "4"           # would leave out the van's floor, and the recording as filmed

[log]
file    = "registro.csv"
ahead   = "1m35s"           # the watch, held against the time signal
lag     = "20s"             # written at most this long after it was seen
decimal = ","
charset = "windows-1252"

[[anchor]]                  # the watch, held in front of the camera
log   = "%s"
video = "0:02.0"

[[anchor]]                  # and again after the pause
log   = "%s"
video = "%.1f"
part  = "tramo2.mp4"

[distance]
zero = "0.4 m"              # the counter was set to zero at the reel, not at the clean-out
[[distance.taped]]          # the main's cover, taped on the surface
counter = "15.1 m"
length  = "15.05 m"

[counter]                   # it's read off the picture
unit      = "m"
confirmed = true            # and somebody has looked at work/counter-sheet.png
`
