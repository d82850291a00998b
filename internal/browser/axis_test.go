package browser_test

import (
	"strings"

	"github.com/chromedp/chromedp"
)

// axisFaults measures the words of a case's drawing as the browser sets them.
const axisFaults = `(() => {
	const drawing = document.querySelector("svg#axis, .axis svg"), room = drawing.getBoundingClientRect(), said = [];
	const words = [...drawing.querySelectorAll("text")].map((e) => [e.textContent.trim(), e.getBoundingClientRect(), parseFloat(getComputedStyle(e).fontSize) * room.width / drawing.viewBox.baseVal.width]);
	if (!words.length) said.push("no words");
	for (const [n, [text, box, size]] of words.entries()) {
		if (size < 12) said.push(text + " is " + size + " pixels high");
		if (box.left < room.left || box.right > room.right + 0.5 || box.top < room.top || box.bottom > room.bottom + 0.5) said.push(text + " leaves the drawing");
		for (const [other, o] of words.slice(0, n)) {
			if (Math.min(box.right, o.right) - Math.max(box.left, o.left) > 0.5 && Math.min(box.bottom, o.bottom) - Math.max(box.top, o.top) > size * 0.2) said.push(text + " lies over " + other);
		}
	}
	return said;
})()`

// axesCanBeRead opens every case on the narrowest page and wants each word of its
// drawing whole, apart from the others and at least 12 pixels high.
func (p *page) axesCanBeRead(h *house) {
	p.t.Helper()
	p.size(narrow)
	for _, kept := range h.cases() {
		p.goTo("/case/" + string(kept.Case))
		if says := run(p, chromedp.Evaluate[[]string](axisFaults)); len(says) > 0 {
			p.t.Errorf("%s: %s", kept.Case, strings.Join(says, "\n"))
		}
	}
	p.size(wide)
}
