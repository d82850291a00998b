package casefile_test

import (
	"fmt"
	"strings"

	"go.yaml.in/yaml/v3"
	"pgregory.net/rapid"
)

// handwriting writes the tree of a clinic file as anybody might have typed it: keys in
// block or flow style, quoted or not, with comments and blank lines. Each comment bears
// a number and the path whose lines it stands on or between.
type handwriting struct {
	rt       *rapid.T
	comments int
}

// yes draws in one of so many cases.
func (h *handwriting) yes(of int) bool { return rapid.IntRange(1, of).Draw(h.rt, "whether") == 1 }

func (h *handwriting) comment(path string) string {
	h.comments++
	return fmt.Sprintf("# c%d %s ', \" ]} # a: b", h.comments, path)
}

// file is the whole text.
func (h *handwriting) file(root *yaml.Node) string {
	text := h.block(root, "", "")
	if h.yes(6) {
		text = h.flow(root, "", "") + "\n"
	}
	if h.yes(4) {
		text = strings.TrimSuffix(text, "\n")
	}
	if h.yes(4) {
		text = strings.ReplaceAll(text, "\n", "\r\n")
	}
	if h.yes(6) {
		text = "\ufeff" + text
	}
	return text
}

// apart is what may stand on lines of its own.
func (h *handwriting) apart(path, indent string) string {
	switch {
	case h.yes(6):
		return "\n"
	case h.yes(5):
		return strings.Repeat(" ", rapid.IntRange(0, len(indent)).Draw(h.rt, "in")) + h.comment(path) + "\n"
	}
	return ""
}

// behind is what may stand at the end of a line.
func (h *handwriting) behind(path string) string {
	if h.yes(4) {
		return strings.Repeat(" ", rapid.IntRange(1, 3).Draw(h.rt, "gap")) + h.comment(path) + "\n"
	}
	return "\n"
}

// block writes a map on lines, the first of them without its indent where it follows a
// dash.
func (h *handwriting) block(n *yaml.Node, path, indent string) string {
	var b strings.Builder
	for i := 0; i+1 < len(n.Content); i += 2 {
		key, value := n.Content[i], n.Content[i+1]
		below := strings.TrimPrefix(path+"."+key.Value, ".")
		if i > 0 || path == "" {
			b.WriteString(h.apart(path, indent))
		}
		b.WriteString(indent + h.text(key) + ":")
		b.WriteString(h.value(value, below, indent))
	}
	return b.String()
}

// value writes what follows a key, with the end of the line.
func (h *handwriting) value(n *yaml.Node, path, indent string) string {
	in := indent + strings.Repeat(" ", rapid.IntRange(1, 4).Draw(h.rt, "indent"))
	switch {
	case n.Kind == yaml.ScalarNode && h.yes(8) && n.ShortTag() == "!!str":
		return " >-\n" + in + strings.ReplaceAll(n.Value, " ", "\n"+in) + "\n"
	case n.Kind == yaml.ScalarNode:
		return " " + h.text(n) + h.behind(path)
	case len(n.Content) == 0 || h.yes(2):
		return " " + h.flow(n, path, in) + h.behind(path)
	case n.Kind == yaml.MappingNode:
		return h.behind(path) + h.apart(path, indent) + h.block(n, path, in)
	}
	if h.yes(3) {
		in = indent
	}
	text := h.behind(path)
	for i, item := range n.Content {
		below := fmt.Sprintf("%s[%d]", path, i)
		text += h.apart(path, indent) + in + "-"
		switch {
		case item.Kind == yaml.MappingNode && h.yes(2):
			lines := h.block(item, below, in+"  ")
			text += " " + strings.TrimPrefix(lines, in+"  ")
		case item.Kind == yaml.MappingNode && h.yes(6):
			text += "\n" + h.block(item, below, in+"  ")
		default:
			text += " " + h.flow(item, below, in+"  ") + h.behind(below)
		}
	}
	return text
}

// flow writes a value between brackets, on one line or, with comments, on several.
func (h *handwriting) flow(n *yaml.Node, path, indent string) string {
	if n.Kind == yaml.ScalarNode {
		return h.text(n)
	}
	open, closing, width := "[", "]", 1
	if n.Kind == yaml.MappingNode {
		open, closing, width = "{", "}", 2
	}
	if len(n.Content) == 0 {
		return open + strings.Repeat(" ", rapid.IntRange(0, 1).Draw(h.rt, "gap")) + closing
	}
	long := indent != "" && h.yes(4)
	var b strings.Builder
	b.WriteString(open)
	for i := 0; i < len(n.Content); i += width {
		below := fmt.Sprintf("%s[%d]", path, i)
		if long {
			b.WriteString("\n" + indent)
		}
		if width > 1 {
			below = strings.TrimPrefix(path+"."+n.Content[i].Value, ".")
			b.WriteString(h.text(n.Content[i]) + ": ")
		}
		b.WriteString(h.flow(n.Content[i+width-1], below, indent))
		if end := i+width == len(n.Content); !end || h.yes(4) {
			b.WriteString(",")
			if !long || end {
				b.WriteString(" ")
			}
		}
		if long && h.yes(3) {
			b.WriteString("  " + h.comment(below))
		}
	}
	if long {
		b.WriteString("\n" + indent)
	}
	b.WriteString(closing)
	return b.String()
}

// text writes a key or a word, with quotation marks now and then.
func (h *handwriting) text(n *yaml.Node) string {
	if n.ShortTag() != "!!str" && n.ShortTag() != "!!timestamp" {
		return n.Value
	}
	switch {
	case n.Style == 0 && !h.yes(5):
		return n.Value
	case h.yes(2):
		return "'" + strings.ReplaceAll(n.Value, "'", "''") + "'"
	}
	return `"` + strings.NewReplacer(`\`, `\\`, `"`, `\"`).Replace(n.Value) + `"`
}
