package ics

import (
	"bytes"
	"strings"
	"unicode/utf8"
)

// contentLine is an unfolded line, taken apart.
type contentLine struct {
	at         int // the line of the file it starts on
	name       string
	parameters []parameter
	value      string
}

type parameter struct {
	name   string
	values []string
}

// parameter returns the first value of a parameter, or "".
func (c contentLine) parameter(name string) string {
	for _, p := range c.parameters {
		if p.name == name {
			return p.values[0]
		}
	}
	return ""
}

// contentLines checks the file octet by octet and returns what its lines say.
func (l *linter) contentLines(data []byte) []contentLine {
	var lines []contentLine
	for _, raw := range l.unfold(l.physical(data)) {
		line, fault := parseLine(raw.text)
		line.at = raw.at
		if fault != "" {
			l.complain(raw.at, "%s", fault)
			continue
		}
		lines = append(lines, line)
	}
	return lines
}

// rawLine is a line of the file and its number, from 1.
type rawLine struct {
	at   int
	text string
}

// physical checks and returns the lines of the file as they stand (RFC 5545
// 3.1).
func (l *linter) physical(data []byte) []rawLine {
	if len(data) == 0 {
		l.complain(1, "the file is empty")
	}
	if rest, marked := bytes.CutPrefix(data, []byte("\xef\xbb\xbf")); marked {
		l.complain(1, "a byte order mark stands before the calendar")
		data = rest
	}
	var lines []rawLine
	for at := 1; len(data) > 0; at++ {
		text, rest, ended := bytes.Cut(data, []byte("\n"))
		body, proper := bytes.CutSuffix(text, []byte("\r"))
		if !ended || !proper {
			l.complain(at, "the line does not end in CR LF")
		}
		l.octets(at, string(body))
		if len(bytes.Trim(body, " \t")) == 0 && (len(body) == 0 || len(lines) == 0 || !isFull(lines[at-2].text)) {
			l.complain(at, "the line is blank")
		}
		lines = append(lines, rawLine{at, string(body)})
		data = rest
	}
	return lines
}

// isFull reports whether a line is as long as one is before a fold. What follows it may
// be nothing but spaces, in the middle of a long run of them.
func isFull(text string) bool { return len(text) > maxOctets-utf8.UTFMax }

// octets checks one line without its end.
func (l *linter) octets(at int, text string) {
	if len(text) > maxOctets {
		l.complain(at, "the line has %d octets; want %d at most", len(text), maxOctets)
	}
	if !utf8.ValidString(text) {
		l.complain(at, "the line is not UTF-8, or a fold cuts a character in two")
	}
	if i := strings.IndexFunc(text, isForbidden); i >= 0 {
		l.complain(at, "the line holds the control character %#02x", text[i])
	}
}

// unfold joins each line with its continuations.
func (l *linter) unfold(lines []rawLine) []rawLine {
	var whole []rawLine
	var text strings.Builder
	flush := func() {
		if len(whole) > 0 {
			whole[len(whole)-1].text = text.String()
		}
		text.Reset()
	}
	for _, line := range lines {
		switch {
		case line.text == "": // complained of as blank
		case line.text[0] != ' ' && line.text[0] != '\t':
			flush()
			whole = append(whole, line)
			text.WriteString(line.text)
		case len(whole) == 0:
			l.complain(line.at, "the file starts with the continuation of a line")
		default:
			text.WriteString(line.text[1:])
		}
	}
	flush()
	return whole
}

// parseLine takes a content line apart, or says why it cannot.
func parseLine(text string) (line contentLine, fault string) {
	end := strings.IndexAny(text, ";:")
	if end < 0 || !isToken(text[:end]) {
		return line, "the line has no property name with a colon"
	}
	line.name = strings.ToUpper(text[:end])
	rest := text[end:]
	for rest[0] == ';' {
		var p parameter
		if p, rest, fault = parseParameter(rest[1:]); fault != "" {
			return line, line.name + ": " + fault
		}
		line.parameters = append(line.parameters, p)
	}
	line.value = rest[1:]
	return line, ""
}

// parseParameter reads NAME=value,value up to the semicolon or colon behind it.
func parseParameter(text string) (p parameter, rest, fault string) {
	name, rest, found := strings.Cut(text, "=")
	if !found || !isToken(name) {
		return p, "", "a parameter has no name"
	}
	p.name = strings.ToUpper(name)
	for {
		var value string
		if strings.HasPrefix(rest, `"`) {
			value, rest, found = strings.Cut(rest[1:], `"`)
			if !found {
				return p, "", "the quotes round " + p.name + " do not end"
			}
		} else {
			end := strings.IndexAny(rest, `,;:"`)
			if end < 0 {
				return p, "", "no colon before the value"
			}
			value, rest = rest[:end], rest[end:]
		}
		if strings.Contains(value, `\`) {
			return p, "", "a backslash in " + p.name + ": parameters are quoted, not escaped"
		}
		p.values = append(p.values, value)
		if !strings.HasPrefix(rest, ",") {
			break
		}
		rest = rest[1:]
	}
	if rest == "" || rest[0] != ';' && rest[0] != ':' {
		return p, "", "no colon or semicolon after " + p.name
	}
	return p, rest, ""
}
