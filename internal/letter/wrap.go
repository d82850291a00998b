package letter

import (
	"strings"
	"unicode/utf8"
)

// textWidth is the longest line of the text form, in characters (code points).
const textWidth = 72

// wrapText folds every line between words to textWidth, keeps its indent and hangs the
// rest of a list's line under its first word. A word too long for a line stands
// alone and whole. Runs of empty lines become one, and the text ends with one
// line feed.
func wrapText(text string) string {
	var out strings.Builder
	empty := true // no empty lines at the top
	for line := range strings.SplitSeq(strings.TrimSpace(text), "\n") {
		words := strings.FieldsFunc(line, func(r rune) bool { return r == ' ' || r == '\t' }) // a no-break space holds
		if len(words) == 0 {
			if !empty {
				out.WriteByte('\n')
			}
			empty = true
			continue
		}
		empty = false
		wrapLine(&out, indentOf(line), words)
	}
	return out.String()
}

func indentOf(line string) string {
	return line[:len(line)-len(strings.TrimLeft(line, " "))]
}

func wrapLine(out *strings.Builder, indent string, words []string) {
	hang := indent
	if words[0] == "-" || words[0] == "*" {
		hang += "  "
	}
	out.WriteString(indent)
	width := len(indent)
	for i, word := range words {
		length := utf8.RuneCountInString(word)
		switch {
		case i == 0:
		case width+1+length > textWidth && width > len(hang):
			out.WriteString("\n" + hang)
			width = len(hang)
		default:
			out.WriteByte(' ')
			width++
		}
		out.WriteString(word)
		width += length
	}
	out.WriteByte('\n')
}
