package ics

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// maxOctets is the length of a line without its end (RFC 5545 3.1).
const maxOctets = 75

// lineEnds turns every way to end a line into the one that TEXT can escape.
var lineEnds = strings.NewReplacer("\r\n", "\n", "\r", "\n", "\u0085", "\n", "\u2028", "\n", "\u2029", "\n")

// isForbidden reports the control characters no value may hold (RFC 5545 3.1).
func isForbidden(r rune) bool { return r < ' ' && r != '\t' || r == 0x7f }

// clean returns the text as a TEXT value can carry it: valid UTF-8, lines ended
// by a line feed, no other control characters.
func clean(text string) string {
	if isPlain(text) {
		return text
	}
	if !utf8.ValidString(text) {
		text = strings.ToValidUTF8(text, string(utf8.RuneError))
	}
	return strings.Map(func(r rune) rune {
		if unicode.IsControl(r) && r != '\n' && r != '\t' {
			return -1
		}
		return r
	}, lineEnds.Replace(text))
}

// isPlain reports whether a text is ASCII and clean already, as most texts are.
func isPlain(text string) bool {
	for i := 0; i < len(text); i++ {
		if b := text[i]; b >= 0x7f || b < ' ' && b != '\n' && b != '\t' {
			return false
		}
	}
	return true
}

// visible returns the clean text without the spaces round it, which readers
// drop or keep as they please; "" means that there is nothing to show.
func visible(text string) string { return strings.TrimSpace(clean(text)) }

// appendText appends a clean text, escaped (RFC 5545 3.3.11).
func appendText(dst []byte, text string) []byte {
	written := 0
	for i := 0; i < len(text); i++ {
		switch b := text[i]; b {
		case '\\', ';', ',':
			dst = append(append(dst, text[written:i]...), '\\', b)
			written = i + 1
		case '\n':
			dst = append(append(dst, text[written:i]...), '\\', 'n')
			written = i + 1
		}
	}
	return append(dst, text[written:]...)
}

// addressed are the parameters whose values are always quoted, for they are
// addresses (RFC 5545 3.2).
var addressed = map[string]bool{
	"ALTREP": true, "DELEGATED-FROM": true, "DELEGATED-TO": true, "DIR": true, "MEMBER": true, "SENT-BY": true,
}

// appendParameter appends a parameter's value, quoted where RFC 5545 3.2 says so
// and with the quotes and line ends in it written as RFC 6868 says. A parameter
// knows no backslash.
func appendParameter(dst []byte, name, value string) []byte {
	quoted := addressed[name] || strings.ContainsAny(value, ",;:")
	if quoted {
		dst = append(dst, '"')
	}
	for _, r := range value { // bad UTF-8 comes out as U+FFFD
		switch r {
		case '"':
			dst = append(dst, "^'"...)
		case '^':
			dst = append(dst, "^^"...)
		case '\n':
			dst = append(dst, "^n"...)
		default:
			dst = utf8.AppendRune(dst, r)
		}
	}
	if quoted {
		dst = append(dst, '"')
	}
	return dst
}

// appendFolded appends a content line in pieces of at most 75 octets, never
// cutting a character in two (RFC 5545 3.1).
func appendFolded(dst, line []byte) []byte {
	room := maxOctets
	for len(line) > room {
		cut := room
		for cut > 0 && !utf8.RuneStart(line[cut]) {
			cut--
		}
		if cut == 0 { // no UTF-8 at all: cut anywhere rather than never
			cut = room
		}
		dst = append(append(dst, line[:cut]...), "\r\n "...)
		line = line[cut:]
		room = maxOctets - 1 // the space that marks a continuation counts
	}
	return append(append(dst, line...), "\r\n"...)
}

// isToken reports whether the name of a property or parameter may be written.
func isToken(name string) bool {
	for i := 0; i < len(name); i++ {
		switch b := name[i]; {
		case b >= 'A' && b <= 'Z', b >= 'a' && b <= 'z', b >= '0' && b <= '9', b == '-':
		default:
			return false
		}
	}
	return name != ""
}
