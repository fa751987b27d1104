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

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
)

// A program is one running Chromium.
type program struct {
	ctx  context.Context
	stop func()
	idle []*window // that no test uses now
}

// A window shows the pages of one test after the other.
type window struct {
	ctx  context.Context
	stop context.CancelFunc
	at   string // whose pages it showed last: scheme and host

	mu     sync.Mutex
	asked  []string // addresses asked for since a test took it
	thrown []string // by the page's scripts
}

// shared gives the browser of a test program that wanted one for all its tests; nil:
// one a test.
var shared func() (*program, error)

// Shared runs a package's tests in one browser, one after the other in the same windows,
// which saves starting one and loading its parts for every test. TestMain calls it:
//
//	func TestMain(m *testing.M) { os.Exit(testbrowser.Shared(m)) }
func Shared(m *testing.M) int {
	stop := func() {}
	shared = sync.OnceValues(func() (*program, error) {
		p, err := launch()
		if err == nil {
			stop = p.stop
		}
		return p, err
	})
	defer func() { stop() }()
	return m.Run()
}

// launch starts a browser, whose files lie in a folder of its own.
func launch() (*program, error) {
	path, err := find()
	if err != nil {
		return nil, err
	}
	home, err := os.MkdirTemp("", "b") // short: the paths of its sockets have a limit
	if err != nil {
		return nil, err
	}
	options := append(chromedp.DefaultExecAllocatorOptions[:],
		chromedp.ExecPath(path), chromedp.NoSandbox, chromedp.DisableGPU,
		chromedp.UserDataDir(filepath.Join(home, "profile")), chromedp.Env("TMPDIR="+home),
		chromedp.Flag("autoplay-policy", "no-user-gesture-required"),
		chromedp.Flag("disable-quic", true), chromedp.Flag("disable-component-update", true))
	allocator, end := chromedp.NewExecAllocator(context.Background(), options...)
	ctx, stop := chromedp.NewContext(allocator)
	p := &program{ctx: ctx, stop: func() { stop(); end(); remove(home) }}
	if err := chromedp.Do(ctx); err != nil {
		p.stop()
		return nil, err
	}
	return p, nil
}

// remove removes a browser's folder, to which its helpers may write for a moment after
// it has ended.
func remove(home string) {
	for until := time.Now().Add(limit); os.RemoveAll(home) != nil && time.Now().Before(until); {
		time.Sleep(20 * time.Millisecond)
	}
}

func find() (string, error) {
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome", "chrome"} {
		if p, err := exec.LookPath(name); err == nil {
			return p, nil
		}
	}
	return "", errors.New("no Chromium on this computer: install it, or run scripts/test, which does")
}

// start takes a window that shows nothing yet, until the test ends.
func start(t testing.TB, address string) *Browser {
	t.Helper()
	if shared != nil {
		p, err := shared()
		if err != nil {
			t.Fatal(err)
		}
		return p.take(t, address)
	}
	p, err := launch()
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(p.stop)
	return p.take(t, address)
}

// take gives a test a window that is as if it were new. One that showed pages from the same
// place before is the cheapest: Chromium takes another process for those of another.
func (p *program) take(t testing.TB, address string) *Browser {
	t.Helper()
	var w *window
	if len(p.idle) > 0 {
		i := max(0, slices.IndexFunc(p.idle, func(w *window) bool { return w.at == place(address) }))
		w = p.idle[i]
		p.idle = slices.Delete(p.idle, i, i+1)
	} else {
		var err error
		if w, err = p.open(); err != nil {
			t.Fatal(err)
		}
	}
	w.at = place(address)
	b := &Browser{t: t, window: w, program: p}
	t.Cleanup(b.leave)
	b.run(call(emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{}))
	b.Size(1200, 900)
	return b
}

// place is where an address leads, without which page there.
func place(address string) string {
	u, err := url.Parse(address)
	if err != nil {
		return ""
	}
	return u.Scheme + "://" + u.Host
}

// open opens one more window, and listens to it for as long as it is there.
func (p *program) open() (*window, error) {
	w := &window{}
	w.ctx, w.stop = chromedp.NewContext(p.ctx)
	// It lives as long as the context of the first call, so that mustn't be one with a limit.
	if err := chromedp.Do(w.ctx); err != nil {
		return nil, err
	}
	err := chromedp.Listen(w.ctx, func(event any) {
		w.mu.Lock()
		defer w.mu.Unlock()
		switch e := event.(type) {
		case *network.EventRequestWillBeSent: // a page opened from a folder doesn't know of its own requests
			w.asked = append(w.asked, e.Request.URL)
		case *runtime.EventExceptionThrown:
			said := e.ExceptionDetails.Text
			if x := e.ExceptionDetails.Exception; x != nil {
				said += " " + x.Description
			}
			w.thrown = append(w.thrown, said)
		case *page.EventJavascriptDialogOpening: // a page that asks whether to leave it is left
			go func() {
				_ = w.do(call(page.HandleJavaScriptDialog, page.HandleJavaScriptDialogParams{Accept: true}))
			}()
		}
	})
	if err != nil {
		return nil, err
	}
	return w, w.do(call(network.Enable, network.EnableParams{}), call(runtime.Enable, cdp.Empty{}))
}

// leave gives a window back with nothing of the test left in it.
func (b *Browser) leave() {
	w := b.window
	nothing := "about:blank"
	if strings.HasPrefix(w.at, "http") {
		nothing = w.at + "/nothing-is-here"
	}
	for _, id := range b.before {
		b.run(call(page.RemoveScriptToEvaluateOnNewDocument, page.RemoveScriptToEvaluateOnNewDocumentParams{Identifier: id}))
	}
	forget := chromedp.Evaluate[chromedp.Void](`try { sessionStorage.clear(); localStorage.clear() } catch {}; void 0`) // about:blank has neither
	err := w.do(chromedp.Navigate(nothing), forget, call(network.ClearBrowserCookies, cdp.Empty{}))
	if err != nil {
		b.t.Errorf("leaving the page: %v", err)
	}
	w.mu.Lock()
	thrown := w.thrown
	w.asked, w.thrown = nil, nil
	w.mu.Unlock()
	for _, said := range thrown {
		if b.complains {
			b.t.Errorf("the page's script threw: %s", said)
		}
	}
	if b.t.Failed() {
		w.stop()
		return
	}
	b.program.idle = append(b.program.idle, w)
}

// do does something in the window.
func (w *window) do(actions ...chromedp.Action[chromedp.Void]) error {
	ctx, stop := context.WithTimeout(w.ctx, limit)
	defer stop()
	return chromedp.Do(ctx, actions...)
}

func call[P, R any](command cdp.Command[P, R], params P) chromedp.Action[chromedp.Void] {
	return chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		_, err := cdp.Call(ctx, t, command, params)
		return err
	})
}
