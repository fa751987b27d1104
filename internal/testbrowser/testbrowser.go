// Package testbrowser lets tests look at a page in a real browser, as a customer
// would: opened from a folder, without a network.
//
//	b := testbrowser.Open(t, "/tmp/handover/index.html")
//	b.Do("document.querySelector('.watch').click()")
//	at := testbrowser.Ask[float64](b, "document.querySelector('video').currentTime")
//
// A page that a program of this computer serves is opened by its address, used with
// mouse and keys, and waited for by what it shows:
//
//	b := testbrowser.Visit(t, "http://127.0.0.1:8080/")
//	b.Click("#start")
//	b.Press("roots" + kb.Enter)
//	b.Until("document.querySelectorAll('li').length === 1")
//
// It needs Chromium and fails the test where there is none. It waits for what a page
// shows, however long a busy computer takes for that.
package testbrowser

import (
	"context"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
)

// limit ends a wait for what never comes. No computer is so slow that a verdict
// depends on it.
const limit = time.Hour

// A Browser shows one page.
type Browser struct {
	*window
	t         testing.TB
	program   *program
	complains bool // the test fails where the page's scripts throw
	before    []page.ScriptIdentifier
}

// Open shows a file at the size of a desk's screen.
func Open(t testing.TB, file string) *Browser {
	t.Helper()
	full, err := filepath.Abs(file)
	if err != nil {
		t.Fatal(err)
	}
	address := (&url.URL{Scheme: "file", Path: filepath.ToSlash(full)}).String()
	b := start(t, address)
	b.Go(address)
	return b
}

// Size makes the window so many CSS pixels wide and high.
func (b *Browser) Size(width, height int64) {
	b.t.Helper()
	b.run(chromedp.EmulateViewport(width, height))
}

// Do runs a script in the page; a promise is waited for.
func (b *Browser) Do(script string) {
	b.t.Helper()
	Ask[bool](b, "(async () => {"+script+"; return true})()")
}

// Ask returns what an expression in the page comes to; a promise is waited for.
func Ask[T any](b *Browser, expression string) T {
	b.t.Helper()
	ctx, stop := context.WithTimeout(b.ctx, limit)
	defer stop()
	v, err := chromedp.Run(ctx, chromedp.Evaluate[T](expression, chromedp.EvalAwaitPromise))
	if err != nil {
		b.t.Fatalf("%s: %v", expression, err)
	}
	return v
}

// Picture is a PNG of the whole page.
func (b *Browser) Picture() []byte {
	b.t.Helper()
	ctx, stop := context.WithTimeout(b.ctx, limit)
	defer stop()
	png, err := chromedp.Run(ctx, chromedp.FullScreenshot(100))
	if err != nil {
		b.t.Fatal(err)
	}
	return png
}

// Requests is every address that was asked for so far, the page's own among them.
func (b *Browser) Requests() []string {
	b.t.Helper()
	b.mu.Lock()
	defer b.mu.Unlock()
	return slices.Clone(b.asked)
}

// Accessible fails the test for everything that axe-core, an independent checker
// of the W3C's accessibility rules (WCAG 2), finds wrong; only, where rules of its are
// named, what these do.
func (b *Browser) Accessible(axe string, rules ...string) {
	b.t.Helper()
	if !Ask[bool](b, `typeof axe === "object"`) {
		program, err := os.ReadFile(axe)
		if err != nil {
			b.t.Fatalf("axe-core isn't installed: run scripts/test, which does that (%v)", err)
		}
		b.run(chromedp.Evaluate[chromedp.Void](string(program) + "; void 0"))
	}
	options := `{resultTypes: ["violations"]}`
	if len(rules) > 0 {
		options = fmt.Sprintf(`{resultTypes: ["violations"], runOnly: %q.split(" ")}`, strings.Join(rules, " "))
	}
	found := Ask[[]string](b, `axe.run(document, `+options+`).then(r => r.violations.map(v => v.id + ": " + v.help + " at " + v.nodes.slice(0, 3).map(n => n.html.slice(0, 160)).join(" | ")))`)
	if len(found) > 0 {
		b.t.Errorf("not accessible:\n%s", strings.Join(found, "\n"))
	}
}

func (b *Browser) run(actions ...chromedp.Action[chromedp.Void]) {
	b.t.Helper()
	if err := b.do(actions...); err != nil {
		b.t.Fatal(err)
	}
}
