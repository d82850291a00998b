package graft

import (
	"regexp"
	"strings"
	"unicode"
)

const (
	atext = "[A-Za-z0-9!#$%&'*+/=?^_`{|}~-]+"        // RFC 5322 3.2.3
	label = "[A-Za-z0-9]([A-Za-z0-9-]*[A-Za-z0-9])?" // RFC 1123 2.1

	// MaxLocalPart is the most octets before the @ (RFC 5321 4.5.3.1.1).
	MaxLocalPart = 64
	// MaxAddress is the most octets of an address (RFC 5321 4.5.3.1.3, less the
	// brackets).
	MaxAddress = 254
)

var (
	localPart  = regexp.MustCompile(`^` + atext + `(\.` + atext + `)*$`)
	domainName = regexp.MustCompile(`^` + label + `(\.` + label + `)*$`)
)

// AddressFault says why an e-mail address does not go through every mail server as
// it is, or "". It takes a dot-string (RFC 5321 4.1.2), an at sign and a domain by
// name: no quotes, no comments, other scripts only in the ASCII form of a domain. It
// repeats nothing of the address.
func AddressFault(address string) string {
	local, domain, found := strings.Cut(address, "@")
	switch {
	case address == "":
		return "is empty"
	case strings.ContainsFunc(address, func(r rune) bool { return unicode.IsControl(r) || unicode.IsSpace(r) }):
		return "has a control character or a space"
	case !found || strings.Contains(domain, "@"):
		return "does not have one @"
	case len(local) > MaxLocalPart || len(address) > MaxAddress:
		return "is too long"
	case !localPart.MatchString(local):
		return "has something before the @ that is no name of a mailbox"
	case !domainName.MatchString(domain):
		return "has something after the @ that is no domain"
	}
	return ""
}
