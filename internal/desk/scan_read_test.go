package desk_test

import (
	"bytes"
	"encoding/base64"
	"fmt"
	"io"
	"mime"
	"mime/multipart"
	"mime/quotedprintable"
	"net/mail"
	"regexp"
	"slices"
	"strings"
)

// spoken is one piece of text in what somebody gets, and where it stands: "SUMMARY",
// "ATTENDEE;CN", "file name".
type spoken struct{ where, text string }

// forms are what no reader takes for words: times, numbers of the format, names made by
// chance, the formats' own names (RFC 5545, 7986, 5322, 2045). Whatever has another
// form than its place wants is read word by word, as every text is.
var forms = formsOf(map[string]string{
	"file name": `patient\.ics|letter\.html|letter\.txt|visit-\d{4}-\d\d-\d\d(-\d)?\.ics`,
	"feed name": `[0-9a-f]{32}\.ics`,

	"property": `BEGIN|END|VERSION|PRODID|CALSCALE|METHOD|NAME|X-WR-CALNAME|REFRESH-INTERVAL|X-PUBLISHED-TTL|` +
		`UID|DTSTAMP|LAST-MODIFIED|SEQUENCE|SUMMARY|DESCRIPTION|LOCATION|STATUS|TRANSP|DTSTART|DTEND|ORGANIZER|ATTENDEE|` +
		`ACTION|TRIGGER|TZID|TZNAME|TZOFFSETFROM|TZOFFSETTO|RRULE`,
	"parameter":                   `VALUE|TZID|CN|ROLE|PARTSTAT|RSVP`,
	"BEGIN, END":                  `VCALENDAR|VEVENT|VALARM|VTIMEZONE|STANDARD|DAYLIGHT`,
	"VERSION":                     `2\.0`,
	"PRODID":                      `-//graftclock//calendar//EN|graftclock`,
	"CALSCALE":                    `GREGORIAN`,
	"METHOD, Content-Type;method": `REQUEST|CANCEL`,
	"REFRESH-INTERVAL":            `PT\d+H`,
	"X-PUBLISHED-TTL":             `PT\d+H`,
	"UID":                         `[0-9a-f]{8}-[0-9a-f]{4}-8[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}`,
	"DTSTAMP, LAST-MODIFIED":      `\d{8}T\d{6}Z`,
	"DTSTART, DTEND":              `\d{8}(T\d{6}Z?)?`,
	"SEQUENCE":                    `\d{1,3}`,
	"STATUS":                      `CONFIRMED|TENTATIVE|CANCELLED`,
	"TRANSP":                      `OPAQUE|TRANSPARENT`,
	"ACTION":                      `DISPLAY`,
	"TRIGGER":                     `-P\d{1,2}D`,
	"TZOFFSETFROM, TZOFFSETTO":    `[+-]\d{4}(\d\d)?`,
	"TZNAME":                      `[+-]\d\d(\d\d)?`,
	"RRULE":                       `FREQ=YEARLY;BYMONTH=\d{1,2};BYDAY=-?\d[A-Z]{2}`,
	"DTSTART;VALUE, DTEND;VALUE":  `DATE`,
	"REFRESH-INTERVAL;VALUE":      `DURATION`,
	"ATTENDEE;ROLE":               `REQ-PARTICIPANT`,
	"ATTENDEE;PARTSTAT":           `NEEDS-ACTION`,
	"ATTENDEE;RSVP":               `FALSE`,
	"header":                      `Date|From|To|Subject|Message-Id|Auto-Submitted|Mime-Version|Content-Type|Content-Transfer-Encoding|Content-Disposition`,
	"header parameter":            `boundary|charset|method|component|filename`,
	"Date":                        `[A-Z][a-z]{2}, \d\d [A-Z][a-z]{2} \d{4} \d\d:\d\d:\d\d [+-]\d{4}`,
	"Message-Id":                  `<[0-9a-f]{32}@harbourrow\.example>`,
	"Auto-Submitted":              `auto-generated`,
	"Mime-Version":                `1\.0`,
	"Content-Transfer-Encoding":   `base64|quoted-printable`,
	"Content-Type":                `multipart/mixed|multipart/alternative|text/plain|text/calendar`,
	"Content-Type;boundary":       `=_[0-9a-f]{24}`,
	"Content-Type;charset":        `utf-8`,
	"Content-Type;component":      `VEVENT`,
	"Content-Disposition":         `attachment`,
})

func formsOf(patterns map[string]string) map[string]*regexp.Regexp {
	all := map[string]*regexp.Regexp{}
	for places, pattern := range patterns {
		for place := range strings.SplitSeq(places, ", ") {
			all[place] = regexp.MustCompile(`^(?:` + pattern + `)$`)
		}
	}
	return all
}

func (s spoken) isFormal() bool {
	form := forms[s.where]
	return form != nil && form.MatchString(s.text)
}

// unfolds and unescapes are what a reader does (RFC 5545 3.1, 3.3.11; RFC 6868 3.1).
var (
	unfolds    = strings.NewReplacer("\r\n ", "", "\r\n\t", "")
	unescapes  = strings.NewReplacer(`\\`, `\`, `\n`, "\n", `\N`, "\n", `\,`, ",", `\;`, ";")
	parameters = strings.NewReplacer("^n", "\n", "^'", `"`, "^^", "^", `"`, "")
)

// calendarSpeaks takes a calendar apart to the last name and value.
func calendarSpeaks(data []byte) []spoken {
	var all []spoken
	for line := range strings.SplitSeq(strings.TrimSuffix(unfolds.Replace(string(data)), "\r\n"), "\r\n") {
		parts := cutOutside(line, ':', 2)
		heads := cutOutside(parts[0], ';', -1)
		name := heads[0]
		all = append(all, spoken{"property", name})
		for _, head := range heads[1:] {
			parameter, value, _ := strings.Cut(head, "=")
			all = append(all, spoken{"parameter", parameter}, spoken{name + ";" + parameter, parameters.Replace(value)})
		}
		for _, value := range parts[1:] {
			all = append(all, spoken{name, unescapes.Replace(value)})
		}
	}
	return all
}

// cutOutside cuts a line at a mark wherever that stands outside of quotes, into so many
// parts at most.
func cutOutside(line string, mark byte, most int) []string {
	var parts []string
	from, quoted := 0, false
	for i := range len(line) {
		if line[i] == '"' {
			quoted = !quoted
		}
		if line[i] == mark && !quoted && len(parts)+1 != most {
			parts, from = append(parts, line[from:i]), i+1
		}
	}
	return append(parts, line[from:])
}

// mailSpeaks takes a mail apart, header by header and part by part, as Go's own
// packages read it. The one body that is left out is the letter's.
func mailSpeaks(data, letter []byte) ([]spoken, error) {
	m, err := mail.ReadMessage(bytes.NewReader(data))
	if err != nil {
		return nil, err
	}
	return partSpeaks(m.Header, m.Body, letter)
}

func partSpeaks(header map[string][]string, body io.Reader, letter []byte) ([]spoken, error) {
	all, err := headersSpeak(header)
	if err != nil {
		return nil, err
	}
	get := mail.Header(header).Get
	kind, parameters, err := mime.ParseMediaType(get("Content-Type"))
	if err != nil {
		return nil, err
	}
	if !strings.HasPrefix(kind, "multipart/") {
		more, err := bodySpeaks(kind, get("Content-Transfer-Encoding"), body, letter)
		return append(all, more...), err
	}
	for parts := multipart.NewReader(body, parameters["boundary"]); ; {
		part, err := parts.NextRawPart()
		if err == io.EOF {
			return all, nil
		} else if err != nil {
			return nil, err
		}
		more, err := partSpeaks(part.Header, part, letter)
		if err != nil {
			return nil, err
		}
		all = append(all, more...)
	}
}

func headersSpeak(header map[string][]string) ([]spoken, error) {
	var all []spoken
	for name, values := range header {
		all = append(all, spoken{"header", name})
		for _, value := range values {
			text, err := new(mime.WordDecoder).DecodeHeader(value)
			if err != nil {
				return nil, err
			}
			if a, err := mail.ParseAddress(value); err == nil && (name == "From" || name == "To") {
				text = a.Name + " " + a.Address
			}
			if !slices.Contains([]string{"Content-Type", "Content-Disposition"}, name) {
				all = append(all, spoken{name, text})
				continue
			}
			kind, parameters, err := mime.ParseMediaType(value)
			if err != nil {
				return nil, err
			}
			all = append(all, spoken{name, kind})
			for parameter, value := range parameters {
				where := name + ";" + parameter
				if parameter == "filename" || parameter == "name" {
					where = "file name"
				}
				all = append(all, spoken{"header parameter", parameter}, spoken{where, value})
			}
		}
	}
	return all, nil
}

func bodySpeaks(kind, encoding string, body io.Reader, letter []byte) ([]spoken, error) {
	switch encoding {
	case "base64":
		body = base64.NewDecoder(base64.StdEncoding, body)
	case "quoted-printable":
		body = quotedprintable.NewReader(body)
	default:
		return nil, fmt.Errorf("a body in %q", encoding)
	}
	data, err := io.ReadAll(body)
	if err != nil {
		return nil, err
	}
	switch text := strings.ReplaceAll(string(data), "\r\n", "\n"); {
	case kind == "text/calendar":
		return calendarSpeaks(data), nil
	case letter != nil && text == strings.ReplaceAll(string(letter), "\r\n", "\n"):
		return nil, nil
	default:
		return []spoken{{"mail text", text}}, nil
	}
}
