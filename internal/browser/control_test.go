package browser_test

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"github.com/chromedp/cdproto/accessibility"
	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/dom"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
)

// thing is an element as a screen reader tells it: by role and name.
type thing struct {
	Role, Name string
	node       cdp.BackendNodeID
}

func (f thing) String() string { return f.Role + " " + f.Name }

// Roles of what can be filled in and of what can be pressed, as Chromium names them.
var (
	fieldRoles  = []string{"textbox", "searchbox", "spinbutton", "combobox", "listbox", "Date", "InputTime", "checkbox", "radio", "button"}
	pressRoles  = []string{"button", "link", "DisclosureTriangle", "DisclosureTriangleGrouped"}
	regionRoles = []string{"group", "region", "article", "listitem", "row", "form", "main", "navigation", "list", "table", "radiogroup", "Details"}
)

// call makes an action of a command of the browser's protocol.
func call[P, R any](command cdp.Command[P, R], params P) chromedp.Action[R] {
	return func(ctx context.Context, t *chromedp.Target) (R, error) { return cdp.Call(ctx, t, command, params) }
}

// things are the elements within another that go by a name, whole page: within nil.
func (p *page) things(within *thing, name string, roles []string) []thing {
	p.t.Helper()
	return run(p, func(ctx context.Context, t *chromedp.Target) ([]thing, error) {
		asked := accessibility.QueryAXTreeParams{AccessibleName: name}
		if within != nil {
			asked.BackendNodeID = within.node
		} else {
			document, err := cdp.Call(ctx, t, runtime.Evaluate, runtime.EvaluateParams{Expression: "document"})
			if err != nil {
				return nil, err
			}
			asked.ObjectID = document.Result.ObjectID
		}
		answer, err := cdp.Call(ctx, t, accessibility.QueryAXTree, asked)
		if err != nil {
			return nil, nil // the page is being replaced: asked again
		}
		var all []thing
		for _, n := range answer.Nodes {
			if f := thingOf(n); !n.Ignored && slices.Contains(roles, f.Role) {
				all = append(all, f)
			}
		}
		return all, nil
	})
}

func thingOf(n *accessibility.Node) thing {
	return thing{spokenValue(n.Role), spokenValue(n.Name), n.BackendDOMNodeID}
}

func spokenValue(v *accessibility.Value) string {
	var s string
	if v != nil {
		json.Unmarshal(v.Value, &s)
	}
	return s
}

// one waits for the one element of a name. Two of one name are a fault of the page: a
// screen reader cannot tell them apart.
func (p *page) one(within *thing, name string, roles []string) thing {
	p.t.Helper()
	var found []thing
	p.until(func() bool {
		found = p.things(within, name, roles)
		return len(found) > 0
	}, func() string { return fmt.Sprintf("there is no %s called %q", strings.Join(roles, " or "), name) })
	if len(found) > 1 {
		p.t.Fatalf("%d go by the name %q: %v\nat %s", len(found), name, found, p.where())
	}
	return found[0]
}

// part is a part of the page by its name, within the parts named before it: a fieldset
// by its legend, a region by its label.
func (p *page) part(names ...string) *thing {
	p.t.Helper()
	var within *thing
	for _, name := range names {
		found := p.one(within, name, regionRoles)
		within = &found
	}
	return within
}

// at is the first element that a CSS selector finds, where a part has no name.
func (p *page) at(selector string) *thing {
	p.t.Helper()
	var found *thing
	p.until(func() bool {
		found = run(p, func(ctx context.Context, t *chromedp.Target) (*thing, error) {
			element, err := cdp.Call(ctx, t, runtime.Evaluate, runtime.EvaluateParams{Expression: fmt.Sprintf("document.querySelector(%q)", selector)})
			if err != nil || element.Result.ObjectID == "" {
				return nil, err
			}
			node, err := cdp.Call(ctx, t, dom.DescribeNode, dom.DescribeNodeParams{ObjectID: element.Result.ObjectID})
			if err != nil {
				return nil, nil // the page is being replaced: asked again
			}
			return &thing{"element", selector, node.Node.BackendNodeID}, nil
		})
		return found != nil
	}, func() string { return "there is no " + selector })
	return found
}

// on calls a function of JavaScript on an element; it gets the arguments after it.
func on[T any](p *page, f thing, function string, args ...any) T {
	p.t.Helper()
	return run(p, func(ctx context.Context, t *chromedp.Target) (T, error) {
		var zero T
		object, err := cdp.Call(ctx, t, dom.ResolveNode, dom.ResolveNodeParams{BackendNodeID: f.node})
		if err != nil {
			return zero, fmt.Errorf("%s: %w", f, err)
		}
		target := func(params *runtime.CallFunctionOnParams) { params.ObjectID = object.Object.ObjectID }
		return chromedp.CallFunctionOn[T](function, target, args...)(ctx, t)
	})
}

// value is what a field holds.
func (p *page) value(name string) string {
	p.t.Helper()
	return p.valueIn(nil, name)
}

func (p *page) valueIn(within *thing, name string) string {
	p.t.Helper()
	return on[string](p, p.one(within, name, fieldRoles), `function() { return this.type === "checkbox" || this.type === "radio" ? String(this.checked) : this.value }`)
}

// fill puts a value into the field of a name. Into a box to tick goes yes or no, into
// a list the words of the choice.
func (p *page) fill(name, value string) {
	p.t.Helper()
	p.fillIn(nil, name, value)
}

func (p *page) fillIn(within *thing, name, value string) {
	p.t.Helper()
	f := p.one(within, name, fieldRoles)
	switch kind := on[string](p, f, `function() { return this.type || this.localName }`); kind {
	case "checkbox", "radio":
		if on[bool](p, f, `function() { return this.checked }`) != (value == "yes") {
			p.click(f)
		}
	case "select-one":
		if !on[bool](p, f, choose, value) {
			p.t.Fatalf("%s has no choice %q\nat %s", f, value, p.where())
		}
	case "date", "time":
		on[bool](p, f, set, value)
	case "text", "search", "password", "number", "tel", "email", "url", "textarea":
		on[bool](p, f, `function() { this.scrollIntoView({block: "center"}); this.focus(); this.select(); return true }`)
		if value == "" {
			p.do(chromedp.KeyEvent("\b"))
		}
		run(p, call(input.InsertText, input.InsertTextParams{Text: value}))
	default:
		p.t.Fatalf("%s is a field of kind %s, which no test fills in", f, kind)
	}
}

// choose takes the choice whose words, or whose value, are given.
const choose = `function(words) {
	const spoken = (o) => o.label.replace(/\s+/g, " ").trim();
	const option = [...this.options].find((o) => spoken(o) === words) || [...this.options].find((o) => o.value === words);
	if (!option) return false;
	option.selected = true;
	this.dispatchEvent(new Event("input", {bubbles: true}));
	this.dispatchEvent(new Event("change", {bubbles: true}));
	return true;
}`

// set gives a field that is typed in parts its whole value.
const set = `function(value) {
	this.value = value;
	this.dispatchEvent(new Event("input", {bubbles: true}));
	this.dispatchEvent(new Event("change", {bubbles: true}));
	return true;
}`

// attach gives a file to a field for files.
func (p *page) attach(name string, paths ...string) {
	p.t.Helper()
	f := p.one(nil, name, fieldRoles)
	run(p, call(dom.SetFileInputFiles, dom.SetFileInputFilesParams{BackendNodeID: f.node, Files: paths}))
}

// press clicks a button, a link or what folds out, and stays on the page.
func (p *page) press(name string) {
	p.t.Helper()
	p.click(p.one(nil, name, pressRoles))
}

// follow clicks what leads to another page and waits for that.
func (p *page) follow(name string) {
	p.t.Helper()
	p.followIn(nil, name)
}

func (p *page) followIn(within *thing, name string) {
	p.t.Helper()
	f := p.one(within, name, pressRoles)
	p.loading(chromedp.Func(func(context.Context, *chromedp.Target) error { p.click(f); return nil }))
}

// click moves the mouse onto an element and clicks. It fails if something lies over it.
func (p *page) click(f thing) {
	p.t.Helper()
	at := on[[]float64](p, f, `function() {
		this.scrollIntoView({block: "center"});
		const box = this.getClientRects()[0];
		if (!box) return [];
		const x = box.x + box.width / 2, y = box.y + box.height / 2;
		const top = document.elementFromPoint(x, y);
		return top && (this === top || this.contains(top) || top.control === this) ? [x, y] : [];
	}`)
	if len(at) == 0 {
		p.t.Fatalf("%s cannot be clicked: it is hidden or covered\nat %s", f, p.where())
	}
	p.do(chromedp.MouseClickXY(at[0], at[1]))
}
