package table

import (
	"fmt"
	"strings"

	"go.yaml.in/yaml/v3"
)

// Blank writes the shape as an empty YAML form: every key once, its meaning and
// what is allowed beside it, optional keys behind a comment sign.
func (s Shape) Blank() string {
	var b strings.Builder
	s.blankFields(&b, "", "")
	return b.String()
}

// blankFields writes the keys of a map; first replaces the indent of the first
// line, where a list item starts.
func (s Shape) blankFields(b *strings.Builder, first, indent string) {
	for i, f := range s.Fields {
		lead := indent
		if i == 0 && first != "" {
			lead = first
		}
		if !f.Required && !f.Usual {
			commented := &strings.Builder{}
			f.Shape.blank(commented, indent, indent+f.Key+":")
			for _, line := range strings.SplitAfter(commented.String(), "\n") {
				if line != "" {
					b.WriteString("# " + line)
				}
			}
			continue
		}
		f.Shape.blank(b, indent, lead+f.Key+":")
	}
}

func (s Shape) blank(b *strings.Builder, indent, head string) {
	comment := s.Doc
	if s.yamlKind() == yaml.ScalarNode {
		comment = strings.TrimPrefix(comment+"; "+s.Allows(), "; ")
	}
	line := head
	if comment != "" {
		line = fmt.Sprintf("%-34s # %s", head, comment)
	}
	b.WriteString(strings.TrimRight(line, " ") + "\n")
	switch {
	case s.Kind == KindMap:
		s.blankFields(b, "", indent+"  ")
	case s.Kind == KindList && s.Of.Kind == KindMap:
		s.Of.blankFields(b, indent+"  - ", indent+"    ")
	case s.Kind == KindList:
		fmt.Fprintf(b, "%s  -\n", indent)
	}
}
