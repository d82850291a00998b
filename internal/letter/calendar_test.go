package letter_test

import (
	"bytes"
	"slices"
	"strings"
	"testing"

	"graftclock/internal/graft"
	"graftclock/internal/letter"
)

// oneLine takes out the line ends that wrapping put in.
func oneLine(text string) string { return strings.Join(strings.Fields(text), " ") }

func TestCodeIsOnThePageOnly(t *testing.T) {
	if textOf(t, scanned()) != textOf(t, simultaneous()) {
		t.Error("the text letter differs with a square code")
	}
	for name, c := range map[string]struct {
		entry []byte
		codes int
	}{"nil": {nil, 0}, "empty": {[]byte{}, 0}, "300 bytes": {bytes.Repeat([]byte("x"), 300), 1}} {
		l := scanned()
		l.NextVisit.Entry = c.entry
		page := htmlOf(t, l)
		if got := strings.Count(page, `id="code-name"`); got != c.codes || strings.Count(page, `class="scan"`) != c.codes {
			t.Errorf("%s: %d codes, want %d", name, got, c.codes)
		}
	}
}

func TestCodeHasANameForWhoCannotSeeIt(t *testing.T) {
	page := htmlOf(t, scanned())
	if !strings.Contains(page, `<svg role="img" aria-labelledby="code-name" aria-describedby="code-means"`) {
		t.Error("the drawing is no named image")
	}
	for _, want := range []string{"code-name", "code-means"} {
		of := slices.DeleteFunc(parse(t, page), func(e element) bool { return e.id != want })
		if len(of) != 1 || of[0].text == "" {
			t.Errorf("%d elements with id %s, want one with text", len(of), want)
		}
	}
}

func TestCodeOfASurgeryAhead(t *testing.T) {
	l := surgeryAhead()
	l.Booked = map[graft.MilestoneID]letter.Booking{graft.SurgeryDay: {Day: l.Case.Surgery.Day, Start: 8 * 60}}
	l.NextVisit = letter.NextVisit{Entry: []byte("BEGIN:VEVENT\r\nEND:VEVENT\r\n"), When: l.Booked[graft.SurgeryDay]}
	if !strings.Contains(htmlOf(t, l), "<svg") {
		t.Error("no code for a surgery that is booked")
	}
}

// The first of the dates may be a window that waits to be booked, while the code holds
// a visit after it.
func TestCodeSaysWhichVisitItHolds(t *testing.T) {
	l := scanned()
	l.Booked["healing-review"] = letter.Booking{Day: l.Case.Surgery.Day.AddDays(60), Start: 14*60 + 15}
	delete(l.Booked, "wound-check")
	l.NextVisit.When = l.Booked["healing-review"]
	page := htmlOf(t, l)
	if !strings.Contains(page, "<p>This code is your booked visit: Monday 15 March 2027 at 14:15. <span") || !strings.Contains(page, `<p class="day">We aim for Monday 25 January 2027.</p>`) {
		t.Errorf("the code does not say which visit it holds, or that is the first of the dates\n%s", page)
	}
}

func TestNoScanNamesOnlyWhatIsThere(t *testing.T) {
	l := scanned()
	if page := htmlOf(t, l); !strings.Contains(page, "If nothing opens, use the file below instead.") {
		t.Error("does not point to the file")
	}
	l.CalendarFile = ""
	if page := htmlOf(t, l); !strings.Contains(page, "If nothing opens, write the visit down.") || strings.Contains(page, "file below") {
		t.Error("points to a file that is not there")
	}
}

func TestFileSaysWhatItCanAndCannotDo(t *testing.T) {
	const adds = "On your phone: Open the file visits.ics to add these dates once. It cannot change them later and may not remind you. "
	const calls = adds + "If one changes, we call you: delete old dates before you add a new file."
	const mails = adds + "Changes come by e-mail to your calendar: if a date shows twice, delete the old one."
	for _, c := range []struct {
		name           string
		letter         letter.Letter
		says, saysNone string
	}{
		{"changes by phone", simultaneous(), calls, "e-mail"},
		{"changes by e-mail", mailed(), mails, "delete old dates"},
		{"no file", staged(), "", "On your phone"},
		{"no file beside the mail", inMail(), "On your phone: Each booked visit comes by e-mail. Open the mail to put it into your calendar. Changes come the same way.", "file"},
	} {
		text := oneLine(textOf(t, c.letter))
		if !strings.Contains(text, c.says) || strings.Contains(text, c.saysNone) {
			t.Errorf("%s: want %q and no %q in\n%s", c.name, c.says, c.saysNone, text)
		}
		page := strings.NewReplacer("<bdi>", "", "</bdi>", "", "<strong>", "", "</strong>", "").Replace(htmlOf(t, c.letter))
		if !strings.Contains(page, c.says) {
			t.Errorf("%s: the page does not say %q", c.name, c.says)
		}
	}
}
