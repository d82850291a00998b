package ics

import (
	"fmt"
	"strings"
	"unicode"

	"graftclock/internal/graft"
)

// messageRefusals lists what makes the calendar unfit for the message that its Method
// wants it to be (RFC 5546 3.2.2, 3.2.5); a plain file has none.
func (c Calendar) messageRefusals() []error {
	var refused []error
	refuse := func(format string, args ...any) {
		refused = append(refused, fmt.Errorf(format, args...))
	}
	switch c.Method {
	case "":
		return nil
	case Request, Cancel:
	default:
		refuse("method %q is not %s or %s", string(c.Method), Request, Cancel)
	}
	if len(c.Events) > 1 {
		refuse("a message has one event; want no more than one of %d", len(c.Events))
	}
	if len(c.Events) > 0 && c.Method == Request && c.Events[0].Status == Cancelled {
		refuse("a cancelled event is no request")
	}
	if why := graft.AddressFault(c.Organizer.Address); why != "" {
		refuse("organizer's address %s", why)
	}
	if why := graft.AddressFault(c.Attendee.Address); why != "" {
		refuse("attendee's address %s", why)
	}
	return refused
}

// uri returns the address as a mailto: with the octets written out that a URI
// cannot hold as they are (RFC 6068 2).
func (p Party) uri() string {
	var b strings.Builder
	b.WriteString("mailto:")
	for i := range len(p.Address) {
		if octet := p.Address[i]; strings.IndexByte("%/?#&;=^`{|}", octet) >= 0 {
			fmt.Fprintf(&b, "%%%02X", octet)
		} else {
			b.WriteByte(octet)
		}
	}
	return b.String()
}

// commonName returns the party's name as every reader shows it. A parameter has
// no backslash, and what RFC 6868 puts in place of a quote or a line break is
// shown as it stands by some; so such characters give way to their likes.
func (p Party) commonName() string {
	var b strings.Builder
	before := ' '
	for _, r := range visible(p.Name) {
		switch {
		case r == '"' && (unicode.IsSpace(before) || unicode.Is(unicode.Ps, before)):
			b.WriteRune('\u201c')
		case r == '"':
			b.WriteRune('\u201d')
		case r == '\\':
			b.WriteRune('/')
		case r == '^':
			b.WriteRune('\u02c6')
		case r == '\n' || r == '\t':
			b.WriteRune(' ')
		default:
			b.WriteRune(r)
		}
		before = r
	}
	return b.String()
}

// parameters are those of ORGANIZER and, beside others, of ATTENDEE.
func (p Party) parameters(others map[string][]string) map[string][]string {
	all := map[string][]string{}
	for name, values := range others {
		all[name] = values
	}
	if name := p.commonName(); name != "" {
		all["CN"] = []string{name}
	}
	return all
}

// asked are the parameters of whom a request is for. The visit was agreed on before
// and nobody at the clinic reads answers, so none is expected: RSVP=FALSE (RFC 5545
// 3.2.17). All the same, who has not answered has not accepted: NEEDS-ACTION
// (RFC 5545 3.2.12).
var asked = map[string][]string{"PARTSTAT": {"NEEDS-ACTION"}, "ROLE": {"REQ-PARTICIPANT"}, "RSVP": {"FALSE"}}

// told are the parameters of whom a cancellation is for: there is nothing to answer.
var told = map[string][]string{"ROLE": {"REQ-PARTICIPANT"}}
