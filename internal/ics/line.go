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
	if isClean(text) {
		return text
	}
	if !utf8.ValidString(text) {
		text = strings.ToValidUTF8(text, string(utf8.RuneError))
	}
	return strings.Map(func(r rune) rune {
		if isUnclean(r) {
			return -1
		}
		return r
	}, lineEnds.Replace(text))
}

// isClean reports whether clean leaves a text as it is, as it does most.
func isClean(text string) bool {
	for i := range len(text) {
		if suspect[text[i]] && startsUnclean(text[i:]) {
			return false
		}
	}
	return utf8.ValidString(text)
}

// suspect are the octets that a character may begin with which no text keeps.
var suspect = func() (octets [256]bool) {
	for b := range ' ' {
		octets[b] = b != '\n' && b != '\t'
	}
	octets[0x7f], octets["\u0080"[0]], octets["\u2028"[0]] = true, true, true
	return octets
}()

// startsUnclean reports whether such a character stands at the start of a text.
func startsUnclean(text string) bool {
	r, _ := utf8.DecodeRuneInString(text)
	return isUnclean(r) || r == '\u2028' || r == '\u2029'
}

func isUnclean(r rune) bool { return unicode.IsControl(r) && r != '\n' && r != '\t' }

// isWritable reports whether a value that is no TEXT can be written as it is:
// nothing in it could be escaped.
func isWritable(value string) bool {
	for i := range len(value) {
		switch b := value[i]; {
		case b >= utf8.RuneSelf:
			return utf8.ValidString(value[i:]) && !strings.ContainsFunc(value[i:], isForbidden)
		case b < ' ' && b != '\t', b == 0x7f:
			return false
		}
	}
	return true
}

// visible returns the clean text without the spaces round it, which readers
// drop or keep as they please; "" means that there is nothing to show.
func visible(text string) string { return strings.TrimSpace(clean(text)) }

// escapes are what stands behind a backslash in place of an octet of a TEXT
// (RFC 5545 3.3.11); 0 for all that stand for themselves.
var escapes = [256]byte{'\\': '\\', ';': ';', ',': ',', '\n': 'n'}

// appendText appends a clean text, escaped.
func appendText(dst []byte, text string) []byte {
	written := 0
	for i := range len(text) {
		if escape := escapes[text[i]]; escape != 0 {
			dst = append(append(dst, text[written:i]...), '\\', escape)
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
	quoted := strings.ContainsAny(value, ",;:") || addressed[name]
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
