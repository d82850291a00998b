package casefile

import (
	"errors"
	"fmt"
	"regexp"
	"strings"
	"unicode/utf8"

	"graftclock/internal/table"
)

// Bounds of what an address can be (RFC 5321 4.5.3.1, RFC 1035 2.3.4). A path of
// mail has 256 octets, two of them its brackets.
const (
	mostAddress = 254
	mostLocal   = 64
	mostHost    = 253
)

// A name of a machine is one of the internet's: its last label begins with a letter
// (RFC 1123 2.1), so nothing reads as a name here and as a number elsewhere. It needs
// no dot: localhost is one. Of IPv6 there is this machine's own address alone, in the
// one form that everybody writes: a server elsewhere has a name, and its certificate
// is for the name.
const (
	atomPattern  = `[A-Za-z0-9!#$%&'*+/=?^_\x60{|}~-]+` // RFC 5322 3.2.3
	labelPattern = `[A-Za-z0-9]([A-Za-z0-9-]{0,61}[A-Za-z0-9])?`
	namePattern  = `(` + labelPattern + `\.)*[A-Za-z]([A-Za-z0-9-]{0,61}[A-Za-z0-9])?`
	octetPattern = `(25[0-5]|2[0-4][0-9]|1[0-9]{2}|[1-9]?[0-9])`
	ipv4Pattern  = `(` + octetPattern + `\.){3}` + octetPattern
	portPattern  = `(:(6553[0-5]|655[0-2][0-9]|65[0-4][0-9]{2}|6[0-4][0-9]{3}|[1-5][0-9]{4}|[1-9][0-9]{0,3}))?`

	addressPattern  = atomPattern + `(\.` + atomPattern + `)*@` + namePattern
	hostPattern     = namePattern + `|` + ipv4Pattern + `|::1`
	herePattern     = `localhost|127(\.` + octetPattern + `){3}`
	calendarPattern = `(https://(` + namePattern + `|` + ipv4Pattern + `|\[::1\])|http://(` + herePattern + `|\[::1\]))` + portPattern +
		`/(([A-Za-z0-9._~!$&'()*+,;=:@-]|%[0-9A-Fa-f]{2})+/)*` // RFC 3986 3.3
)

// MailAddress is how an e-mail address must read: a dot-atom, @ and a domain in ASCII,
// at most 64 characters before the @ and 254 in all. Quoted local parts, comments,
// address literals and names beside the address are refused. Check needs no reader.
var MailAddress = &table.Grammar{Name: "an e-mail address such as name@example.org", Pattern: addressPattern, Most: mostAddress, Check: mailAddress}

var (
	hostGrammar     = &table.Grammar{Name: "a server such as mail.example.org", Pattern: hostPattern, Most: mostHost, Check: host}
	calendarGrammar = &table.Grammar{Name: "an address such as " + calendarExample, Pattern: calendarPattern, Check: calendarAddress}
)

const calendarExample = "https://calendar.example.org/desk/visits/"

var (
	addressForm  = regexp.MustCompile("^(?:" + addressPattern + ")$")
	hostForm     = regexp.MustCompile("^(?:" + hostPattern + ")$")
	hereForm     = regexp.MustCompile("^(?:" + herePattern + "|::1)$")
	calendarForm = regexp.MustCompile("^(?:" + calendarPattern + ")$")

	addressWithName = regexp.MustCompile(`<(` + addressPattern + `)>$`)
	serverInside    = regexp.MustCompile(`^(?:[a-z]+://)?(` + namePattern + `|` + ipv4Pattern + `)(?::[0-9]*)?/?$`)
)

// mailAddress names a letter that only looks like one of ASCII: nobody would see it.
func mailAddress(text string) error {
	odd := strings.IndexFunc(text, func(c rune) bool { return c > '~' })
	named := addressWithName.FindStringSubmatch(text)
	switch {
	case odd >= 0:
		c, _ := utf8.DecodeRuneInString(text[odd:])
		return fmt.Errorf("%q is no e-mail address: its %q is U+%04X, outside ASCII; want one such as name@example.org", text, c, c)
	case named != nil:
		return fmt.Errorf("%q is no e-mail address: want the address alone, %s", text, named[1])
	case !addressForm.MatchString(text):
		return fmt.Errorf("%q is no e-mail address: want one such as name@example.org", text)
	case strings.IndexByte(text, '@') > mostLocal:
		return fmt.Errorf("an e-mail address with %d characters before its @: want at most %d", strings.IndexByte(text, '@'), mostLocal)
	case len(text) > mostAddress:
		return fmt.Errorf("an e-mail address of %d characters: want at most %d", len(text), mostAddress)
	}
	return nil
}

// host accepts the name or number of a server, without anything about it.
func host(text string) error {
	if hostForm.MatchString(text) {
		return nil
	}
	if m := serverInside.FindStringSubmatch(text); m != nil {
		return fmt.Errorf("%q is no server: want its name alone, %s", text, m[1])
	}
	return fmt.Errorf("%s is no server: want a name such as mail.example.org, an IPv4 address or ::1", shown(text))
}

// isHere reports whether a server can only be this machine, so that nothing on the
// way can listen. What a name other than localhost stands for is not ours to know.
func isHere(host string) bool { return hereForm.MatchString(host) }

// calendarAddress tells an address that is nearly one how it was meant. It never
// repeats what may be a password.
func calendarAddress(text string) error {
	if calendarForm.MatchString(text) {
		return nil
	}
	if better, wrong := bettered(text); calendarForm.MatchString(better) {
		return fmt.Errorf("the address has %s: want %s", wrong, better)
	}
	if strings.Contains(text, "@") {
		return errors.New("the address has a user or a password, or is none: want one such as " + calendarExample + ", with the user under user")
	}
	return fmt.Errorf("%s is no address of a calendar: want one such as %s", shown(text), calendarExample)
}

// bettered returns what an address was likely meant to be, and what is wrong with it.
func bettered(text string) (better, wrong string) {
	var faults []string
	scheme, rest, _ := strings.Cut(text, "://")
	if end := strings.IndexAny(rest, "?#"); end >= 0 && !strings.Contains(rest[end:], "@") {
		rest = rest[:end]
		faults = append(faults, "a query or fragment")
	}
	if !strings.HasSuffix(rest, "/") {
		rest += "/"
		faults = append(faults, "no / at the end")
	}
	if better = scheme + "://" + rest; scheme == "http" && !calendarForm.MatchString(better) {
		better = "https://" + rest
		faults = append(faults, "http, which is only for a server on this machine")
	}
	return better, strings.Join(faults, " and ")
}

// shown quotes a text, unless it may hold a password or a key.
func shown(text string) string {
	if strings.ContainsAny(text, "@?#") {
		return "the text"
	}
	return fmt.Sprintf("%q", text)
}
