package paper

import (
	"fmt"
	"strings"
)

// tag says what a part of the document is (ISO 32000-1, 14.8.4: the standard structure
// types). A tag without a parent is a part of the document itself.
type tag struct {
	kind   string
	parent *tag
	scope  string // of a TH
	span   int    // columns of a cell; below 2: one
	alt    string // of a Figure
}

// tree is what the tags of a document hold, in the order in which it is printed.
type tree struct {
	nodes  []*node
	of     map[*tag]*node
	pages  [][]*node // of each page: whose each stretch of marked content is
	annots []annot
}

// node is a tag in the file. Its kids are in order.
type node struct {
	tag    *tag
	kids   []kid
	bounds [4]float64 // of a Figure, in pt: left, bottom, right, top
}

// kid is a node, a stretch of marked content of a page, or the area of a link.
type kid struct {
	node         *node
	page, number int // the stretch; or page and number of the area among all
	area         bool
}

// annot is the area of a link on a page, in pt from the bottom left corner.
type annot struct {
	page int
	rect [4]float64
	link string
	says string
	node *node
}

func newTree() *tree {
	root := &node{tag: &tag{kind: "Document"}}
	return &tree{nodes: []*node{root}, of: map[*tag]*node{nil: root}}
}

// node finds a tag's node, and makes it, behind all that was printed before, where the
// tag appears for the first time.
func (t *tree) node(of *tag) *node {
	if n, known := t.of[of]; known {
		return n
	}
	parent := t.node(of.parent)
	n := &node{tag: of}
	parent.kids = append(parent.kids, kid{node: n})
	t.nodes, t.of[of] = append(t.nodes, n), n
	return n
}

// stretch begins a stretch of marked content on the last page and returns its number.
func (t *tree) stretch(of *tag) int {
	n, page := t.node(of), len(t.pages)-1
	number := len(t.pages[page])
	t.pages[page] = append(t.pages[page], n)
	n.kids = append(n.kids, kid{page: page, number: number})
	return number
}

// area adds the area of a link on the last page.
func (t *tree) area(of *tag, a annot) {
	a.node, a.page = t.node(of), len(t.pages)-1
	a.node.kids = append(a.node.kids, kid{page: a.page, number: len(t.annots), area: true})
	t.annots = append(t.annots, a)
}

// tags adds the tree to a file whose pages have the numbers from first on. It returns
// the number of its root and what each page says of its links.
func (f *file) tags(t *tree, first int) (root int, annots []string) {
	root = f.reserve(1)
	parents := f.reserve(1)
	nodes := f.reserve(len(t.nodes))
	areas := f.reserve(len(t.annots))
	numbers := make(map[*node]int, len(t.nodes))
	for i, n := range t.nodes {
		numbers[n] = nodes + i
	}
	f.set(root, "<</Type /StructTreeRoot /K %d 0 R /ParentTree %d 0 R /ParentTreeNextKey %d>>", nodes, parents, len(t.pages)+len(t.annots))
	f.set(parents, "<</Nums [%s]>>", t.parents(numbers))
	for i, n := range t.nodes {
		parent := root
		if i > 0 {
			parent = numbers[t.of[n.tag.parent]]
		}
		f.set(nodes+i, "<</Type /StructElem /S /%s /P %d 0 R%s /K [%s]>>", n.tag.kind, parent, n.attributes(), n.contents(numbers, areas, first))
	}
	annots = make([]string, len(t.pages))
	for i, a := range t.annots {
		f.set(areas+i, "<</Type /Annot /Subtype /Link /F 4 /Rect [%.2f %.2f %.2f %.2f] /Border [0 0 0] /Contents %s /StructParent %d /A <</S /URI /URI %s>>>>",
			a.rect[0], a.rect[1], a.rect[2], a.rect[3], textString(a.says), len(t.pages)+i, byteString(a.link))
		annots[a.page] += fmt.Sprintf("%d 0 R ", areas+i)
	}
	return root, annots
}

// contents are a node's kids: other nodes, stretches of pages, and links.
func (n *node) contents(numbers map[*node]int, areas, first int) string {
	var out strings.Builder
	for _, k := range n.kids {
		switch {
		case k.node != nil:
			fmt.Fprintf(&out, "%d 0 R ", numbers[k.node])
		case k.area:
			fmt.Fprintf(&out, "<</Type /OBJR /Pg %d 0 R /Obj %d 0 R>> ", first+k.page, areas+k.number)
		default:
			fmt.Fprintf(&out, "<</Type /MCR /Pg %d 0 R /MCID %d>> ", first+k.page, k.number)
		}
	}
	return out.String()
}

// parents is the way back: from each stretch of a page, and each area, to its node.
func (t *tree) parents(numbers map[*node]int) string {
	var out strings.Builder
	for i, nodes := range t.pages {
		fmt.Fprintf(&out, "%d [", i)
		for _, n := range nodes {
			fmt.Fprintf(&out, "%d 0 R ", numbers[n])
		}
		out.WriteString("] ")
	}
	for i, a := range t.annots {
		fmt.Fprintf(&out, "%d %d 0 R ", len(t.pages)+i, numbers[a.node])
	}
	return out.String()
}

// attributes are those that a reading program needs of a tag (14.8.5).
func (n *node) attributes() string {
	t := n.tag
	switch {
	case t.kind == "Figure":
		return fmt.Sprintf(" /Alt %s /A <</O /Layout /Placement /Block /BBox [%.2f %.2f %.2f %.2f]>>", textString(t.alt), n.bounds[0], n.bounds[1], n.bounds[2], n.bounds[3])
	case t.scope != "" && t.span > 1:
		return fmt.Sprintf(" /A <</O /Table /Scope /%s /ColSpan %d>>", t.scope, t.span)
	case t.scope != "":
		return fmt.Sprintf(" /A <</O /Table /Scope /%s>>", t.scope)
	case t.span > 1:
		return fmt.Sprintf(" /A <</O /Table /ColSpan %d>>", t.span)
	case t.kind == "L":
		return " /A <</O /List /ListNumbering /Disc>>"
	}
	return ""
}
