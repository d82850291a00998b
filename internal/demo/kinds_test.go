package demo

import (
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

// TestEverythingIsThere makes the demo as it comes and counts what there is of each
// kind.
func TestEverythingIsThere(t *testing.T) {
	t.Parallel()
	made, err := Make(t.TempDir(), time.Date(2027, time.March, 9, 10, 30, 0, 0, time.UTC), 1, secret)
	if err != nil {
		t.Fatal(err)
	}
	o := open(t, made)
	o.holds(t)
	there := map[string]int{}
	for _, live := range o.all {
		countCase(there, live)
	}
	for _, v := range o.visits {
		there["visit "+string(v.State)]++
	}
	for _, e := range o.history {
		there["did "+e.What]++
	}
	o.countLists(t, there)
	for _, want := range kinds {
		if n := there[want.what]; n < want.least || want.most > 0 && n > want.most {
			t.Errorf("%s: %d, want %d to %d", want.what, n, want.least, want.most)
		}
	}
	t.Logf("%v", there)
}

// kinds is what the demo has to show, and how much of it; most 0 is no bound.
var kinds = []struct {
	what        string
	least, most int
}{
	{"case", 80, 80},
	{"visit booked", 25, 0}, {"visit window held", 4, 0}, {"visit attended", 150, 0}, {"visit missed", 2, 0}, {"visit moved", 1, 0}, {"visit cancelled", 1, 0},
	{"missed and booked again", 1, 0}, {"cancelled and booked again", 1, 0}, {"window to firm up", 1, 12},
	{"did approve", 60, 0}, {"did settle", 1, 0}, {"did set", 1, 0}, {"did override", 2, 4}, {"did contact", 20, 0}, {"did hold", 10, 0},
	{"contact confirmed", 10, 0}, {"contact message left", 2, 0}, {"contact no answer", 2, 0},
	{"draft", 4, 10}, {"draft, later revision", 1, 0}, {"stop", 2, 5}, {"aborted", 1, 0}, {"ahead", 4, 6}, {"torque not yet", 2, 0},
	{"set earlier", 1, 0}, {"set later", 1, 0},
	{"found infection", 2, 0}, {"found graft removed", 1, 0}, {"found perforation", 1, 0}, {"found attended", 20, 0},
	{"found stability go", 1, 0}, {"found stability decide", 1, 0}, {"found stability hold", 1, 0},
	{"image as expected", 1, 0}, {"image unclear", 1, 0}, {"image not as expected", 1, 0},
	{"language en", 30, 0}, {"language es", 8, 0}, {"language de", 8, 0}, {"language fr", 8, 0}, {"language pl", 8, 0},
	{"side right", 20, 0}, {"side left", 20, 0}, {"two sides", 2, 0}, {"one width", 10, 0}, {"two widths", 10, 0}, {"two implants", 5, 0},
	{"placed with the graft", 30, 0}, {"placed later", 8, 0}, {"through the gum", 5, 0}, {"transcrestal", 5, 0}, {"perforation", 3, 0}, {"septum", 3, 0}, {"window", 8, 0},
	{"additive none", 10, 0}, {"additive platelet-rich fibrin", 5, 0}, {"additive rhPDGF-BB", 5, 0}, {"additive rhBMP-2", 2, 0},
	{"flag", 10, 0}, {"mail", 10, 0}, {"phone", 80, 80}, {"large print", 5, 0}, {"plain calendar", 5, 0},
	{"list early check missed", 2, 0}, {"list stitches past their time", 2, 0}, {"list loading waits", 1, 0}, {"list review overdue", 1, 0}, {"list recall overdue", 1, 0},
	{"list record attended or missed", 1, 0}, {"list the call after surgery", 1, 0}, {"list confirm", 4, 25},
}

// countCase counts what a case shows.
func countCase(there map[string]int, live desk.Live) {
	c := live.Case
	count := func(what string, is bool) {
		if is {
			there[what]++
		}
	}
	count("case", true)
	count("ahead", c.Ahead(live.Timeline.On))
	count("draft", live.Approval == nil)
	count("draft, later revision", live.Approval == nil && live.Kept.Revision > 1 && !live.Stopped())
	count("stop", live.Stopped())
	count("language "+c.Patient.Language, true)
	count("phone", c.Patient.Phone != "")
	count("mail", c.Patient.Mail.Address != "")
	count("flag", len(c.Patient.Flags) > 0)
	count("large print", c.Patient.LargePrint)
	count("plain calendar", c.Patient.CalendarDetail == graft.Plain)
	count("two sides", len(c.Sinuses) > 1)
	for _, s := range c.Sinuses {
		countSinus(count, s)
	}
	for _, o := range c.Observations {
		countFinding(count, o)
	}
	for _, contact := range live.Contacts {
		count("contact "+string(contact.Outcome), true)
	}
	for _, m := range live.Timeline.Milestones {
		countStep(count, live, m)
	}
}

func countSinus(count func(string, bool), s graft.Sinus) {
	count("side "+string(s.Side), true)
	count("aborted", s.Outcome == graft.Aborted)
	count("perforation", s.Perforation != nil)
	count("one width", len(s.Widths) == 1)
	count("two widths", len(s.Widths) == 2)
	count("septum", len(s.Septa) > 0)
	count("window", s.Window != nil)
	count("transcrestal", s.Approach == graft.Transcrestal)
	count("additive "+string(s.Graft.Additive), true)
	count("two implants", len(s.Implants) == 2)
	for _, i := range s.Implants {
		count("placed "+string(i.Placed), true)
		count("through the gum", i.Closure == graft.ThroughTheGum)
		count("torque not yet", i.Placed == graft.WithTheGraft && i.Torque == nil)
	}
}

func countFinding(count func(string, bool), o graft.Observation) {
	const go_, decide = 70, 60
	switch {
	case o.What == graft.Image:
		count("image "+string(o.Result), true)
	case o.What != graft.Stability:
		count("found "+string(o.What), true)
	case o.ISQ >= go_:
		count("found stability go", true)
	case o.ISQ >= decide:
		count("found stability decide", true)
	default:
		count("found stability hold", true)
	}
}

func countStep(count func(string, bool), live desk.Live, m graft.Milestone) {
	count("window to firm up", live.State(m.ID) == ledger.WindowHeld && m.Firm && m.Attended.IsZero())
	if o := m.Override; o != nil {
		count("set earlier", o.Day.Before(o.Computed.NotBefore))
		count("set later", o.Day.After(o.Computed.NotBefore))
	}
	before := ledger.State("")
	for _, v := range live.Visits {
		if v.Milestone == m.ID {
			again := v.State == ledger.Booked || v.State == ledger.Attended
			count("missed and booked again", again && before == ledger.Missed)
			count("cancelled and booked again", again && before == ledger.Cancelled)
			before = v.State
		}
	}
}

// countLists counts what the desk's list of today says.
func (o *opened) countLists(t *testing.T, there map[string]int) {
	t.Helper()
	today, err := o.keeper.Today(o.Today)
	if err != nil {
		t.Fatal(err)
	}
	for _, section := range today.Sections {
		if section.Name != "To call" {
			continue
		}
		for _, row := range section.Rows {
			do := row[len(row)-1]
			for _, says := range []string{"early check missed", "stitches past their time", "loading waits", "review overdue", "recall overdue", "record attended or missed", "the call after surgery", "confirm"} {
				if strings.Contains(do, says) {
					there["list "+says]++
				}
			}
		}
	}
}

// TestNobodyIsReal holds every name, number and address of a demo to the invented and
// the reserved: mail at the domains of RFC 2606, section 3.
func TestNobodyIsReal(t *testing.T) {
	t.Parallel()
	invented := map[string]bool{}
	for n := range 400 {
		name, _ := person(n)
		invented[name] = true
	}
	phones := regexp.MustCompile(`^\+353 1 555 01([0-9]{2})$`)
	mails := regexp.MustCompile(`^[a-z.-]+@example\.(com|org)$`)
	o := makeFew(t, "2027-06-15", 5, 24)
	names := map[string]bool{}
	for _, live := range o.all {
		p := live.Case.Patient
		if !invented[p.Name] || names[p.Name] {
			t.Errorf("%s: %q is no invented name, or is there twice", live.Kept.Case, p.Name)
		}
		names[p.Name] = true
		if m := phones.FindStringSubmatch(p.Phone); m == nil || m[1] == "00" || m[1] == "99" {
			t.Errorf("%s: %q is no number that is free for inventions, or is the clinic's", live.Kept.Case, p.Phone)
		}
		if p.Mail.Address != "" && !mails.MatchString(p.Mail.Address) {
			t.Errorf("%s: %q is an address at no reserved domain", live.Kept.Case, p.Mail.Address)
		}
	}
	for _, number := range regexp.MustCompile(`"\+[0-9 ]+"`).FindAllString(string(o.text), -1) {
		if !phones.MatchString(strings.Trim(number, `"`)) {
			t.Errorf("the clinic file has the number %s", number)
		}
	}
	if people := []string{"Dr Alba Quill", "Dr Ewan Locke", "Nurse Wyn Tate", "Nurse Bree Colley", "Ida Marlow"}; !slices.EqualFunc(o.People, people, func(p ledger.Person, name string) bool { return p.Name == name }) {
		t.Errorf("people: %v", o.People)
	}
}

// TestNamesFitTheirLanguage wants names of the language's own letters, and no two
// patients of a demo with one name.
func TestNamesFitTheirLanguage(t *testing.T) {
	letters := map[string]string{"es": "ÁáíÍñóNR", "de": "öäüßKWF", "fr": "èéÉêGM", "pl": "żŁłśŹŚSM", "en": ""}
	seen := map[string]bool{}
	for n := range usual {
		name, language := person(n)
		of, known := letters[language]
		if !known || of != "" && !strings.ContainsAny(name, of) {
			t.Errorf("%q for %q", name, language)
		}
		if seen[name] {
			t.Errorf("%q twice", name)
		}
		seen[name] = true
	}
}

// TestEverybodySignsIn tries the password that was given.
func TestEverybodySignsIn(t *testing.T) {
	t.Parallel()
	made, err := makeCases(t.TempDir(), day.New(2027, time.March, 9), 1, secret, 1)
	if err != nil {
		t.Fatal(err)
	}
	o := open(t, made)
	at := time.Date(2027, time.March, 9, 10, 0, 0, 0, time.UTC)
	for _, p := range made.People {
		if got, _, err := o.keeper.SignIn(p.Name, secret, at); err != nil || got != p {
			t.Errorf("%s signs in as %v, %v", p.Name, got, err)
		}
	}
	if _, _, err := o.keeper.SignIn("Ida Marlow", secret+"!", at); err == nil {
		t.Error("another password lets in")
	}
}
