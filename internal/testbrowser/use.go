package testbrowser

import (
	"context"
	"fmt"
	"strings"
	"sync"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
)

// Visit shows an address in a new browser. Whatever the page's scripts throw, and
// whatever its own policy refuses, fails the test at its end.
func Visit(t testing.TB, address string) *Browser {
	t.Helper()
	b := start(t)
	b.complain()
	b.Go(address)
	return b
}

// Beside shows an address in a second window of the same browser.
func (b *Browser) Beside(address string) *Browser {
	b.t.Helper()
	ctx, stop := chromedp.NewContext(b.ctx)
	b.t.Cleanup(stop)
	second := &Browser{t: b.t, ctx: ctx, asked: &addresses{}}
	if err := chromedp.Do(ctx); err != nil {
		b.t.Fatal(err)
	}
	second.listen()
	second.complain()
	second.Go(address)
	return second
}

// Go shows another address.
func (b *Browser) Go(address string) {
	b.t.Helper()
	b.run(chromedp.Navigate(address))
}

// complain gathers what the page's scripts throw.
func (b *Browser) complain() {
	b.t.Helper()
	var mu sync.Mutex
	var wrong []string
	err := chromedp.Listen(b.ctx, func(event any) {
		if e, ok := event.(*runtime.EventExceptionThrown); ok {
			said := e.ExceptionDetails.Text
			if x := e.ExceptionDetails.Exception; x != nil {
				said += " " + x.Description
			}
			mu.Lock()
			wrong = append(wrong, said)
			mu.Unlock()
		}
	})
	if err != nil {
		b.t.Fatal(err)
	}
	b.run(call(runtime.Enable, cdp.Empty{}))
	b.t.Cleanup(func() {
		mu.Lock()
		defer mu.Unlock()
		for _, said := range wrong {
			b.t.Errorf("the page's script threw: %s", said)
		}
	})
}

// Until waits until an expression in the page is true; a promise is waited for. The
// page may go to another address meanwhile.
func (b *Browser) Until(expression string) {
	b.t.Helper()
	ctx, stop := context.WithTimeout(b.ctx, patience)
	defer stop()
	look := fmt.Sprintf(`new Promise((done) => { const look = async () => { let is = false; try { is = await (%s); } catch {} is ? done(true) : setTimeout(look, 15); }; look(); })`, expression)
	for {
		_, err := chromedp.Run(ctx, chromedp.Evaluate[bool](look, chromedp.EvalAwaitPromise))
		if err == nil {
			return
		}
		if ctx.Err() != nil || !strings.Contains(err.Error(), "navigated") {
			b.t.Fatalf("%s: %v", expression, err)
		}
	}
}

// Click clicks with the mouse in the middle of what a CSS selector finds first.
func (b *Browser) Click(selector string) {
	b.t.Helper()
	b.ClickAt(selector, 0.5, 0.5)
}

// ClickAt clicks on what a selector finds first, at shares of its width and height.
func (b *Browser) ClickAt(selector string, right, down float64) {
	b.t.Helper()
	x, y := b.spot(selector, right, down)
	b.run(chromedp.MouseClickXY(x, y))
}

// Stroke draws with the mouse held down over what a selector finds first, through
// points at shares of its width and height.
func (b *Browser) Stroke(selector string, points ...[2]float64) {
	b.t.Helper()
	for i, p := range points {
		x, y := b.spot(selector, p[0], p[1])
		kind := input.DispatchMouseEventTypeMouseMoved
		if i == 0 {
			kind = input.DispatchMouseEventTypeMousePressed
		}
		b.run(chromedp.MouseEvent(kind, x, y, chromedp.ButtonLeft, chromedp.ClickCount(1)))
		if i == len(points)-1 {
			b.run(chromedp.MouseEvent(input.DispatchMouseEventTypeMouseReleased, x, y, chromedp.ButtonLeft, chromedp.ClickCount(1)))
		}
	}
}

func (b *Browser) spot(selector string, right, down float64) (x, y float64) {
	b.t.Helper()
	b.Until(fmt.Sprintf("document.querySelector(%q)", selector))
	// Until it stands still: what scrolls into sight is laid out anew.
	at := Ask[[]float64](b, fmt.Sprintf(`(async () => {
		for (let before = ""; ;) {
			const e = document.querySelector(%q);
			if (e) e.scrollIntoView({block: "nearest", behavior: "instant"});
			await new Promise((done) => { requestAnimationFrame(() => requestAnimationFrame(done)); setTimeout(done, 100); });
			const r = e && e.isConnected ? e.getBoundingClientRect() : null, now = r ? [r.left, r.top, r.width, r.height] : [];
			if (r && String(now) === before) return now;
			before = String(now);
		}
	})()`, selector))
	if at[2] == 0 || at[3] == 0 {
		b.t.Fatalf("%s can't be clicked: it isn't shown", selector)
	}
	return at[0] + right*at[2], at[1] + down*at[3]
}

// Press types keys, as package kb of chromedp names those that aren't letters.
func (b *Browser) Press(keys string) {
	b.t.Helper()
	b.run(chromedp.KeyEvent(keys))
}

// PressWith types keys while modifiers are held down.
func (b *Browser) PressWith(keys string, held ...chromedp.Modifier) {
	b.t.Helper()
	b.run(chromedp.KeyEvent(keys, chromedp.KeyModifiers(held...)))
}

// Dark asks the page for its dark or its light look.
func (b *Browser) Dark(on bool) {
	b.t.Helper()
	look := "light"
	if on {
		look = "dark"
	}
	b.run(call(emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: look}}}))
}

// Media shows the page as on a "screen" or in "print", in colours that are "light" or "dark".
func (b *Browser) Media(kind, colours string) {
	b.t.Helper()
	b.run(call(emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: kind, Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: colours}}}))
}

// Window is a PNG of what the window shows.
func (b *Browser) Window() []byte {
	b.t.Helper()
	ctx, stop := context.WithTimeout(b.ctx, patience)
	defer stop()
	png, err := chromedp.Run(ctx, chromedp.CaptureScreenshot())
	if err != nil {
		b.t.Fatal(err)
	}
	return png
}

func call[P, R any](command cdp.Command[P, R], params P) chromedp.Action[chromedp.Void] {
	return chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		_, err := cdp.Call(ctx, t, command, params)
		return err
	})
}
