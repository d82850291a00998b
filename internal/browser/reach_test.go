package browser_test

import (
	"strconv"
	"strings"

	"github.com/chromedp/chromedp"
)

// leastTarget is the least width and height of what is clicked, in CSS pixels: WCAG
// 2.2, 2.5.8.
const leastTarget = 24

// unfold opens everything that folds, so that all of the page is looked at.
func (p *page) unfold() {
	p.t.Helper()
	run(p, chromedp.Evaluate[chromedp.Void](`for (const d of document.querySelectorAll("details")) d.open = true`))
}

// fits fails where the page is to be scrolled sideways: WCAG 2.2, 1.4.10.
func (p *page) fits(name string) {
	p.t.Helper()
	says := run(p, chromedp.Evaluate[[]string](`(() => {
		const room = document.documentElement.clientWidth;
		if (document.scrollingElement.scrollWidth <= room) return [];
		const scrolls = (e) => e && (["auto", "scroll", "hidden"].includes(getComputedStyle(e).overflowX) || scrolls(e.parentElement));
		return [document.scrollingElement.scrollWidth + " pixels in a window of " + room].concat(
			[...document.querySelectorAll("body *")].filter((e) => e.getBoundingClientRect().right > room + 0.5 && !scrolls(e.parentElement)).slice(0, 5).map((e) => e.outerHTML.slice(0, 120)));
	})()`))
	if len(says) > 0 {
		p.t.Errorf("%s: %s", name, strings.Join(says, "\n"))
	}
}

// larger sets the text at 200 % and spaces it as readers may (WCAG 2.2, 1.4.4 and
// 1.4.12), or back.
func (p *page) larger(on bool) {
	p.t.Helper()
	run(p, chromedp.Evaluate[chromedp.Void](`(() => {
		const sheet = new CSSStyleSheet();
		sheet.replaceSync("html { font-size: 212.5% !important } * { line-height: 1.5 !important; letter-spacing: 0.12em !important; word-spacing: 0.16em !important }");
		document.adoptedStyleSheets = `+map[bool]string{true: "[sheet]", false: "[]"}[on]+`;
	})()`))
}

// reachable fails on what is too small to be hit. A link within a sentence may be as
// high as its line.
func (p *page) reachable(name string) {
	p.t.Helper()
	small := run(p, chromedp.Evaluate[[]string](`(() => {
		const targets = "a[href], button, input:not([type=hidden]), select, textarea, summary, [tabindex='0'][role]";
		const inSentence = (e) => {
			if (e.localName !== "a" || getComputedStyle(e).display !== "inline") return false;
			let block = e.parentElement;
			while (getComputedStyle(block).display === "inline") block = block.parentElement;
			const rest = block.cloneNode(true);
			for (const other of rest.querySelectorAll("a, button, input, select, .away")) other.remove();
			return /[\p{L}\p{N}]/u.test(rest.textContent);
		};
		const least = `+strconv.Itoa(leastTarget)+`;
		return [...document.querySelectorAll(targets)].filter((e) => e.checkVisibility()).map((e) => [e, e.getBoundingClientRect()])
			.filter(([e, box]) => box.right > 0 && (box.width < least || box.height < least) && !inSentence(e))
			.map(([e, box]) => Math.round(box.width * 10) / 10 + " x " + Math.round(box.height * 10) / 10 + ": " + e.outerHTML.slice(0, 160));
	})()`))
	if len(small) > 0 {
		p.t.Errorf("%s: targets below %d pixels, %s", name, leastTarget, some(small))
	}
}
