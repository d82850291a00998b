package browser_test

import (
	"context"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/accessibility"
	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/chromedp"
)

// apart fails where two fields of a page go by the same name and no named group, form or
// list around them tells which is which (the parts of a date are within its field): WCAG 2.2, 1.3.1, 2.4.6 and 3.3.2.
func (p *page) apart(name string) {
	p.t.Helper()
	tree := run(p, func(ctx context.Context, t *chromedp.Target) ([]*accessibility.Node, error) {
		answer, err := cdp.Call(ctx, t, accessibility.GetFullAXTree, accessibility.GetFullAXTreeParams{})
		if err != nil {
			return nil, err
		}
		return answer.Nodes, nil
	})
	nodes := map[accessibility.NodeID]*accessibility.Node{}
	for _, n := range tree {
		nodes[n.NodeID] = n
	}
	told := map[string]bool{}
	for _, n := range tree {
		f := thingOf(n)
		if n.Ignored || f.Role == "button" || !slices.Contains(fieldRoles, f.Role) {
			continue
		}
		way := []string{f.Name}
		for up := nodes[n.ParentID]; up != nil; up = nodes[up.ParentID] {
			if around := thingOf(up); !up.Ignored && around.Name != "" && (slices.Contains(regionRoles, around.Role) || slices.Contains(fieldRoles, around.Role)) {
				way = append(way, around.Name)
			}
		}
		slices.Reverse(way)
		if says := strings.Join(way, " > "); told[says] {
			p.t.Errorf("%s: two fields are both told as %q", name, says)
		} else {
			told[says] = true
		}
	}
}

// TestFieldsOfOneNameAreNoticed plants a second form with the same fields, without a
// name and with one.
func TestFieldsOfOneNameAreNoticed(t *testing.T) {
	t.Parallel()
	const form = `<form aria-label="%"><p><label for="a%">Why</label><input id="a%"></p></form>`
	for around, says := range map[string]string{"": "both told as", "Give back": ""} {
		p := newPage(t, serve(t, "", strings.ReplaceAll(form, "%", "Hold")+strings.ReplaceAll(strings.Replace(form, "%", map[bool]string{true: "Hold", false: around}[around == ""], 1), "%", "Move")))
		p.goTo("/")
		if heard := p.hears(func() { p.apart("trial") }); !strings.Contains(heard, says) || says == "" && heard != "" {
			t.Errorf("round the second %q: heard %q, want %q", around, heard, says)
		}
	}
}
