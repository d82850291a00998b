package browser_test

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"graftclock/internal/reference"
)

// complaint is what axe-core says of a page by one of its rules.
type complaint struct {
	Rule, Impact string
	Says         []string // one for each element
}

// opinion is what axe-core has to say of a page.
type opinion struct {
	Violations []complaint
	Incomplete []complaint // it cannot tell
	Checked    int         // elements whose contrast is enough
}

// axeSource is the text of axe-core.
func axeSource(t testing.TB) string {
	t.Helper()
	reference.Node(t, "axe-core")
	text, err := os.ReadFile(filepath.Join(reference.Folder(), "node_modules", "axe-core", "axe.min.js"))
	if err != nil {
		reference.Missing(t, "node module axe-core", err)
	}
	return string(text)
}

// axeRun has every rule of axe-core look at the page that is no experiment: best
// practices, the targets of WCAG 2.2 and what its level AAA asks too.
const axeRun = `(async () => {
	const rules = axe.getRules().filter((r) => !r.tags.includes("experimental") && !r.tags.includes("deprecated"));
	const found = await axe.run(document, { iframes: false, rules: Object.fromEntries(rules.map((r) => [r.ruleId, { enabled: true }])) });
	const told = (list) => list.map((rule) => ({ Rule: rule.id, Impact: rule.impact || "",
		Says: rule.nodes.map((n) => n.html.slice(0, 200) + ": " + n.any.concat(n.all, n.none).map((c) => c.message).join("; ")) }));
	const checked = found.passes.filter((rule) => rule.id === "color-contrast-enhanced").reduce((sum, rule) => sum + rule.nodes.length, 0);
	return { Violations: told(found.violations), Incomplete: told(found.incomplete), Checked: checked };
})()`

// axe asks axe-core of the page as it stands.
func (p *page) axe() opinion {
	p.t.Helper()
	if !run(p, chromedp.Evaluate[bool](`typeof axe !== "undefined"`)) {
		run(p, chromedp.Evaluate[chromedp.Void](axeSource(p.t)))
	}
	return run(p, chromedp.Evaluate[opinion](axeRun, chromedp.EvalAwaitPromise))
}

// drawnWords are the elements of which axe-core rightly says that it cannot tell: words in
// a drawing, below which it sees a picture. The colours of drawings are looked at by the
// tests of the packages that make them.
var drawnWords = regexp.MustCompile(`: <(text|tspan)[ >]`)

// halfSeen is what axe-core says of words at the edge of what scrolls in a narrow window.
// Their colours are those of the wide one.
var halfSeen = regexp.MustCompile(`partially obscured by another element|element overlap`)

// ofLinks are the rules about what is clicked. On paper nothing is.
var ofLinks = regexp.MustCompile(`^(target-size|link-in-text-block|identical-links-same-purpose): `)

// accessible fails on anything that axe-core complains of but what is left out, each rule
// once with some of its elements.
func (p *page) accessible(name string, but *regexp.Regexp) {
	p.t.Helper()
	o := p.axe()
	for _, c := range o.Violations {
		if says := c.without(but); len(says) > 0 {
			p.t.Errorf("%s: %s (%s), %s", name, c.Rule, c.Impact, some(says))
		}
	}
	for _, c := range o.Incomplete {
		if says := c.without(but, drawnWords); len(says) > 0 {
			p.t.Errorf("%s: axe-core cannot tell: %s, %s", name, c.Rule, some(says))
		}
	}
	if o.Checked < 5 {
		p.t.Errorf("%s: the contrast of %d elements was seen", name, o.Checked)
	}
}

// without are the elements of a complaint, each after its rule, that are not left out.
func (c complaint) without(but ...*regexp.Regexp) []string {
	return slices.DeleteFunc(slices.Clone(c.Says), func(says string) bool {
		return slices.ContainsFunc(but, func(r *regexp.Regexp) bool { return r != nil && r.MatchString(c.Rule+": "+says) })
	})
}

// some are the first of many, with how many there are.
func some(says []string) string {
	const most = 5
	return fmt.Sprintf("%d times:\n%s", len(says), strings.Join(says[:min(most, len(says))], "\n"))
}
