package page

import (
	"bytes"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
)

// inNode runs a script among the page's modules in Node.js, and returns what it prints.
func inNode(t *testing.T, script string) []byte {
	t.Helper()
	node, err := exec.LookPath("node")
	if err != nil {
		t.Fatal("no Node.js on this computer: install it, or run scripts/test, which does")
	}
	dir := t.TempDir()
	if err := os.CopyFS(dir, FS); err != nil {
		t.Fatal(err)
	}
	for name, text := range map[string]string{"package.json": `{"type": "module"}`, "script.js": script} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	run := exec.Command(node, "script.js")
	run.Dir = dir
	var wrong bytes.Buffer
	run.Stderr = &wrong
	out, err := run.Output()
	if err != nil {
		t.Fatalf("%v: %s", err, wrong.String())
	}
	return out
}

// browser is as much of one as modules ask for when they are loaded.
const browser = `
globalThis.location = {search: "", href: "http://127.0.0.1/"};
globalThis.document = {documentElement: {}, createElement: () => ({style: {}, append() {}, setAttribute() {}}), createElementNS: () => ({append() {}, setAttribute() {}})};
globalThis.addEventListener = () => {};
globalThis.IntersectionObserver = class {};
globalThis.sessionStorage = {getItem: () => JSON.stringify({key: "k", media: "/s/x"}), setItem() {}, removeItem() {}};
`

func TestModules(t *testing.T) {
	const uneven = `m.frameTable(new Float64Array([0, 0.04, 0.08, 0.3, 0.34]))`
	const kinds = `[{code: "", text: "roots"}, {code: "", text: "connection"}, {code: "", text: "faulty connection"}, {code: "X-7", text: "Fäulnis"}, {code: "", text: "corrosion"}]`
	cases := []struct{ name, module, expression, want string }{
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
		{"metres with a comma", "format.js", `(m.measures("m", "de"), m.length(12.45))`, "12,5 m"},
		{"a foot is 0.3048 m exactly (international foot)", "format.js", `(m.measures("ft", "en"), m.length(30.48))`, "100.0 ft"},
		{"the room on a drive", "format.js", `(m.measures("m", "en"), m.bytes(12.04e9))`, "12 GB"},

		{"between two readings", "chart.js", `JSON.stringify(m.trackAt([[0, 0, 2], [10, 5, 2]], 4))`, `{"distance_m":2,"about":false}`},
		{"where only about is known", "chart.js", `m.trackAt([[0, 0, 2], [10, 5, 1]], 4).about`, "true"},
		{"where nothing is known no number is made up", "chart.js", `m.trackAt([[0, 0, 2], [10, null, 0]], 4)`, "null"},
		{"outside the readings", "chart.js", `m.trackAt([[0, 0, 2], [10, 5, 2]], 11)`, "null"},
	}
	cases = append(cases, []struct{ name, module, expression, want string }{
		{"what to write into a file is no hint for a browser", "settle.js", `m.ofFiles("look at it; if it's right, write confirmed = true under [counter]")`, "true"},
		{"advice is", "settle.js", `m.ofFiles("check the row's time and distance")`, "false"},

		{"nothing is made", "handover.js", `m.stepOf({for: "", made: false, changed: []}, null)`, "make"},
		{"something has changed since", "handover.js", `m.stepOf({for: "", made: true, changed: ["the log"], looked: true, agreed: true}, null)`, "make"},
		{"nobody has looked", "handover.js", `m.stepOf({for: "", made: true, changed: []}, null)`, "look"},
		{"nobody has agreed", "handover.js", `m.stepOf({for: "", made: true, changed: [], looked: true}, null)`, "leaves"},
		{"a copy for another reader is none", "handover.js", `m.stepOf({for: "", made: true, changed: [], looked: true, agreed: true, edition: "1"}, {for: "buyer", kind: "copy", state: "done", result: {edition: "1"}})`, "copy"},
		{"a copy of another edition is none", "handover.js", `m.stepOf({for: "", made: true, changed: [], looked: true, agreed: true, edition: "2"}, {for: "", kind: "copy", state: "done", result: {edition: "1"}})`, "copy"},
		{"it was copied", "handover.js", `m.stepOf({for: "", made: true, changed: [], looked: true, agreed: true, edition: "1"}, {for: "", kind: "copy", state: "done", result: {edition: "1"}})`, "out"},
	}...)
	script := browser + "const got = [];\n"
	for _, c := range cases {
		script += "{ const m = await import(\"./" + c.module + "\"); got.push(String(" + c.expression + ")); }\n"
	}
	var got []string
	if err := json.Unmarshal(inNode(t, script+"console.log(JSON.stringify(got));"), &got); err != nil {
		t.Fatal(err)
	}
	for i, c := range cases {
		if got[i] != c.want {
			t.Errorf("%s: %s is %s, want %s", c.name, c.expression, got[i], c.want)
		}
	}
}

// What was heard while the program's answer was on its way may be newer than the answer.
func TestTheLatestWordOnAJobCounts(t *testing.T) {
	script := browser + `
const answers = [];
globalThis.fetch = () => new Promise((done) => answers.push((job) => done({ok: true, json: async () => ({words: {review: {}, urgency: {}, kind: {}}, language: "en", units: "m", ...job})})));
const asked = async (n) => { while (answers.length < n) await new Promise((done) => setImmediate(done)); };
const m = await import("./store.js");

const first = m.load();
m.heard();
answers[0]({revision: 1, name: "before"});
await asked(2);
answers[1]({revision: 1, name: "after"});
await first;
const heard = m.store.job.name;

const early = m.load(), late = m.load();
await asked(4);
answers[3]({revision: 1, name: "asked for later"});
await late;
answers[2]({revision: 1, name: "asked for earlier"});
await early;
console.log(JSON.stringify([heard, m.store.job.name, answers.length]));`
	if got, want := string(bytes.TrimSpace(inNode(t, script))), `["after","asked for later",4]`; got != want {
		t.Errorf("the page holds %s, want %s", got, want)
	}
}

// A change of the job sheet is told by what it means, not by its key and value.
func TestChangesOfTheJobSheetAreToldInWords(t *testing.T) {
	book, err := json.Marshal(review(t))
	if err != nil {
		t.Fatal(err)
	}
	script := browser + `
const { speak } = await import("./words.js"), { told } = await import("./changes.js");
speak({review: ` + string(book) + `}, "en");
const tell = (values) => told({edits: [{id: "a", what: "sheet", values}]}, {edit: "a", text: "?"});
console.log(JSON.stringify([tell({"counter.confirmed": true}), tell({"counter.confirmed": false}), tell({"job.units": "ft"}), tell({"line.name": null})]));`
	want := `["the counter reading was confirmed","job sheet, Counter reading confirmed: no","job sheet, Units: feet","job sheet, Name: as in the file"]`
	if got := string(bytes.TrimSpace(inNode(t, script))); got != want {
		t.Errorf("told is %s,\nwant    %s", got, want)
	}
}
