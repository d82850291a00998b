package ics

import (
	"bytes"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"

	ical "github.com/arran4/golang-ical"
)

// Seen is what a calendar that somebody else may have written says of one event.
type Seen struct {
	// UID is as the file has it; "" where it has none.
	UID string
	// Start and End, which is exclusive, are instants on the clocks of the zone given
	// to Read, or midnights UTC of days where AllDay.
	Start, End time.Time
	AllDay     bool
	// The texts are clean and without spaces round them, as Encode writes them.
	Summary, Description, Location string
	// Status is empty where the file says nothing, or a word that no event can have.
	Status   Status
	Sequence int
	// Transparent leaves the time free for others.
	Transparent bool
	// Recurring marks an event that repeats, or is one of those of such an event.
	Recurring bool
	// Extra is what else a person finds in the event, in a fixed order: guests,
	// categories, links and the like, each with its name, and the alarms.
	Extra []string
}

// Read returns the events of a calendar file, as a server or another program may
// have written it, in the order of the file. A time without a zone of its own is
// read on the clocks of zone, an IANA name. A zone of the file must have an IANA
// name too, whole or behind the name of a vendor ("/vendor.example/2005/Europe/Dublin");
// what the file itself says of a zone is not read.
//
// Events that cannot be read are left out and named in the error, all of them, beside
// those that can. No file makes it panic.
func Read(data []byte, zone string) (seen []Seen, err error) {
	r := reader{zones: map[string]*time.Location{}}
	if r.zone, err = r.named(zone); err != nil {
		return nil, fmt.Errorf("read calendar: %w", err)
	}
	cal, err := parse(data)
	if err != nil {
		return nil, fmt.Errorf("read calendar: %w", err)
	}
	var failed []error
	count := 0
	for _, c := range cal.Components {
		event, ok := c.(*ical.VEvent)
		if other, is := c.(*ical.GeneralComponent); is && strings.EqualFold(other.Token, "VEVENT") {
			failed = append(failed, fmt.Errorf("read calendar: BEGIN:%s must be in capitals to be read", other.Token))
		}
		if !ok {
			continue
		}
		count++
		s, err := r.event(event)
		if err != nil {
			failed = append(failed, fmt.Errorf("read calendar: event %d (UID %.80q): %w", count, s.UID, err))
			continue
		}
		seen = append(seen, s)
	}
	return seen, errors.Join(failed...)
}

// parse reads a whole file into the model. The parser is content with less than a
// whole file, so the frame is looked at first; what it cannot stomach is an error.
func parse(data []byte) (cal *ical.Calendar, err error) {
	defer func() {
		if fault := recover(); fault != nil {
			cal, err = nil, fmt.Errorf("no readable calendar: %v", fault)
		}
	}()
	data = bytes.TrimSpace(bytes.TrimPrefix(data, []byte("\ufeff")))
	// RFC 5545 3.4: an object begins and ends with its own lines.
	if !bytes.HasPrefix(data, []byte("BEGIN:VCALENDAR")) || !bytes.HasSuffix(data, []byte("END:VCALENDAR")) {
		return nil, errors.New("no whole calendar: it must run from BEGIN:VCALENDAR to END:VCALENDAR")
	}
	text := unfolding.Replace(string(data))
	if err := nesting(text); err != nil {
		return nil, fmt.Errorf("no readable calendar: %w", err)
	}
	cal, err = ical.ParseCalendarWithOptions(strings.NewReader(text), ical.WithUnknownPropertyHandler(ical.AcceptUnknownPropertyHandler))
	if err != nil {
		return nil, fmt.Errorf("no readable calendar: %w", err)
	}
	return cal, nil
}

// unfolding joins each line with its continuations (RFC 5545 3.1).
var unfolding = strings.NewReplacer("\r\n ", "", "\r\n\t", "", "\n ", "", "\n\t", "", "\r\n", "\n")

// maxNesting is how deep components may lie in one another; no standard has four.
const maxNesting = 8

// nesting refuses an unfolded text whose components lie too deep in one another: the
// parser would follow them until it has no stack left, which ends the process. Each
// line must begin with its name, where the parser looks for one further on.
func nesting(text string) error {
	depth := 0
	for line := range strings.SplitSeq(text, "\n") {
		end := max(0, strings.IndexAny(line, ":;"))
		switch name := line[:end]; {
		case line == "":
		case !isToken(name):
			return fmt.Errorf("%.40q does not begin with the name of a property", line)
		case name == "BEGIN":
			depth++
		case name == "END":
			depth--
		}
		if depth > maxNesting {
			return errors.New("its components lie too deep in one another")
		}
	}
	return nil
}

// reader reads the events of one file.
type reader struct {
	zone  *time.Location            // of times without one
	zones map[string]*time.Location // by TZID, as far as met
}

// event returns what is to be seen of an event; on an error, its UID at least.
func (r *reader) event(event *ical.VEvent) (s Seen, err error) {
	s.UID = text(event, ical.PropertyUid)
	s.Summary = text(event, ical.PropertySummary)
	s.Description = text(event, ical.PropertyDescription)
	s.Location = text(event, ical.PropertyLocation)
	s.Transparent = strings.EqualFold(text(event, ical.PropertyTransp), string(ical.TransparencyTransparent))
	status := Status(strings.ToLower(text(event, ical.PropertyStatus)))
	if status == Tentative || status == Confirmed || status == Cancelled {
		s.Status = status
	}
	// RFC 5545 3.8.4.4, 3.8.5: one of several, or several in one.
	for _, name := range []ical.Property{ical.PropertyRecurrenceId, ical.PropertyRrule, ical.PropertyRdate, ical.PropertyExrule} {
		s.Recurring = s.Recurring || property(event, name) != nil
	}
	if revision := text(event, ical.PropertySequence); revision != "" {
		if s.Sequence, err = strconv.Atoi(revision); err != nil || s.Sequence < 0 {
			return s, fmt.Errorf("SEQUENCE %.40q is no whole number from 0", revision)
		}
	}
	s.Extra = extra(event)
	s.Start, s.End, s.AllDay, err = r.times(event)
	return s, err
}

// property returns a property of the event, nil if there is none. Names are the same
// in any case (RFC 5545 2.1), which the model's own search does not know.
func property(event *ical.VEvent, name ical.Property) *ical.IANAProperty {
	for i := range event.Properties {
		if strings.EqualFold(event.Properties[i].IANAToken, string(name)) {
			return &event.Properties[i]
		}
	}
	return nil
}

func text(event *ical.VEvent, name ical.Property) string {
	if p := property(event, name); p != nil {
		return visible(p.Value)
	}
	return ""
}
