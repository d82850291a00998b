package browser_test

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"github.com/chromedp/cdproto/accessibility"
	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// mostStops is how often the tab key is pressed before a test gives up.
const mostStops = 400

// focused is what the keyboard now acts on.
func (p *page) focused() thing {
	p.t.Helper()
	return run(p, func(ctx context.Context, t *chromedp.Target) (thing, error) {
		got, err := cdp.Call(ctx, t, runtime.Evaluate, runtime.EvaluateParams{Expression: "document.activeElement"})
		if err != nil {
			return thing{}, err
		}
		no := false
		answer, err := cdp.Call(ctx, t, accessibility.GetPartialAXTree, accessibility.GetPartialAXTreeParams{ObjectID: got.Result.ObjectID, FetchRelatives: &no})
		if err != nil {
			return thing{}, err
		}
		return thingOf(answer.Nodes[0]), nil
	})
}

// tab goes to the next stop of the keyboard and fails if it cannot be seen there:
// WCAG 2.2, 2.4.7 and 2.4.11.
func (p *page) tab() thing {
	p.t.Helper()
	p.do(chromedp.KeyEvent(kb.Tab))
	fault := run(p, chromedp.Evaluate[string](`(() => {
		const e = document.activeElement;
		if (e === document.body) return "";
		// The sign that opens the calendar of a date field is a stop with a ring of the browser's own.
		if (["date", "time"].includes(e.type) && !e.matches(":focus-visible")) return "";
		const style = getComputedStyle(e);
		if (style.outlineStyle === "none" || parseFloat(style.outlineWidth) < 2) return "no outline: " + e.outerHTML.slice(0, 160);
		const box = e.getClientRects()[0];
		if (!box || box.bottom <= 0 || box.top >= innerHeight || box.right <= 0 || box.left >= innerWidth) return "outside the window: " + e.outerHTML.slice(0, 160);
		const top = document.elementFromPoint(Math.max(0, box.x) + Math.min(box.width, innerWidth) / 2, Math.max(1, box.y) + Math.min(box.height, innerHeight - Math.max(0, box.y)) / 2);
		return top && (e === top || e.contains(top) || top.contains(e)) ? "" : "covered: " + e.outerHTML.slice(0, 160);
	})()`))
	if fault != "" {
		p.t.Errorf("the focus cannot be seen on %s: %s", p.path(), fault)
	}
	return p.focused()
}

// tabTo goes on until the keyboard stands on an element of a name.
func (p *page) tabTo(name string, roles ...string) thing {
	p.t.Helper()
	return p.tabUntil(name, func(f thing) bool { return f.Name == name && slices.Contains(roles, f.Role) })
}

func (p *page) tabUntil(says string, met func(thing) bool) thing {
	p.t.Helper()
	var passed []string
	for range mostStops {
		f := p.tab()
		if met(f) {
			return f
		}
		passed = append(passed, f.String())
	}
	p.t.Fatalf("the tab key does not lead to %s but to\n%s", says, strings.Join(passed[:min(len(passed), 80)], "\n"))
	return thing{}
}

// enter presses what the keyboard stands on and waits for the page that follows.
func (p *page) enter() {
	p.t.Helper()
	p.loading(chromedp.KeyEvent(kb.Enter))
}

// typed types key by key.
func (p *page) typed(text string) {
	p.t.Helper()
	p.do(chromedp.KeyEvent(text))
}

// typedInto goes to a field by the tab key and types.
func (p *page) typedInto(name, text string) {
	p.t.Helper()
	f := p.tabTo(name, fieldRoles...)
	switch f.Role {
	case "Date":
		text = dateKeys(p, text)
	case "InputTime":
		text = timeKeys(p, text)
	default:
		p.do(chromedp.KeyEvent("a", chromedp.KeyModifiers(chromedp.ModifierCtrl)))
	}
	p.typed(text)
}

// dateKeys puts the parts of a day into the order in which the browser's own field
// takes them.
func dateKeys(p *page, text string) string {
	p.t.Helper()
	var year, month, dayOf string
	if _, err := fmt.Sscanf(strings.ReplaceAll(text, "-", " "), "%s %s %s", &year, &month, &dayOf); err != nil {
		p.t.Fatal(err)
	}
	order := run(p, chromedp.Evaluate[string](`new Intl.DateTimeFormat(navigator.language).formatToParts(new Date()).map((part) => part.type[0]).filter((c) => "ymd".includes(c)).join("")`))
	parts := map[rune]string{'y': year, 'm': month, 'd': dayOf}
	var keys strings.Builder
	for _, c := range order {
		keys.WriteString(parts[c])
	}
	return keys.String()
}

// timeKeys is the same of a time of day.
func timeKeys(p *page, text string) string {
	p.t.Helper()
	var hour, minute int
	if _, err := fmt.Sscanf(text, "%d:%d", &hour, &minute); err != nil {
		p.t.Fatal(err)
	}
	if !run(p, chromedp.Evaluate[bool](`new Intl.DateTimeFormat(navigator.language, {hour: "numeric"}).resolvedOptions().hour12`)) {
		return fmt.Sprintf("%02d%02d", hour, minute)
	}
	const noon = 12
	half := "a"
	if hour >= noon {
		half = "p"
	}
	return fmt.Sprintf("%02d%02d%s", (hour+noon-1)%noon+1, minute, half)
}
