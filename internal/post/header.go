package post

import (
	"bytes"
	"encoding/base64"
	"regexp"
	"strings"
	"unicode/utf8"

	"graftclock/internal/graft"
)

const (
	// columns is the longest line of a header that holds encoded words (RFC 2047 2).
	columns = 76
	// wordBytes of UTF-8 make an encoded word that fits behind "Subject: ".
	wordBytes = 39
	// plainWord is the longest word left unencoded; what is longer could not be
	// folded.
	plainWord = 60
)

// atoms are words that need no quotes (RFC 5322 3.2.3).
var atoms = regexp.MustCompile("^[A-Za-z0-9!#$%&'*+/=?^_`{|}~ -]+$")

// field writes one header field, folded between words (RFC 5322 2.2.3).
func field(out *bytes.Buffer, name string, words ...string) {
	column, _ := out.WriteString(name + ":")
	for i, word := range words {
		if i > 0 && column+1+len(word) > columns {
			out.WriteString("\r\n")
			column = 0
		}
		n, _ := out.WriteString(" " + word)
		column += n
	}
	out.WriteString("\r\n")
}

// unstructured splits a subject into words of ASCII.
func unstructured(text string) []string {
	text = graft.OneLine(text)
	if plain(text) {
		return strings.Fields(text)
	}
	return encoded(text)
}

// mailbox splits name and address (RFC 5322 3.4) into words of ASCII.
func mailbox(p Party) []string {
	name, address := graft.OneLine(p.Name), "<"+p.Address+">"
	switch {
	case name == "":
		return []string{p.Address}
	case !plain(name) || len(name) > plainWord:
		return append(encoded(name), address)
	case atoms.MatchString(name):
		return append(strings.Fields(name), address)
	}
	return []string{`"` + strings.NewReplacer(`\`, `\\`, `"`, `\"`).Replace(name) + `"`, address}
}

// plain reports whether a line may stand in a header as it is. A line that looks
// like encoded words may not: the reader would decode it.
func plain(line string) bool {
	for _, word := range strings.Fields(line) {
		if len(word) > plainWord {
			return false
		}
	}
	return !strings.Contains(line, "=?") && !strings.ContainsFunc(line, func(r rune) bool { return r < ' ' || r > '~' })
}

// encoded splits a line into encoded words (RFC 2047), never inside a character.
func encoded(line string) []string {
	var words []string
	for len(line) > 0 {
		n := min(wordBytes, len(line))
		for n < len(line) && !utf8.RuneStart(line[n]) {
			n--
		}
		words = append(words, "=?utf-8?B?"+base64.StdEncoding.EncodeToString([]byte(line[:n]))+"?=")
		line = line[n:]
	}
	return words
}
