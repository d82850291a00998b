package ics

import (
	"strings"
	"testing"
)

// nasty are texts that have broken calendar files before.
var nasty = map[string]string{
	"line break":        "x\r\nSTATUS:CANCELLED",
	"line feed":         "x\nSTATUS:CANCELLED",
	"carriage return":   "x\rSTATUS:CANCELLED",
	"next line":         "x\u0085STATUS:CANCELLED",
	"line separator":    "x\u2028STATUS:CANCELLED",
	"end of the event":  "x\r\nEND:VEVENT\r\nBEGIN:VEVENT\r\nUID:evil\r\nEND:VEVENT",
	"begin of an event": "BEGIN:VEVENT",
	"folded line break": "x\r\n y",
	"colon":             "x:y",
	"semicolon, comma":  "x;VALUE=y,z",
	"quote":             `x"y`,
	"backslash at end":  `x\`,
	"backslash n":       `x\nSTATUS:CANCELLED`,
	"NUL":               "x\x00y",
	"escape":            "x\x1b[2J",
	"emoji":             "x👩🏽\u200d⚕️🦷",
	"Arabic":            "موعد في العيادة",
	"bad UTF-8":         "x\xff\xc3",
	"byte order mark":   "\ufeffx",
	"very long":         strings.Repeat("لثة 診療 ü ", 2000),
	"long gap":          "x" + strings.Repeat(" ", 300) + "y",
	"long line breaks":  strings.Repeat("x\r\n", 3000) + "y",
}

var textFields = map[string]func(*Calendar) *string{
	"name":        func(c *Calendar) *string { return &c.Name },
	"summary":     func(c *Calendar) *string { return &c.Events[0].Summary },
	"description": func(c *Calendar) *string { return &c.Events[0].Description },
	"location":    func(c *Calendar) *string { return &c.Events[0].Location },
}

var partyFields = map[string]func(*Calendar) *string{
	"organizer": func(c *Calendar) *string { return &c.Organizer.Name },
	"attendee":  func(c *Calendar) *string { return &c.Attendee.Name },
}

// names returns the property names of a file in order, values left out.
func names(data []byte) string {
	lines, _ := unfolded(data)
	for i, line := range lines {
		if !strings.HasPrefix(line, "BEGIN:") && !strings.HasPrefix(line, "END:") {
			lines[i] = line[:strings.IndexAny(line, ":;")]
		}
	}
	return strings.Join(lines, "\n")
}

func TestNoTextAddsALine(t *testing.T) {
	plain, err := Encode(patient())
	if err != nil {
		t.Fatal(err)
	}
	want := names(plain)
	for field, of := range textFields {
		for name, text := range nasty {
			t.Run(field+"/"+name, func(t *testing.T) {
				cal := patient()
				*of(&cal) = text
				data, err := Encode(cal)
				if err != nil {
					t.Fatal(err)
				}
				if got := names(data); got != want {
					t.Errorf("lines changed:\n%s", got)
				}
				if complaints := Lint(data); complaints != nil {
					t.Errorf("Lint: %v", complaints)
				}
			})
		}
	}
}

func TestNoPartyNameAddsALine(t *testing.T) {
	want := names(encode(t, message(Request)))
	for role, of := range partyFields {
		for name, text := range nasty {
			cal := message(Request)
			*of(&cal) = text
			data := encode(t, cal)
			if got := names(data); got != want {
				t.Errorf("%s/%s: lines changed:\n%s", role, name, got)
			}
			if complaints := Lint(data); complaints != nil {
				t.Errorf("%s/%s: %v", role, name, complaints)
			}
		}
	}
}

func TestNastyAddressIsRefused(t *testing.T) {
	for name, text := range nasty {
		for _, address := range []string{text, text + "@fenwick.example", "nora@" + text, "nora@fenwick.example" + text, text + "nora@fenwick.example"} {
			for _, spoil := range []func(*Calendar){
				func(c *Calendar) { c.Organizer.Address = address }, func(c *Calendar) { c.Attendee.Address = address },
			} {
				cal := message(Cancel)
				spoil(&cal)
				if data, err := Encode(cal); err == nil || data != nil {
					t.Errorf("%s: the address %.80q was accepted", name, address)
				}
			}
		}
	}
}

func TestNastyUIDIsKeptOrRefused(t *testing.T) {
	for name, text := range nasty {
		cal := patient()
		cal.Events = cal.Events[:1]
		cal.Events[0].UID = text
		data, err := Encode(cal)
		if err != nil {
			continue
		}
		if complaints := Lint(data); complaints != nil || strings.Count(string(data), "\nUID:") != 1 {
			t.Errorf("%s: %v\n%s", name, complaints, data)
		}
	}
}

func TestStatusIsAWordOrRefused(t *testing.T) {
	for name, text := range nasty {
		cal := patient()
		cal.Events[0].Status = Status(text)
		if _, err := Encode(cal); err == nil {
			t.Errorf("%s: a status was accepted", name)
		}
	}
}
