package browser_test

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

// trial is a page that the tests test themselves with.
const trial = `<!DOCTYPE html><html lang="en"><head><title>Trial</title><link rel="icon" href="data:,">%s</head><body><main><h1>Trial</h1>
<form method="post" action="/"><fieldset><legend>One implant</legend>
<p><label for="tooth">Tooth</label><input id="tooth" name="tooth"></p>
<p><label for="day">Day</label><input id="day" name="day" type="date"></p>
<p><label for="time">Time</label><input id="time" name="time" type="time"></p>
<p><label for="side">Side</label><select id="side" name="side"><option>right</option><option value="L">left</option></select></p>
<p><input type="checkbox" id="kept" name="kept"> <label for="kept">Kept</label></p>
</fieldset><p><button>Send</button></p></form>%s</main></body></html>`

// serve answers with the trial page, or with what was sent by its form.
func serve(t *testing.T, head, body string) string {
	t.Helper()
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Content-Security-Policy", "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; form-action 'self'; base-uri 'none'")
		switch {
		case r.Method == http.MethodPost:
			r.ParseForm()
			fmt.Fprintf(w, `<!DOCTYPE html><title>Sent</title><link rel="icon" href="data:,"><h1>Sent</h1><p>%s</p>`, r.PostForm.Encode())
		case r.URL.Path == "/":
			fmt.Fprintf(w, trial, head, body)
		case r.URL.Path == "/loud.js":
			fmt.Fprint(w, `console.error("loud")`)
		case r.URL.Path == "/throws.js":
			fmt.Fprint(w, `throw new Error("thrown")`)
		case r.URL.Path == "/far.js":
			fmt.Fprint(w, `location.href = "http://far.example/"`)
		default:
			http.NotFound(w, r)
		}
	}))
	t.Cleanup(server.Close)
	return server.URL
}

func TestFieldsAreFilledByTheirNames(t *testing.T) {
	t.Parallel()
	for _, scripts := range []bool{true, false} {
		p := newPage(t, serve(t, "", ""))
		p.scripts(scripts)
		p.goTo("/")
		implant := p.part("One implant")
		p.fillIn(implant, "Tooth", "16")
		p.fill("Day", "2027-01-14")
		p.fill("Time", "09:30")
		p.fill("Side", "left")
		p.fill("Kept", "yes")
		p.follow("Send")
		p.await("day=2027-01-14&kept=on&side=L&time=09%3A30&tooth=16")
	}
}

// TestComplaintsOfTheBrowserAreHeard plants one fault after the other, so that silence
// means something.
func TestComplaintsOfTheBrowserAreHeard(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct{ head, body, says string }{
		"an inline script":       {"<script>document.title = 'changed'</script>", "", "Content Security Policy"},
		"an inline style":        {"", `<p style="color: red">red</p>`, "Content Security Policy"},
		"a message":              {`<script src="/loud.js"></script>`, "", "loud"},
		"an exception":           {`<script src="/throws.js"></script>`, "", "Uncaught"},
		"a missing script":       {`<script src="/absent.js"></script>`, "", "404 for GET /absent.js"},
		"a picture of elsewhere": {"", `<img src="http://far.example/x.png" alt="x">`, "Content Security Policy"},
		"a page of elsewhere":    {`<script src="/far.js" defer></script>`, "", "a request leaves the program"},
	} {
		t.Run(name, func(t *testing.T) {
			p := newPage(t, serve(t, c.head, c.body))
			p.goTo("/")
			var heard string
			p.until(func() bool {
				heard = strings.Join(p.seen.complaints(), "\n")
				return strings.Contains(heard, c.says)
			}, func() string { return fmt.Sprintf("heard %q, want %q", heard, c.says) })
			p.seen.forgive()
		})
	}
}

// TestTheKeyboardIsFollowed drives the trial page by keys alone, and sees a focus that
// cannot be seen.
func TestTheKeyboardIsFollowed(t *testing.T) {
	t.Parallel()
	p := newPage(t, serve(t, "", ""))
	p.goTo("/")
	p.spaced()
	p.typedInto("Tooth", "16")
	p.typedInto("Day", "2027-01-14")
	p.typedInto("Time", "09:30")
	p.typedInto("Side", "l")
	p.tabTo("Kept", "checkbox")
	p.typed(" ")
	p.tabTo("Send", "button")
	p.enter()
	p.await("day=2027-01-14&kept=on&side=L&time=09%3A30&tooth=16")
}

// TestFaultsOfAPageAreSeen plants faults into a page that has none, so that silence
// means something.
func TestFaultsOfAPageAreSeen(t *testing.T) {
	t.Parallel()
	p := newPage(t, serve(t, "", ""))
	p.goTo("/")
	if o := p.axe(); o.Checked < 5 || len(o.Incomplete) > 0 {
		t.Errorf("of the page as it is: %+v", o)
	}
	for rule, plant := range map[string]string{
		"html-has-lang":              `document.documentElement.removeAttribute("lang")`,
		"color-contrast":             `document.body.style.color = "#999"`,
		"color-contrast-enhanced":    `document.body.style.color = "#666"`,
		"landmark-no-duplicate-main": `document.body.append(document.createElement("main"))`,
		"heading-order":              `document.querySelector("main").insertAdjacentHTML("beforeend", "<h4>Left out</h4>")`,
		"label":                      `document.querySelector("label[for=tooth]").remove()`,
		"target-size":                `for (const b of document.querySelectorAll("button, input")) { b.style.cssText = "width: 8px; height: 8px; padding: 0; margin: 0; display: inline-block" }; document.querySelector("form").append(...document.querySelectorAll("button, input"))`,
	} {
		t.Run(rule, func(t *testing.T) {
			p.reload()
			run(p, chromedp.Evaluate[chromedp.Void](plant+"; 0"))
			o := p.axe()
			if !slices.ContainsFunc(o.Violations, func(c complaint) bool { return c.Rule == rule }) {
				t.Errorf("%+v, want %s", o.Violations, rule)
			}
		})
	}
}

// TestWhatIsWideSmallOrUnseenIsNoticed plants what axe-core does not look at.
func TestWhatIsWideSmallOrUnseenIsNoticed(t *testing.T) {
	t.Parallel()
	p := newPage(t, serve(t, "", ""))
	p.goTo("/")
	for name, c := range map[string]struct {
		plant, says string
		look        func()
	}{
		"too wide":      {`document.querySelector("h1").textContent = "wide".repeat(100)`, "in a window of", func() { p.fits("trial") }},
		"too small":     {`document.querySelector("button").style.cssText = "height: 20px; min-height: 0; padding: 0"`, "targets below", func() { p.reachable("trial") }},
		"a lone link":   {`document.querySelector("form").insertAdjacentHTML("afterend", "<p><a href='/x'>Elsewhere</a></p>")`, "targets below", func() { p.reachable("trial") }},
		"no focus":      {`document.getElementById("tooth").style.outline = "none"`, "no outline", func() { p.tab() }},
		"a hidden stop": {`document.getElementById("tooth").style.cssText = "position: absolute; left: -999px"`, "outside", func() { p.tab() }},
	} {
		t.Run(name, func(t *testing.T) {
			p.reload()
			p.spaced()
			run(p, chromedp.Evaluate[chromedp.Void](c.plant+"; 0"))
			heard := p.hears(c.look)
			if !strings.Contains(heard, c.says) {
				t.Errorf("heard %q, want %q", heard, c.says)
			}
		})
	}
}

// spaced makes the trial page one that has no fault of this kind.
func (p *page) spaced() {
	p.t.Helper()
	run(p, chromedp.Evaluate[chromedp.Void](`(() => {
		const sheet = new CSSStyleSheet();
		sheet.replaceSync("input, select, button { min-height: 30px; min-width: 30px } :focus-visible { outline: 3px solid black } h1 { overflow-wrap: normal }");
		document.adoptedStyleSheets = [sheet];
	})()`))
	if heard := p.hears(func() { p.fits("trial"); p.reachable("trial") }); heard != "" {
		p.t.Fatalf("without a plant: %s", heard)
	}
}

// heard is a test that only listens to what it is told.
type heard struct {
	testing.TB
	says []string
}

// Errorf implements testing.TB.
func (h *heard) Errorf(format string, args ...any) {
	h.says = append(h.says, fmt.Sprintf(format, args...))
}

// hears is what a look at the page would fail a test with.
func (p *page) hears(look func()) string {
	h, t := &heard{TB: p.t}, p.t
	p.t = h
	defer func() { p.t = t }()
	look()
	return strings.Join(h.says, "\n")
}
