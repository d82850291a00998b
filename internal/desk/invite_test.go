package desk_test

import (
	"strings"
	"testing"

	gocmp "github.com/google/go-cmp/cmp"
)

// notTried is said of what a run leaves that stopped.
const notTried = " waits, not tried, for the one before did not get through"

// TestWhatIsTold plays short lines. A run that tells nothing says "nothing".
func TestWhatIsTold(t *testing.T) {
	t.Parallel()
	const (
		monday, tuesday = "2027-01-25 09:00", "2027-01-26 10:15"
		booked          = "approve; book " + monday + "; mail; "
		told            = "request 0 " + monday + " sent | "
		review          = "2027-03-11 09:00"
	)
	for _, c := range []struct{ name, acts, want string }{
		{"nothing is booked", "approve; mail", "nothing"},
		{"new, and once", booked + "mail", told + "nothing"},
		{"new, after a window was given out", "approve; give; book " + monday + "; mail", "request 1 " + monday + " sent"},
		{"moved", booked + "move " + tuesday + "; mail; mail", told + "request 1 " + monday + " > " + tuesday + " sent | nothing"},
		{"moved twice between two runs is one mail", booked + "move 2027-01-27 11:00; move " + tuesday + "; mail", told + "request 1 " + monday + " > " + tuesday + " sent"},
		{"moved twice, given out on the way", booked + "move 2027-01-27 11:00; give; move " + tuesday + "; mail", told + "request 2 " + monday + " > " + tuesday + " sent"},
		{"moved back to the time that was told", booked + "move " + tuesday + "; move " + monday + "; mail", told + "nothing"},
		{"moved back, given out on the way", booked + "move " + tuesday + "; give; move " + monday + "; mail", told + "nothing"},
		{"another time of the same day", booked + "move 2027-01-25 09:15; mail", told + "request 1 " + monday + " > 2027-01-25 09:15 sent"},
		{"cancelled, once", booked + "cancel; mail; mail", told + "cancel 1 " + monday + " > sent | nothing"},
		{"cancelled and booked anew at the same time before any run", booked + "cancel; book " + monday + "; mail", told + "nothing"},
		{"cancelled and booked anew at another time before any run", booked + "cancel; book " + tuesday + "; mail", told + "request 1 " + monday + " > " + tuesday + " sent"},
		{"cancelled, told, and booked anew at the same time", booked + "cancel; mail; book " + monday + "; mail", told + "cancel 1 " + monday + " > sent | request 2 " + monday + " sent"},
		{"booked and cancelled before any run", "approve; book " + monday + "; cancel; mail", "nothing"},
		{"left out of the plan and settled", "approve; book " + review + " healing-review; mail; note left_out healing-review; settle; mail", "request 0 " + review + " sent | cancel 1 " + review + " > sent"},
		{"moved by settling", booked + "set patient.unavailable+=2027-01-25; mail; settle; mail; approve; mail",
			told + "nothing | request " + monday + " > 2027-01-22 08:30 waits, a draft: graftclock approve HR-2041 | request 1 " + monday + " > 2027-01-22 08:30 sent"},
		{"attended", booked + "day 2027-01-25; attended; mail", told + "nothing"},
		{"missed", booked + "day 2027-01-25; missed; mail", told + "nothing"},
		{"missed and booked anew", booked + "day 2027-01-25; missed; book 2027-01-27 11:00; mail", told + "request 1 " + monday + " > 2027-01-27 11:00 sent"},
		{"past, and nobody said what became of it", booked + "day 2027-01-26; mail", told + "nothing"},
		{"cancelled after its day", booked + "day 2027-01-26; cancel; mail", told + "nothing"},
		{"attended before the day that was told", booked + "day 2027-01-21; attended; mail", told + "cancel 1 " + monday + " > sent"},
		{"moved to an earlier day, told by nobody, and attended", booked + "move 2027-01-21 09:00; day 2027-01-21; attended; mail; mail", told + "cancel 1 " + monday + " > sent | nothing"},
		{"moved to an earlier day, told by nobody, and past", booked + "move 2027-01-21 09:00; day 2027-01-22; mail", told + "cancel 1 " + monday + " > sent"},
		{"attended by the record, still booked in the ledger", booked + "day 2027-01-21; note attended wound-check; mail", told + "cancel 1 " + monday + " > sent"},

		{"a draft waits", "book " + monday + "; mail; approve; mail", "request " + monday + " waits, a draft: graftclock approve HR-2041 | request 0 " + monday + " sent"},
		{"off while the plan is a draft", booked + "set surgery.sutures=resorbable; cancel; mail", told + "cancel 1 " + monday + " > sent"},
		{"moved while a stop stands", booked + "note infection; move " + tuesday + "; mail", told + "request " + monday + " > " + tuesday + " waits, a stop finding stands"},
		{"off while a stop stands", booked + "note infection; cancel; mail; mail", told + "cancel 1 " + monday + " > sent | nothing"},
		{"off while something does not fit", booked + "book " + review + " healing-review; mail; set patient.unavailable+=2027-03-11; cancel; mail", told + "request 1 " + review + " sent | cancel 1 " + monday + " > sent"},

		{"failed, and tried again", "approve; book " + monday + "; fate failed; mail; mail; mail", "request 0 " + monday + " waits, not sent: so the server says | request 0 " + monday + " sent | nothing"},
		{"off failed, and tried again while a stop stands", booked + "cancel; fate failed; mail; note infection; mail", told + "cancel 1 " + monday + " > waits, not sent: so the server says | cancel 1 " + monday + " > sent"},
		{"failed, and moved back", booked + "move " + tuesday + "; fate failed; mail; move " + monday + "; mail", told + "request 1 " + monday + " > " + tuesday + " waits, not sent: so the server says | nothing"},
		{"stops where one does not get through", "approve; book " + monday + "; book " + review + " healing-review; fate failed; mail; mail",
			"request 0 " + monday + " waits, not sent: so the server says, request " + review + notTried + " | request 0 " + monday + " sent, request 0 " + review + " sent"},
		{"written to files", "approve; book " + monday + "; fate written; mail; mail", "request 0 " + monday + " written | nothing"},

		{"another address is told anew", booked + "set patient.mail.address=nora@post.example; approve; mail; mail", told + "request 0 " + monday + " sent | nothing"},
		{"back at an address that knows an older time", booked + "set patient.mail.address=nora@post.example; approve; move " + tuesday + "; mail; set patient.mail.address=nora.fenwick@example.org; approve; mail",
			told + "request 1 " + tuesday + " sent | request 1 " + monday + " > " + tuesday + " sent"},
		{"choice withdrawn, and made again", booked + "set patient.mail=none; move " + tuesday + "; mail; set patient.mail.address=nora.fenwick@example.org patient.mail.agreed=2027-01-18 patient.mail.letter=false; approve; mail",
			told + "the record of HR-2041 has no choice of the patient to be told by e-mail | request 1 " + monday + " > " + tuesday + " sent"},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := openPostbag(t, "patient.mail.letter=true")
			if diff := gocmp.Diff(strings.Split(c.want, " | "), strings.Split(b.plays(c.acts), " | ")); diff != "" {
				t.Errorf("%s (-want +told):\n%s", c.acts, diff)
			}
			b.everyMessageHasItsEntry()
		})
	}
}

// TestWhatMayHaveArrivedIsNotSentAgainUnasked plays messages of which nobody knows
// what became of them.
func TestWhatMayHaveArrivedIsNotSentAgainUnasked(t *testing.T) {
	t.Parallel()
	const (
		monday, tuesday, review = "2027-01-25 09:00", "2027-01-26 10:15", "2027-03-11 09:00"

		booked  = "approve; book " + monday + "; mail; "
		told    = "request 0 " + monday + " sent | "
		cut     = "approve; book " + monday + "; fate under way; mail; "
		unsure  = " waits, it may have arrived and may not: so the server says"
		maybe   = "request 0 " + monday + unsure + " | "
		now     = " waits, a message has been under way: wait until it is over"
		ask     = " waits, a message has been under way: it may have arrived; ask the patient, then --arrived or --again"
		moveCut = booked + "move " + tuesday + "; fate under way; mail; "
		moved   = told + "request 1 " + monday + " > " + tuesday + unsure + " | "
		offCut  = booked + "cancel; fate under way; mail; "
		off     = told + "cancel 1 " + monday + " >" + unsure + " | "
	)
	for _, c := range []struct{ name, acts, want string }{
		{"waits, and says for what", cut + "minutes 8; mail; mail", maybe + "request " + monday + now + " | request " + monday + ask},
		{"it did arrive", cut + "minutes 10; mail arrived; mail", maybe + "nothing | nothing"},
		{"it did not", cut + "minutes 10; mail again; mail", maybe + "request 0 " + monday + " sent | nothing"},
		{"neither is believed while it may be on its way", cut + "mail again; mail arrived", maybe + "request " + monday + now + " | request " + monday + now},
		{"other visits do not wait for it", cut + "book " + review + " healing-review; mail", maybe + "request 1 " + review + " sent, request " + monday + now},
		{"the run stops at it", "approve; book " + monday + "; book " + review + " healing-review; fate under way; mail; mail", "request 0 " + monday + unsure + ", request " + review + notTried + " | request 0 " + review + " sent, request " + monday + now},
		{"again, and cut off again", cut + "minutes 10; fate under way; mail again; mail", maybe + "request 0 " + monday + unsure + " | request " + monday + now},
		{"sent once more at another time", cut + "minutes 10; move " + tuesday + "; mail; mail again", maybe + "request " + monday + " > " + tuesday + ask + " | request 1 " + monday + " > " + tuesday + " sent"},

		{"moved, cut off and moved back: it is not told yet", moveCut + "move " + monday + "; mail", moved + "request " + tuesday + " > " + monday + now},
		{"moved, arrived and moved back", moveCut + "move " + monday + "; minutes 10; mail arrived; mail", moved + "request 2 " + tuesday + " > " + monday + " sent | nothing"},
		{"moved, lost and moved back: it is told to be sure", moveCut + "move " + monday + "; minutes 10; mail again; mail", moved + "request 2 " + tuesday + " > " + monday + " sent | nothing"},
		{"lost and moved back, and the sure mail fails", moveCut + "move " + monday + "; minutes 10; fate failed; mail again; mail", moved + "request 2 " + tuesday + " > " + monday + " waits, not sent: so the server says | request 2 " + tuesday + " > " + monday + " sent"},

		{"new, cut off and cancelled: it is not told yet", cut + "cancel; mail", maybe + "cancel " + monday + " >" + now},
		{"new, arrived and cancelled", cut + "cancel; minutes 10; mail arrived; mail", maybe + "cancel 1 " + monday + " > sent | nothing"},
		{"new, lost and cancelled: it is told to be sure", cut + "cancel; minutes 10; mail again; mail", maybe + "cancel 1 " + monday + " > sent | nothing"},
		{"new, failed and cancelled", "approve; book " + monday + "; fate failed; mail; cancel; mail", "request 0 " + monday + " waits, not sent: so the server says | nothing"},

		{"off, cut off and booked anew: it is not told yet", offCut + "book " + monday + "; mail", off + "request " + monday + now},
		{"off, arrived and booked anew", offCut + "book " + monday + "; minutes 10; mail arrived; mail", off + "request 2 " + monday + " sent | nothing"},
		{"off, lost and booked anew: it is told to be sure", offCut + "book " + monday + "; minutes 10; mail again; mail", off + "request 2 " + monday + " sent | nothing"},
		{"off, lost and told again", offCut + "minutes 10; mail again; mail", off + "cancel 1 " + monday + " > sent | nothing"},

		{"the day has come, and nothing is left to tell", cut + "day 2027-01-25; attended; mail", maybe + "nothing"},
		{"the day is past", cut + "day 2027-01-26; mail", maybe + "nothing"},
		{"to another address, which nobody reads any more", cut + "set patient.mail.address=nora@post.example; approve; minutes 10; mail; mail again", maybe + "request " + monday + ask + " | request 0 " + monday + " sent"},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := openPostbag(t)
			if diff := gocmp.Diff(strings.Split(c.want, " | "), strings.Split(b.plays(c.acts), " | ")); diff != "" {
				t.Errorf("%s (-want +told):\n%s", c.acts, diff)
			}
			b.everyMessageHasItsEntry()
		})
	}
}
