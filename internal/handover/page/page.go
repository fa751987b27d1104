// Package page writes the page that the customer opens with a double-click: what
// was found in plain words, the line laid open, the recording that plays from any
// observation, and every picture.
//
//	a := account.Of(account.Input{Language: en, Pushes: …})
//	err := page.Write(w, page.Input{Account: a, Films: …})
//
// The page is one file that names the others beside it by relative paths. It asks
// nothing of a network, and text from a log acts as code nowhere in it: a policy
// in its head lets the browser run the page's own script and nothing else.
package page

import (
	"crypto/sha256"
	_ "embed"
	"encoding/base64"
	"html/template"
	"io"
	"net/http"
	"net/url"
	"strings"

	"pushcue/internal/handover/account"
	"pushcue/subtitles"
)

// Input is what a page shows.
type Input struct {
	Account *account.Account
	Films   [][]Film // for each push, what its player shows one after the other
	Burned  []bool   // for each push, whether its film shows the notes already
	Logo    []byte   // PNG or JPEG as this program encoded it; nil for none
}

// A Film is one file that the page's player shows.
type Film struct {
	File string          // relative to the page
	From float64         // video time of its first frame, in seconds
	Cues []subtitles.Cue // on the file's own time
}

//go:embed page.html.tmpl
var markup string

//go:embed page.css
var style string

//go:embed page.js
var script string

var sheet = template.Must(template.New("page").Funcs(template.FuncMap{"link": link}).Parse(markup))

// Write writes the page.
func Write(w io.Writer, in Input) error {
	return sheet.Execute(w, struct {
		*account.Account
		Lang   string
		Say    func(key string, args ...any) string
		Style  template.CSS
		Script template.JS
		Policy string
		Data   any
		Logo   template.URL
	}{in.Account, in.Account.Language.Tag, in.Account.Language.Say, template.CSS(style), template.JS(script), policy(), scriptData(in), picture(in.Logo)})
}

// picture is a small picture as an address that holds it.
func picture(data []byte) template.URL {
	if len(data) == 0 {
		return ""
	}
	return template.URL("data:" + http.DetectContentType(data) + ";base64," + base64.StdEncoding.EncodeToString(data))
}

// policy lets the browser show pictures and play films that lie beside the page,
// and run and style with nothing but what this program wrote (W3C Content
// Security Policy Level 3).
func policy() string {
	return "default-src 'none'; img-src 'self' file: data:; media-src 'self' file:; " +
		"style-src '" + fingerprint(style) + "'; script-src '" + fingerprint(script) + "'; base-uri 'none'; form-action 'none'"
}

func fingerprint(s string) string {
	sum := sha256.Sum256([]byte(s))
	return "sha256-" + base64.StdEncoding.EncodeToString(sum[:])
}

// link is a relative address, each part of the path written so that its odd
// characters act as nothing.
func link(name string) string {
	parts := strings.Split(name, "/")
	for i, p := range parts {
		parts[i] = url.PathEscape(p)
	}
	return "./" + strings.Join(parts, "/")
}

type cueData struct {
	From float64 `json:"from"`
	To   float64 `json:"to"`
	Text string  `json:"text"`
}

type filmData struct {
	Link string    `json:"link"`
	From float64   `json:"from"`
	Cues []cueData `json:"cues"`
}

// scriptData is what the page's script needs to play from an observation and to
// show its note.
func scriptData(in Input) any {
	pushes := make([][]filmData, len(in.Films))
	for i, films := range in.Films {
		pushes[i] = []filmData{}
		for _, f := range films {
			d := filmData{Link: link(f.File), From: f.From, Cues: []cueData{}}
			for _, c := range f.Cues {
				// A player that stands on the frame where the next one begins would show both.
				const early = 0.001
				d.Cues = append(d.Cues, cueData{c.From.Seconds(), max(c.To.Seconds()-early, c.From.Seconds()), cueText(c)})
			}
			pushes[i] = append(pushes[i], d)
		}
	}
	burned := make([]bool, len(in.Films))
	copy(burned, in.Burned)
	return map[string]any{"burned": burned, "lang": in.Account.Language.Tag, "label": in.Account.Language.Say("page-observations"), "pushes": pushes}
}

// cueText is written as WebVTT text, in which only these three act (W3C WebVTT).
func cueText(c subtitles.Cue) string {
	return strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;").Replace(strings.Join(c.Lines, "\n"))
}
