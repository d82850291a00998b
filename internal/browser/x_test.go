package browser_test

import (
	"testing"

	"github.com/chromedp/chromedp"
)

func TestX(t *testing.T) {
	h := openHouse(t, "fenwick", "marsh", "okafor")
	p := h.signedIn(clerk)
	for _, at := range []string{"/case/HR-2041", "/case/HR-2047", "/case/HR-2044"} {
		p.goTo(at)
		p.unfold()
		p.larger(true)
		t.Log(at, run(p, chromedp.Evaluate[[]string](`(() => { const w = document.documentElement.clientWidth; return [String(document.scrollingElement.scrollWidth)].concat([...document.querySelectorAll("body *")].filter((e) => e.getBoundingClientRect().right > w - 3 && e.scrollWidth >= 0 && !e.matches("body, header, main")).map((e) => e.getBoundingClientRect().right + " " + e.outerHTML.slice(0, 100)).slice(0, 8), [...document.querySelectorAll("body *")].filter((e) => e.scrollWidth > e.clientWidth + 1 && e.clientWidth > 0).map((e) => "SCROLLS " + e.scrollWidth + " " + e.clientWidth + e.outerHTML.slice(0, 100)).slice(0,12)) })()`)))
	}
}
