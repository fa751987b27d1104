package page

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"testing"

	"pushcue/internal/testbrowser"
)

// module serves the page's files to a browser and returns what an expression comes to
// with everything that a module exports in m.
func module(t *testing.T) func(name, expression string) string {
	t.Helper()
	mux := http.NewServeMux()
	mux.Handle("GET /page/", http.StripPrefix("/page/", http.FileServerFS(FS)))
	mux.HandleFunc("GET /{$}", func(w http.ResponseWriter, _ *http.Request) { fmt.Fprint(w, "<!DOCTYPE html><title>x</title>") })
	server := httptest.NewServer(mux)
	t.Cleanup(server.Close)
	b := testbrowser.Visit(t, server.URL)
	return func(name, expression string) string {
		t.Helper()
		return testbrowser.Ask[string](b, fmt.Sprintf(`import("/page/%s").then((m) => String(%s))`, name, expression))
	}
}

func TestModules(t *testing.T) {
	in := module(t)
	const uneven = `m.frameTable(new Float64Array([0, 0.04, 0.08, 0.3, 0.34]))`
	const kinds = `[{code: "", text: "roots"}, {code: "", text: "connection"}, {code: "", text: "faulty connection"}, {code: "X-7", text: "Fäulnis"}, {code: "", text: "corrosion"}]`
	for _, c := range []struct{ name, module, expression, want string }{
		{"a frame is shown from its time on", "frames.js", uneven + `.at(0.04)`, "1"},
		{"until the next one's", "frames.js", uneven + `.at(0.2999)`, "2"},
		{"before the first there is the first", "frames.js", uneven + `.at(-1)`, "0"},
		{"after the last there is the last", "frames.js", uneven + `.at(9)`, "4"},
		{"a time rounded by the browser finds its frame", "frames.js", uneven + `.at(0.29999999)`, "3"},
		{"a frame's middle lies within it", "frames.js", uneven + `.at(` + uneven + `.middle(2))`, "2"},
		{"frames beyond the ends are held", "frames.js", uneven + `.clamp(-3) + "," + ` + uneven + `.clamp(99)`, "0,4"},

		{"what begins so comes first", "ahead.js", `m.offers(` + kinds + `, "co").map(k => k.text).join()`, "connection,corrosion,faulty connection"},
		{"a code finds its kind", "ahead.js", `m.offers(` + kinds + `, "x-7").map(k => k.text).join()`, "Fäulnis"},
		{"accents may be left out", "ahead.js", `m.offers(` + kinds + `, "faul").map(k => k.text).join()`, "faulty connection,Fäulnis"},
		{"nothing typed offers the list", "ahead.js", `m.offers(` + kinds + `, " ").length`, "5"},
		{"nonsense offers nothing", "ahead.js", `m.offers(` + kinds + `, "zzz").length`, "0"},

		{"half past twelve is half an hour from the top", "dial.js", `m.hour(0.5)`, "12:30"},
		{"the dial has each half hour once", "dial.js", `m.steps.length + "," + new Set(m.steps).size + "," + Math.max(...m.steps)`, "24,24,12"},
		{"a place as a log has it", "facts.js", `m.clockText(3, 3)`, "3"},
		{"a span as a log has it", "facts.js", `m.clockText(0.5, 3.5)`, "12:30-3:30"},
		{"no place", "facts.js", `JSON.stringify(m.clockText(null, null))`, `""`},

		{"a moment", "format.js", `m.time(64.12)`, "1:04.120"},
		{"a moment past an hour", "format.js", `m.time(3723.4, 1)`, "1:02:03.4"},
		{"rounding carries over", "format.js", `m.time(59.9996)`, "1:00.000"},
		{"whole seconds", "format.js", `m.time(7195, 0)`, "1:59:55"},
		{"no moment", "format.js", `m.time(null)`, "–"},
		{"metres", "format.js", `(m.measures("m", "en"), m.length(12.4))`, "12.4 m"},
		{"metres with a comma", "format.js", `(m.measures("m", "de"), m.length(12.45))`, "12,45 m"},
		{"a foot is 0.3048 m exactly (international foot)", "format.js", `(m.measures("ft", "en"), m.length(30.48))`, "100.0 ft"},
		{"the room on a drive", "format.js", `(m.measures("m", "en"), m.bytes(12.04e9))`, "12 GB"},

		{"between two readings", "chart.js", `JSON.stringify(m.trackAt([[0, 0, 2], [10, 5, 2]], 4))`, `{"distance_m":2,"about":false}`},
		{"where only about is known", "chart.js", `m.trackAt([[0, 0, 2], [10, 5, 1]], 4).about`, "true"},
		{"where nothing is known no number is made up", "chart.js", `m.trackAt([[0, 0, 2], [10, null, 0]], 4)`, "null"},
		{"outside the readings", "chart.js", `m.trackAt([[0, 0, 2], [10, 5, 2]], 11)`, "null"},
	} {
		if got := in(c.module, c.expression); got != c.want {
			t.Errorf("%s: %s is %s, want %s", c.name, c.expression, got, c.want)
		}
	}
}
