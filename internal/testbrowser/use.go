package testbrowser

import (
	"context"
	"fmt"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
)

// Visit shows an address. Whatever the page's scripts throw fails the test at its end.
func Visit(t testing.TB, address string) *Browser {
	t.Helper()
	b := start(t, address)
	b.complains = true
	b.Go(address)
	return b
}

// Beside shows an address in a second window of the same browser.
func (b *Browser) Beside(address string) *Browser {
	b.t.Helper()
	second := b.program.take(b.t, address)
	second.complains = true
	second.Go(address)
	return second
}

// Go shows another address.
func (b *Browser) Go(address string) {
	b.t.Helper()
	b.run(chromedp.Navigate(address))
}

// Before runs a script in every page that the window shows from now on, ahead of the
// page's own.
func (b *Browser) Before(script string) {
	b.t.Helper()
	b.run(chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		added, err := cdp.Call(ctx, t, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: script})
		if err == nil {
			b.before = append(b.before, added.Identifier)
		}
		return err
	}))
}

// Until waits until an expression in the page is true; a promise is waited for. The
// page may go to another address meanwhile.
func (b *Browser) Until(expression string) {
	b.t.Helper()
	ctx, stop := context.WithTimeout(b.ctx, limit)
	defer stop()
	// It is looked at often at first, then ten times a second.
	look := fmt.Sprintf(`new Promise((done) => { let pause = 8; const look = async () => { let is = false; try { is = await (%s); } catch {} is ? done(true) : setTimeout(look, pause = Math.min(100, pause * 1.5)); }; look(); })`, expression)
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
	x, y := b.spot(found(selector), right, down)
	b.run(chromedp.MouseClickXY(x, y))
}

// ClickOn clicks in the middle of the element that an expression comes to, once there is one.
func (b *Browser) ClickOn(expression string) {
	b.t.Helper()
	x, y := b.spot(expression, 0.5, 0.5)
	b.run(chromedp.MouseClickXY(x, y))
}

// Stroke draws with the mouse held down over what a selector finds first, through
// points at shares of its width and height.
func (b *Browser) Stroke(selector string, points ...[2]float64) {
	b.t.Helper()
	for i, p := range points {
		x, y := b.spot(found(selector), p[0], p[1])
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

func found(selector string) string { return fmt.Sprintf("document.querySelector(%q)", selector) }

// spot is a place on an element, at shares of its width and height, once it is there and
// stands still: what scrolls into sight is laid out anew.
func (b *Browser) spot(element string, right, down float64) (x, y float64) {
	b.t.Helper()
	b.Until(element)
	at := Ask[[]float64](b, fmt.Sprintf(`(async () => {
		for (let before = ""; ;) {
			const e = %s;
			if (e) e.scrollIntoView({block: "nearest", behavior: "instant"});
			await new Promise((done) => { requestAnimationFrame(() => requestAnimationFrame(done)); setTimeout(done, 100); });
			const r = e && e.isConnected ? e.getBoundingClientRect() : null, now = r ? [r.left, r.top, r.width, r.height] : [];
			if (r && String(now) === before) return now;
			before = String(now);
		}
	})()`, element))
	if at[2] == 0 || at[3] == 0 {
		b.t.Fatalf("%s can't be clicked: it isn't shown", element)
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
	ctx, stop := context.WithTimeout(b.ctx, limit)
	defer stop()
	png, err := chromedp.Run(ctx, chromedp.CaptureScreenshot())
	if err != nil {
		b.t.Fatal(err)
	}
	return png
}
