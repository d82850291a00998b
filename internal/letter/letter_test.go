package letter_test

import (
	"bytes"
	"errors"
	"io"
	"maps"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"

	"graftclock/internal/day"
	"graftclock/internal/graft"
	"graftclock/internal/letter"
)

func TestRefusals(t *testing.T) {
	for _, c := range []struct {
		name  string
		spoil func(*letter.Letter)
		says  string
	}{
		{"no out-of-hours number", func(l *letter.Letter) { l.Head.OutOfHours = " \n" }, "out-of-hours"},
		{"no phone", func(l *letter.Letter) { l.Head.Phone = "" }, "phone"},
		{"no templates for the language", func(l *letter.Letter) { l.Case.Patient.Language = "it" }, `"it"`},
		{"no language", func(l *letter.Letter) { l.Case.Patient.Language = "" }, "language"},
		{"another English is not English by accident", func(l *letter.Letter) { l.Case.Patient.Language = "en-XX" }, "en-XX"},
		{"another case's timeline", func(l *letter.Letter) { l.Timeline.Case = "HR-1" }, "HR-1"},
		{"no day of planning", func(l *letter.Letter) { l.Timeline.On = noDay }, "planning"},
		{"unknown preset", func(l *letter.Letter) { l.AfterCare["sauna"] = 3 }, "sauna"},
		{"preset of no days", func(l *letter.Letter) { l.AfterCare["flying"] = 0 }, "flying"},
		{"booked before the gate", func(l *letter.Letter) { l.Booked["uncovering"] = letter.Booking{Day: on("2027-07-18")} }, "2027-07-19"},
		{"booking of nothing", func(l *letter.Letter) { l.Booked["lost"] = letter.Booking{Day: on("2027-07-18")} }, "lost"},
		{"booking without a day", func(l *letter.Letter) { l.Booked["late-check"] = letter.Booking{} }, "no day"},
		{"surgery booked for another day", func(l *letter.Letter) { l.Booked[graft.SurgeryDay] = letter.Booking{Day: on("2027-01-15")} }, "2027-01-15"},
		{"entry of 301 bytes", func(l *letter.Letter) { l.NextVisit = nextVisit(l, bytes.Repeat([]byte("x"), 301)) }, "301"},
		{"entry that is not UTF-8", func(l *letter.Letter) { l.NextVisit = nextVisit(l, []byte("Caf\xe9")) }, "UTF-8"},
		{"entry of a visit that is not booked", func(l *letter.Letter) { l.NextVisit, l.Booked = nextVisit(l, []byte("x")), nil }, "booked"},
		{"entry of a visit gone by", func(l *letter.Letter) { l.NextVisit, l.Timeline.On = nextVisit(l, []byte("x")), on("2027-01-27") }, "booked"},
		{"entry of another time than that booked", func(l *letter.Letter) {
			l.NextVisit = nextVisit(l, []byte("x"))
			l.NextVisit.When.Start++
		}, "booked"},
		{"unknown step", func(l *letter.Letter) { l.Timeline.Milestones[2].Step = "tea" }, "tea"},
	} {
		t.Run(c.name, func(t *testing.T) {
			l := simultaneous()
			c.spoil(&l)
			for _, form := range []func(letter.Filled, io.Writer) error{letter.Filled.WriteHTML, letter.Filled.WriteText} {
				var out bytes.Buffer
				var refusal *graft.Refusal
				if err := write(&out, l, form); !errors.As(err, &refusal) || refusal.Kind != graft.Invalid || !strings.Contains(refusal.Message, c.says) {
					t.Errorf("got %v, want a refusal that says %q", err, c.says)
				}
				if out.Len() > 0 {
					t.Errorf("wrote %d bytes of a letter that was refused", out.Len())
				}
			}
		})
	}
}

var noDay day.Day

func TestWhichVisitsAreListed(t *testing.T) {
	l := simultaneous()
	l.Timeline.On = l.Case.Surgery.Day.AddDays(29)       // the late check was on day 28
	l.Timeline.Milestones[3].Attended = l.Timeline.On    // the healing review came early
	l.Timeline.Milestones[4].Placed = noDay              // uncovering found no day
	l.Timeline.Milestones[6].SeenBy = []graft.Audience{} // nobody's
	l.Booked = map[graft.MilestoneID]letter.Booking{"impression": {Day: l.Case.Surgery.Day.AddDays(210)}}
	text := textOf(t, l)
	for _, gone := range []string{"Phone call", "Stitches check", "Late check", "Healing review", "First teeth"} {
		if strings.Contains(text, gone) {
			t.Errorf("lists %q", gone)
		}
	}
	for _, there := range []string{
		"1. Uncovering visit\n  Planned. We will call you to book.\n  We will call you with a day. Not before Monday 19 July 2027.",
		"2. Print or scan\n  Booked. This day is fixed.\n  Thursday 12 August 2027\n",
		"Regular check, 3 months",
	} {
		if !strings.Contains(text, there) {
			t.Errorf("lacks %q in\n%s", there, text)
		}
	}
}

func TestTextFromOutsideStaysText(t *testing.T) {
	const nasty = "Bo <script>alert(1)</script> \"O'Hara\" & \u202Eevil\r\nEmergency: 999\u2028\x00 \U0001F9B7 \u05D0\u05D1"
	l := simultaneous()
	l.Case.Patient.Name, l.Case.Surgery.Surgeon, l.CalendarFile, l.Rules = nasty, nasty, nasty, nasty
	l.Head = letter.Letterhead{Name: nasty, Address: []string{nasty}, Phone: nasty, OutOfHours: nasty, EmergencyNumber: nasty}
	l.Timeline.Milestones[8].Which, l.Timeline.Milestones[8].For = nasty, nasty
	page, text := htmlOf(t, l), textOf(t, l)
	if strings.Contains(page, "<script") || count(parse(t, page), "script") > 0 {
		t.Error("a script got through")
	}
	if !strings.Contains(text, "evil Emergency: 999 ") {
		t.Error("a line break got through")
	}
	if strings.ContainsAny(page+text, "\u202E\u2028\x00\r") {
		t.Error("a control character got through")
	}
	if !strings.Contains(text, "\U0001F9B7 \u05D0\u05D1") || !strings.Contains(page, "<bdi>Bo &lt;script&gt;") {
		t.Error("the name itself is lost")
	}
}

func TestTextLinesFit(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := samples[rapid.SampledFrom(slices.Sorted(maps.Keys(samples))).Draw(t, "sample")]()
		for _, field := range []*string{&l.Case.Patient.Name, &l.Case.Surgery.Surgeon, &l.CalendarFile, &l.Head.Name} {
			*field = rapid.String().Draw(t, "field")
		}
		var out bytes.Buffer
		if err := write(&out, l, letter.Filled.WriteText); err != nil {
			t.Fatal(err)
		}
		text, ends := strings.CutSuffix(out.String(), "\n")
		if !ends || strings.Contains(out.String(), "\n\n\n") || !utf8.ValidString(text) {
			t.Fatalf("not tidy: %q", text)
		}
		for line := range strings.SplitSeq(text, "\n") {
			words := strings.Fields(strings.TrimLeft(line, " -*"))
			if utf8.RuneCountInString(line) > 72 && len(words) > 1 {
				t.Fatalf("too long: %q", line)
			}
		}
	})
}

func TestDraftSaysSoAtBothEnds(t *testing.T) {
	text, page := textOf(t, aborted()), htmlOf(t, aborted())
	if !strings.HasPrefix(text, "*** DRAFT ***") || strings.Count(text, "*** DRAFT ***") != 2 || strings.Count(page, "<strong>DRAFT</strong>") != 2 {
		t.Error("DRAFT must stand at the top and at the bottom")
	}
	if strings.Contains(htmlOf(t, simultaneous()), ">DRAFT") || strings.Contains(textOf(t, simultaneous()), "DRAFT") {
		t.Error("an approved letter says DRAFT")
	}
}

func TestMaskAdviceOnlyWhenFlagged(t *testing.T) {
	if !strings.Contains(textOf(t, staged()), "breathing mask") || strings.Contains(textOf(t, simultaneous()), "breathing mask") {
		t.Error("the mask's sentence must follow the flag")
	}
}

func TestPhoneNumbersDialOnlyWhenClear(t *testing.T) {
	for shown, link := range map[string]string{
		"+353 1 555 0100": `href="tel:&#43;35315550100"`, "(555) 010-0100": `href="tel:5550100100"`,
		"+353 (0)1 555 0100": "", "555 0100 ext 12": "",
	} {
		l := simultaneous()
		l.Head.Phone = shown
		page := htmlOf(t, l)
		if link == "" {
			link = "<dd>" + strings.ReplaceAll(shown, "+", "&#43;") + "</dd>"
		}
		if !strings.Contains(page, link) {
			t.Errorf("%s: no %s", shown, link)
		}
	}
}
