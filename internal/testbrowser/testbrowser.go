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
// It needs Chromium and fails the test where there is none.
package testbrowser

import (
	"context"
	"errors"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/chromedp"
)

// patience is how long one question to the page may take on a busy machine.
const patience = 3 * time.Minute

// A Browser shows one page.
type Browser struct {
	t     testing.TB
	ctx   context.Context
	asked *addresses
}

// addresses are those that a page asked for.
type addresses struct {
	sync.Mutex
	all []string
}

// Open shows a file in a new browser at the size of a desk's screen.
func Open(t testing.TB, file string) *Browser {
	t.Helper()
	full, err := filepath.Abs(file)
	if err != nil {
		t.Fatal(err)
	}
	b := start(t)
	b.Go((&url.URL{Scheme: "file", Path: filepath.ToSlash(full)}).String())
	return b
}

// shared gives the browser of a test program that wanted one for all its tests; nil:
// one a test.
var shared func() (context.Context, error)

// Shared runs a package's tests in windows of one browser, each with cookies of its
// own, which saves starting one for every test. TestMain calls it:
//
//	func TestMain(m *testing.M) { os.Exit(testbrowser.Shared(m)) }
func Shared(m *testing.M) int {
	stop := func() {}
	shared = sync.OnceValues(func() (context.Context, error) {
		program, err := find()
		if err != nil {
			return nil, err
		}
		ctx, end, err := launch(program)
		if err != nil {
			return nil, err
		}
		stop = end
		return ctx, chromedp.Do(ctx)
	})
	defer func() { stop() }()
	return m.Run()
}

// launch prepares a browser; it starts with the first thing asked of it.
func launch(program string) (context.Context, context.CancelFunc, error) {
	// What a browser that is killed leaves behind goes with this folder.
	temp, err := os.MkdirTemp("", "b")
	if err != nil {
		return nil, nil, err
	}
	options := append(chromedp.DefaultExecAllocatorOptions[:],
		chromedp.ExecPath(program), chromedp.NoSandbox, chromedp.DisableGPU,
		chromedp.Flag("autoplay-policy", "no-user-gesture-required"),
		chromedp.Flag("disable-quic", true), chromedp.Flag("disable-component-update", true), chromedp.Env("TMPDIR="+temp))
	allocator, end := chromedp.NewExecAllocator(context.Background(), options...)
	ctx, stop := chromedp.NewContext(allocator)
	return ctx, func() { stop(); end(); os.RemoveAll(temp) }, nil
}

// start opens a window that shows nothing yet.
func start(t testing.TB) *Browser {
	t.Helper()
	b := &Browser{t: t, asked: &addresses{}}
	var stop context.CancelFunc
	if shared != nil {
		browser, err := shared()
		if err != nil {
			t.Fatal(err)
		}
		b.ctx, stop = chromedp.NewContext(browser, chromedp.WithNewBrowserContext())
	} else {
		program, err := find()
		if err != nil {
			t.Fatal(err)
		}
		if b.ctx, stop, err = launch(program); err != nil {
			t.Fatal(err)
		}
	}
	t.Cleanup(stop)
	// The window lives as long as the context of the first call, so that mustn't be one with a limit.
	if err := chromedp.Do(b.ctx); err != nil {
		t.Fatal(err)
	}
	b.listen()
	b.Size(1200, 900)
	return b
}

// listen notes every address that is asked for. A page opened from a folder doesn't
// know of its own requests.
func (b *Browser) listen() {
	b.t.Helper()
	err := chromedp.Listen(b.ctx, func(event any) {
		if e, ok := event.(*network.EventRequestWillBeSent); ok {
			b.asked.Lock()
			defer b.asked.Unlock()
			b.asked.all = append(b.asked.all, e.Request.URL)
		}
	})
	if err != nil {
		b.t.Fatal(err)
	}
	b.run(call(network.Enable, network.EnableParams{}))
}

func find() (string, error) {
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome", "chrome"} {
		if p, err := exec.LookPath(name); err == nil {
			return p, nil
		}
	}
	return "", errors.New("no Chromium on this computer: install it, or run scripts/test, which does")
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
	ctx, stop := context.WithTimeout(b.ctx, patience)
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
	ctx, stop := context.WithTimeout(b.ctx, patience)
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
	b.asked.Lock()
	defer b.asked.Unlock()
	return slices.Clone(b.asked.all)
}

// Accessible fails the test for everything that axe-core, an independent checker
// of the W3C's accessibility rules (WCAG 2), finds wrong.
func (b *Browser) Accessible(axe string) {
	b.t.Helper()
	program, err := os.ReadFile(axe)
	if err != nil {
		b.t.Fatalf("axe-core isn't installed: run scripts/test, which does that (%v)", err)
	}
	b.run(chromedp.Evaluate[chromedp.Void](string(program) + "; void 0"))
	found := Ask[[]string](b, `axe.run(document, {resultTypes: ["violations"]}).then(r => r.violations.map(v => v.id + ": " + v.help + " at " + v.nodes.slice(0, 3).map(n => n.html.slice(0, 160)).join(" | ")))`)
	if len(found) > 0 {
		b.t.Errorf("not accessible:\n%s", strings.Join(found, "\n"))
	}
}

func (b *Browser) run(actions ...chromedp.Action[chromedp.Void]) {
	b.t.Helper()
	ctx, stop := context.WithTimeout(b.ctx, patience)
	defer stop()
	if err := chromedp.Do(ctx, actions...); err != nil {
		b.t.Fatal(err)
	}
}
