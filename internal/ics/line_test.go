package ics

import (
	"bytes"
	"fmt"
	"strings"
	"testing"
	"unicode/utf8"

	ical "github.com/arran4/golang-ical"
	"pgregory.net/rapid"

	"graftclock/internal/day"
)

func TestText(t *testing.T) {
	tests := []struct{ name, in, want string }{
		{"plain", "Visit", "Visit"},
		{"comma, semicolon, backslash", `a,b;c\d`, `a\,b\;c\\d`},
		{"colon and quotes stay", `a: "b"`, `a: "b"`},
		{"every way to end a line", "a\nb\r\nc\rd\u0085e\u2028f\u2029g", `a\nb\nc\nd\ne\nf\ng`},
		{"control characters go", "a\x00b\x07c\x1bd\x7fe\u0080f", "abcdef"},
		{"a tab stays", "a\tb", "a\tb"},
		{"bad UTF-8", "a\xffb", "a\uFFFDb"},
		{"right to left", "موعد", "موعد"},
		{"emoji of several runes", "👩🏽\u200d⚕️", "👩🏽\u200d⚕️"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if got := string(appendText(nil, clean(tt.in))); got != tt.want {
				t.Errorf("got %q, want %q", got, tt.want)
			}
		})
	}
}

func TestParameters(t *testing.T) {
	tests := []struct{ name, key, in, want string }{
		{"plain", "CN", "Front desk", "Front desk"},
		{"apostrophe is no reason", "CN", "O'Neil", "O'Neil"},
		{"comma quotes", "CN", "Quinn, Dr.", `"Quinn, Dr."`},
		{"colon and semicolon quote", "CN", "Row: a; b", `"Row: a; b"`},
		{"quotes by RFC 6868", "CN", `the "Row"`, "the ^'Row^'"},
		{"circumflex by RFC 6868", "CN", "a^b", "a^^b"},
		{"line break by RFC 6868", "CN", "a\r\nb", "a^nb"},
		{"addresses are always quoted", "SENT-BY", "mailto:desk@harbourrow.example", `"mailto:desk@harbourrow.example"`},
		{"bad UTF-8", "CN", "a\xff", "a\uFFFD"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			e := encoder{}
			if err := e.parameters(map[string][]string{tt.key: {tt.in}}); err != nil {
				t.Fatal(err)
			}
			if got, want := string(e.out), ";"+tt.key+"="+tt.want; got != want {
				t.Errorf("got %s, want %s", got, want)
			}
		})
	}
}

func TestParametersStandInOneOrder(t *testing.T) {
	all := map[string][]string{"ROLE": {"CHAIR"}, "CN": {"Desk"}, "MEMBER": {"mailto:a", "mailto:b"}, "RSVP": {"TRUE"}}
	for range 20 {
		e := encoder{}
		if err := e.parameters(all); err != nil {
			t.Fatal(err)
		}
		if got, want := string(e.out), `;CN=Desk;MEMBER="mailto:a","mailto:b";ROLE=CHAIR;RSVP=TRUE`; got != want {
			t.Fatalf("got %s, want %s", got, want)
		}
	}
}

func TestSerializeRefuses(t *testing.T) {
	tests := []struct {
		name, want string
		spoil      func(*ical.VEvent)
	}{
		{"control character in a time", "no text", func(v *ical.VEvent) { v.SetProperty("DTSTART", "20270114\r\nX:1") }},
		{"control character in an address", "no text", func(v *ical.VEvent) { v.SetProperty("URL", "https://a\x00b") }},
		{"bad UTF-8 in an address", "no text", func(v *ical.VEvent) { v.SetProperty("URL", "https://\xff") }},
		{"line break in a property name", "property name", func(v *ical.VEvent) { v.SetProperty("X-A\r\nX-B", "1") }},
		{"colon in a property name", "property name", func(v *ical.VEvent) { v.SetProperty("X-A:", "1") }},
		{"no property name", "property name", func(v *ical.VEvent) { v.SetProperty("", "1") }},
		{"line break in a parameter name", "parameter name", func(v *ical.VEvent) { v.SetProperty("X-A", "1", &ical.KeyValues{Key: "B\r\n", Value: []string{"1"}}) }},
		{"control character in a parameter", "parameter CN", func(v *ical.VEvent) { v.SetProperty("X-A", "1", ical.WithCN("a\x00b")) }},
		{"component of another kind", "unknown component", func(v *ical.VEvent) { v.Components = append(v.Components, &ical.GeneralComponent{Token: "X"}) }},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			m := &ical.Calendar{}
			tt.spoil(m.AddEvent("1"))
			if data, err := serialize(m); err == nil || data != nil || !strings.Contains(err.Error(), tt.want) {
				t.Errorf("got %q, %v; want an error with %q", data, err, tt.want)
			}
		})
	}
	if _, err := serialize(&ical.Calendar{}); err == nil {
		t.Error("no components: want an error")
	}
}

func TestSerializeTextTypeInLowerCase(t *testing.T) {
	m := &ical.Calendar{}
	m.AddEvent("1").SetProperty("X-NOTE", "a\nDTSTART:1", ical.WithValue("text"))
	data, err := serialize(m)
	if err != nil || !strings.Contains(string(data), "X-NOTE;VALUE=text:a\\nDTSTART:1\r\n") {
		t.Errorf("got %v\n%s", err, data)
	}
}

func TestZonesComeFirst(t *testing.T) {
	data, err := Encode(patient())
	if err != nil {
		t.Fatal(err)
	}
	if zone, event := strings.Index(string(data), "BEGIN:VTIMEZONE"), strings.Index(string(data), "BEGIN:VEVENT"); zone < 0 || zone > event {
		t.Errorf("zone at %d, first event at %d", zone, event)
	}
}

// unfolded returns the content lines as Lint reads them, and its complaints.
func unfolded(data []byte) ([]string, []Complaint) {
	l := &linter{}
	var lines []string
	for _, line := range l.unfold(l.physical(data)) {
		lines = append(lines, line.text)
	}
	return lines, l.found
}

func TestUnfoldIsTheInverseOfFold(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		line := "X:" + strings.ReplaceAll(clean(anyText().Draw(t, "line")), "\n", " ")
		folded := appendFolded(nil, []byte(line))
		lines, complaints := unfolded(folded)
		if len(lines) != 1 || lines[0] != line || len(complaints) > 0 {
			t.Fatalf("%q came back as %q, %v", line, lines, complaints)
		}
	})
}

func TestFoldCutsNoCharacter(t *testing.T) {
	for _, text := range []string{strings.Repeat("x", 300), strings.Repeat(" ", 300), strings.Repeat("ü", 200), strings.Repeat("診", 200), strings.Repeat("🦷", 200)} {
		for shift := range 5 {
			line := strings.Repeat("y", shift+1) + text
			for i, piece := range strings.Split(strings.TrimSuffix(string(appendFolded(nil, []byte(line))), "\r\n"), "\r\n") {
				if len(piece) > maxOctets || !utf8.ValidString(piece) || i > 0 && piece[0] != ' ' {
					t.Errorf("piece %d of %q is %q", i, line, piece)
				}
			}
		}
	}
	if got := appendFolded(nil, []byte(strings.Repeat("\x80", 100))); len(got) != 100+len("\r\n \r\n") {
		t.Errorf("a line that is no UTF-8 came out as %q", got)
	}
}

// anyText draws letters of all scripts between the characters that mean
// something in a calendar file.
func anyText() *rapid.Generator[string] {
	special := rapid.SampledFrom([]rune("\\,;:\"^\n\r\tn \u2028\ufeff\x00🦷"))
	return rapid.StringOf(rapid.OneOf(special, rapid.Rune()))
}

// randomEvent draws an event of any kind with any text.
func randomEvent(t *rapid.T, uid string) Event {
	e := Event{
		UID: uid, Day: day.New(2020, 1, rapid.IntRange(1, 20000).Draw(t, "day")),
		Summary: "S" + anyText().Draw(t, "summary"), Description: anyText().Draw(t, "description"),
		Location: anyText().Draw(t, "location"), Sequence: rapid.IntRange(0, 9).Draw(t, "sequence"),
		Status:      rapid.SampledFrom([]Status{"", Tentative, Confirmed, Cancelled}).Draw(t, "status"),
		Transparent: rapid.Bool().Draw(t, "transparent"),
	}
	for _, n := range rapid.SliceOfN(rapid.IntRange(1, 30), 0, 3).Draw(t, "alarms") {
		e.Alarms = append(e.Alarms, day.Period{Days: -n})
	}
	if rapid.Bool().Draw(t, "timed") {
		e.Start, e.Minutes = day.Clock(rapid.IntRange(0, 1439).Draw(t, "start")), rapid.IntRange(1, 600).Draw(t, "minutes")
	} else {
		e.LastDay = e.Day.AddDays(rapid.IntRange(0, 60).Draw(t, "days"))
	}
	return e
}

// testZones are enough for what does not depend on the changes of a zone.
var testZones = []string{"UTC", "Europe/Dublin", "America/New_York", "Africa/Casablanca", "Asia/Kolkata"}

func TestEveryFileIsClean(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		cal := Calendar{Name: anyText().Draw(t, "name"), Zone: rapid.SampledFrom(testZones).Draw(t, "zone"), Stamp: stamp}
		for i := range rapid.IntRange(1, 4).Draw(t, "events") {
			cal.Events = append(cal.Events, randomEvent(t, fmt.Sprint(i)))
		}
		data, err := Encode(cal)
		if err != nil {
			t.Fatal(err)
		}
		if complaints := Lint(data); complaints != nil {
			t.Fatalf("%v\n%s", complaints, data)
		}
		readBack(t, data, cal)
	})
}

// readBack reads a file with the parser of the model's library and compares the
// texts.
func readBack(t *rapid.T, data []byte, cal Calendar) {
	read, err := ical.ParseCalendar(bytes.NewReader(data))
	if err != nil {
		t.Fatalf("%v\n%s", err, data)
	}
	if got := len(read.Events()); got != len(cal.Events) {
		t.Fatalf("%d events, want %d", got, len(cal.Events))
	}
	for i, v := range read.Events() {
		e := cal.Events[i]
		for name, text := range map[ical.ComponentProperty]string{
			ical.ComponentPropertyUniqueId: e.UID, ical.ComponentPropertySummary: e.Summary,
			ical.ComponentPropertyDescription: e.Description, ical.ComponentPropertyLocation: e.Location,
		} {
			want, got := visible(text), ""
			if p := v.GetProperty(name); p != nil {
				got = p.Value
			}
			if got != want {
				t.Fatalf("%s came back as %q, want %q", name, got, want)
			}
		}
	}
}
