package browser_test

import (
	"context"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	pages "github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
)

// patience ends a wait for something that will not come. No test measures with it.
const patience = 30 * time.Second

// page is one tab with its own cookies: one person at one computer.
type page struct {
	t    testing.TB
	ctx  context.Context
	home string // address of the program, without a slash at the end
	seen *seen
}

// newPage opens a tab for a program at an address. What the browser complains of
// fails the test at its end.
func newPage(t testing.TB, home string) *page {
	t.Helper()
	ctx, leave := chromedp.NewContext(chromium.start(t), chromedp.WithNewBrowserContext())
	p := &page{t, ctx, home, &seen{home: home}}
	t.Cleanup(leave)
	t.Cleanup(func() { p.seen.report(t) })
	if err := chromedp.Listen(ctx, p.seen.listen); err != nil {
		t.Fatal("open a tab:", err)
	}
	p.size(wide)
	return p
}

// Widths of the window, in CSS pixels.
const (
	narrow = 320 // WCAG 2.2, 1.4.10: nothing is to be scrolled sideways at this width
	phone  = 360
	wide   = 1280
	height = 900
)

func (p *page) size(width int64) {
	p.t.Helper()
	p.do(chromedp.EmulateViewport(width, height))
}

// media shows the page as on a screen or as printed.
func (p *page) media(name string) {
	p.t.Helper()
	run(p, call(emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: name}))
}

// scripts lets the page run its script, or not. What the test itself asks still runs.
func (p *page) scripts(on bool) {
	p.t.Helper()
	run(p, call(emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: !on}))
}

// run runs one action in the tab.
func run[T any](p *page, a chromedp.Action[T]) T {
	p.t.Helper()
	ctx, stop := context.WithTimeout(p.ctx, patience)
	defer stop()
	value, err := chromedp.Run(ctx, a)
	if err != nil {
		p.t.Fatalf("%v\nat %s", err, p.where())
	}
	return value
}

func (p *page) do(steps ...chromedp.Action[chromedp.Void]) {
	p.t.Helper()
	run(p, chromedp.Steps(steps...))
}

// where says what the tab shows, for a test that fails.
func (p *page) where() string {
	ctx, stop := context.WithTimeout(p.ctx, patience)
	defer stop()
	text, err := chromedp.Run(ctx, chromedp.Evaluate[string](`document.location + "\n" + (document.body ? document.body.innerText : "")`))
	if err != nil {
		return err.Error()
	}
	return text
}

// goTo loads an address of the program.
func (p *page) goTo(path string) {
	p.t.Helper()
	p.loading(chromedp.Navigate(p.home + path))
}

// loading runs what loads another page and waits until that stands.
func (p *page) loading(act chromedp.Action[chromedp.Void]) {
	p.t.Helper()
	run(p, chromedp.WaitEvent(pages.LoadEventFired, nil, act))
}

func (p *page) reload() {
	p.t.Helper()
	p.loading(chromedp.Reload())
}

// path is the address of the page within the program.
func (p *page) path() string {
	p.t.Helper()
	return strings.TrimPrefix(run(p, chromedp.Evaluate[string](`document.location.href`)), p.home)
}

// text is what can be read on the page, with single spaces.
func (p *page) text() string {
	p.t.Helper()
	return strings.Join(strings.Fields(run(p, chromedp.Evaluate[string](`document.body ? document.body.innerText : ""`))), " ")
}

// title is the page's main heading.
func (p *page) title() string {
	p.t.Helper()
	return run(p, chromedp.Evaluate[string](`document.querySelector("h1").innerText`))
}

// await waits until the page shows every one of the texts.
func (p *page) await(texts ...string) {
	p.t.Helper()
	var missing string
	p.until(func() bool {
		shown := p.text()
		for _, text := range texts {
			if !strings.Contains(shown, text) {
				missing = text
				return false
			}
		}
		return true
	}, func() string { return "the page does not say " + missing })
}

// never fails if the page shows a text.
func (p *page) never(text string) {
	p.t.Helper()
	if strings.Contains(p.text(), text) {
		p.t.Errorf("the page says %q\nat %s", text, p.where())
	}
}

// until asks again until the answer is yes.
func (p *page) until(met func() bool, says func() string) {
	p.t.Helper()
	const again = 20 * time.Millisecond
	for end := time.Now().Add(patience); !met(); time.Sleep(again) {
		if time.Now().After(end) {
			p.t.Fatalf("%s\nat %s", says(), p.where())
		}
	}
}
