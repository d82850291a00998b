package letter

import (
	"strings"
	"testing"

	"graftclock/internal/day"
	"graftclock/internal/graft"
)

// everyLanguage runs a test with the words of each language there is.
func everyLanguage(t *testing.T, test func(*testing.T, Words)) {
	for folder := range BuiltIn().languages {
		words, err := BuiltIn().WordsFor(folder)
		if err != nil {
			t.Fatal(err)
		}
		t.Run(folder, func(t *testing.T) { test(t, words) })
	}
}

// TestTitlesDifferWhereAMonthsViewCutsThem wants no booked visit to begin like one that
// waits to be booked.
func TestTitlesDifferWhereAMonthsViewCutsThem(t *testing.T) {
	const shown = 6 // letters
	everyLanguage(t, func(t *testing.T, w Words) {
		visits := []string{""}
		for _, step := range graft.Steps {
			visits = append(visits, w.Title(step))
		}
		for _, visit := range visits {
			booked, window := w.Booked("Harbour Row", "0100", visit).Title, w.Window("Harbour Row", "0100", visit).Title
			if strings.HasPrefix(window, string([]rune(booked)[:shown])) {
				t.Errorf("%q and %q look alike", booked, window)
			}
			if !strings.Contains(booked, visit) || !strings.Contains(window, visit) || !strings.Contains(booked, "Harbour Row") || !strings.Contains(window, "Harbour Row") {
				t.Errorf("%q or %q lacks the visit or the clinic", booked, window)
			}
		}
	})
}

// TestMailsSayWhatTheyDo wants each kind of mail to say what its own invitation does and
// whom to call, and what tells that a visit is off not to ask for it to be called off.
func TestMailsSayWhatTheyDo(t *testing.T) {
	const phone = "+353 1 555 0100"
	when, was := Booking{day.New(2027, 1, 28), 9 * 60}, Booking{day.New(2027, 1, 27), 10 * 60}
	everyLanguage(t, func(t *testing.T, w Words) {
		mail := w.w.Mail
		for _, c := range []struct {
			change Change
			of     mailOf
		}{{Change{When: when}, mail.New}, {Change{When: when, Was: was}, mail.Moved}, {Change{Was: was}, mail.Off}} {
			c.change.Phone = phone
			_, text := w.Mail(c.change)
			text = strings.Join(strings.Fields(text), " ")
			if !strings.Contains(text, phone) || !strings.Contains(text, c.of.Open) {
				t.Errorf("want %q and the phone in %q", c.of.Open, text)
			}
		}
		if mail.New.Open == mail.Moved.Open || mail.Moved.Open == mail.Off.Open || mail.New.Open == mail.Off.Open {
			t.Error("two invitations say that they do the same")
		}
		if off := w.Off(phone); !strings.Contains(off, phone) || off == w.Booked("", phone, "").Text || mail.Off.Call == mail.New.Call {
			t.Errorf("of a visit that is off: %q, %q", off, mail.Off.Call)
		}
	})
}
