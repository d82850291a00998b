package desk_test

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/letter"
	"graftclock/internal/post"
	"graftclock/internal/protocol"
)

// sample is all that goes to one patient, and what none of it may tell.
type sample struct {
	*secrets
	t        *testing.T
	live     desk.Live
	calendar []byte // with a booked visit, and reminders
	message  post.Message
}

// sampled is a case of each word that matters, booked, approved and mailed with its
// letter.
func sampled(t *testing.T, detail graft.Detail) sample {
	b := openPostbag(t, "patient.name=Nora Zuqivex", "patient.mail.letter=true", "patient.calendar_detail="+string(detail),
		"graft.additive=rhPDGF-BB", "restoration=right bridge Kevuzo")
	b.clinic.Mail.From, b.keeper.Clinic.Mail.From = "desk@harbourrow.example", "desk@harbourrow.example"
	if told := b.plays("approve; book 2027-01-25 09:00; mail"); !strings.HasSuffix(told, "sent") {
		t.Fatal(told)
	}
	live, out, err := b.keeper.GiveOut(b.id, b.on, b.front().At)
	if err != nil {
		t.Fatal(err)
	}
	s := &scan{inventor: newInventor(t, 1), desk: desk.New(b.clinic, protocol.Default()), met: map[string]bool{}, split: map[string][]string{}}
	message := b.posted[0].mail
	message.ID = strings.Repeat("0123456789abcdef", 2) + "@harbourrow.example"
	return sample{s.secretsOf(live.Plan, live.Visits, nil), t, live, out.Files[0].Data, message}
}

// mail is the message as it is sent.
func (s sample) mail(change func(*post.Message)) []byte {
	m := s.message
	change(&m)
	data, err := m.Bytes()
	if err != nil {
		s.t.Fatal(err)
	}
	return data
}

// reads takes a mail apart.
func (s sample) reads(data []byte) []spoken {
	s.t.Helper()
	texts, err := mailSpeaks(data, s.message.Letter)
	if err != nil {
		s.t.Fatalf("%v\n%s", err, data)
	}
	return texts
}

// put puts text in for a mark that must be there.
func put(t *testing.T, data []byte, mark, text string) []byte {
	t.Helper()
	if !bytes.Contains(data, []byte(mark)) {
		t.Fatalf("no %q in\n%s", mark, data)
	}
	return bytes.Replace(data, []byte(mark), []byte(text), 1)
}

// nameOf makes a name of a property, a file or a message out of a word.
func nameOf(word string) string {
	return strings.Map(func(r rune) rune {
		if r < '0' || r > '9' && r < 'A' || r > 'Z' && r < 'a' || r > 'z' {
			return '-'
		}
		return r
	}, word)
}

// inCalendar are the places of a calendar in which a word is planted: what stands there
// and what is put there instead. %s is the word, %n a name made of it.
var inCalendar = map[string][2]string{
	"SUMMARY":                 {"SUMMARY:", "SUMMARY:%s "},
	"SUMMARY, behind a break": {"SUMMARY:", `SUMMARY:a\n%s\, `},
	"SUMMARY, folded":         {"SUMMARY:", "SUMMARY:%f "},
	"DESCRIPTION":             {"DESCRIPTION:", "DESCRIPTION:%s. "},
	"LOCATION":                {"LOCATION:", "LOCATION:%s "},
	"NAME":                    {"\r\nNAME:", "\r\nNAME:%s "},
	"X-WR-CALNAME":            {"X-WR-CALNAME:", "X-WR-CALNAME:%s "},
	"COMMENT":                 {"BEGIN:VEVENT\r\n", "BEGIN:VEVENT\r\nCOMMENT:%s\r\n"},
	"CATEGORIES":              {"BEGIN:VEVENT\r\n", "BEGIN:VEVENT\r\nCATEGORIES:VISIT,%s\r\n"},
	"URL":                     {"BEGIN:VEVENT\r\n", "BEGIN:VEVENT\r\nURL:https://www.example/%n/\r\n"},
	"X- property":             {"BEGIN:VEVENT\r\n", "BEGIN:VEVENT\r\nX-NOTE:%s\r\n"},
	"X- property's name":      {"BEGIN:VEVENT\r\n", "BEGIN:VEVENT\r\nX-%n:1\r\n"},
	"X- property of the file": {"BEGIN:VTIMEZONE\r\n", "X-NOTE:%s\r\nBEGIN:VTIMEZONE\r\n"},
	"parameter":               {"SUMMARY:", `SUMMARY;X-NOTE="%s":`},
	"parameter, RFC 6868":     {"SUMMARY:", `SUMMARY;X-NOTE=^n%s^':`},
	"parameter's name":        {"SUMMARY:", `SUMMARY;X-%n=1:`},
	"parameter that is known": {"DTSTART;TZID=", `DTSTART;CN=%s;TZID=`},
	"UID":                     {"\r\nUID:", "\r\nUID:%n-"},
	"UID, behind an at":       {"\r\nSEQUENCE:", "\r\nUID:0@%n\r\nSEQUENCE:"},
	"STATUS":                  {"STATUS:", "STATUS:%s "},
	"SEQUENCE":                {"SEQUENCE:", "SEQUENCE:%s "},
	"PRODID":                  {"PRODID:", "PRODID:%s "},
	"reminder":                {"ACTION:DISPLAY\r\n", "ACTION:DISPLAY\r\nSUMMARY:%s\r\n"},
	"reminder's trigger":      {"TRIGGER:", "TRIGGER;X-NOTE=%s:"},
	"time zone's name":        {"TZNAME:", "TZNAME:%s "},
	"time zone's id":          {"TZID:", "TZID:%s/"},
	"component":               {"BEGIN:STANDARD\r\n", "BEGIN:X-%n\r\nEND:X-%n\r\nBEGIN:STANDARD\r\n"},
	"guest who is not there":  {"BEGIN:VEVENT\r\n", "BEGIN:VEVENT\r\nCONTACT:%s\r\n"},
	"line that is no line":    {"BEGIN:VEVENT\r\n", "BEGIN:VEVENT\r\n%s\r\n"},
}

// inMail are the places of the mail as it is sent; body and calendar are encoded before.
var inMail = map[string][2]string{
	"Message-ID":           {"Message-ID: <", "Message-ID: <%n."},
	"header field":         {"MIME-Version:", "X-Note: %s\r\nMIME-Version:"},
	"header field's name":  {"MIME-Version:", "X-%n: 1\r\nMIME-Version:"},
	"attachment's name":    {"filename=letter.txt", `filename="letter %s.txt"`},
	"calendar's file name": {"; component=VEVENT", `; component=VEVENT; name="%s.ics"`},
	"parameter":            {"; component=VEVENT", `; component=VEVENT; x-note="%s"`},
	"parameter's name":     {"; component=VEVENT", `; component=VEVENT; x-%n=1`},
}

func planted(text, word string) string {
	half := len(word) / 2
	return strings.NewReplacer("%s", word, "%n", nameOf(word), "%f", word[:half]+"\r\n "+word[half:]).Replace(text)
}

// plantedIn plants a word at every place of what the patient gets, one after another.
func (s sample) plantedIn(word string) map[string][]spoken {
	all := map[string][]spoken{}
	for _, pattern := range []string{"%s.ics", "patient-%n.ics", "visit-2027-01-25-%n.ics", "letter.%s.txt"} {
		all["file name "+pattern] = []spoken{{"file name", planted(pattern, word)}}
	}
	all["feed's name"] = []spoken{{"feed name", planted("%n-0123456789abcdef.ics", word)}}
	for place, change := range inCalendar {
		all[place] = calendarSpeaks(put(s.t, s.calendar, change[0], planted(change[1], word)))
	}
	whole := s.mail(func(*post.Message) {})
	for place, change := range inMail {
		all["mail's "+place] = s.reads(put(s.t, whole, change[0], planted(change[1], word)))
	}
	for place, change := range map[string]func(*post.Message){
		"subject":          func(m *post.Message) { m.Subject = word + " " + m.Subject },
		"subject, encoded": func(m *post.Message) { m.Subject = "Ωρα: " + word + " " + m.Subject },
		"text":             func(m *post.Message) { m.Text += word + "\n" },
		"text, over lines": func(m *post.Message) {
			m.Text += strings.Repeat("é", 30) + " " + strings.ReplaceAll(word, " ", "\n") + "\n"
		},
		"sender":   func(m *post.Message) { m.From.Name = word },
		"calendar": func(m *post.Message) { m.Calendar = put(s.t, m.Calendar, "SUMMARY:", "SUMMARY:"+word+" ") },
		"calendar's guest": func(m *post.Message) {
			m.Calendar = put(s.t, m.Calendar, "ORGANIZER;", `ORGANIZER;SENT-BY="mailto:`+nameOf(word)+`@example.org";`)
		},
		"letter, the other way": func(m *post.Message) { m.Letter = append(bytes.Clone(m.Letter), word...) },
	} {
		all["mail's "+place] = s.reads(s.mail(change))
	}
	return all
}

// formatAndRules are all terms that the record format, the rules and the letter's steps
// have a name for.
func formatAndRules(t *testing.T) []string {
	var list []string
	for _, words := range formatWords() {
		list = append(list, words...)
	}
	list = append(list, protocol.Default().IDs()...)
	words, err := letter.BuiltIn().WordsFor("en")
	if err != nil {
		t.Fatal(err)
	}
	for _, step := range graft.Steps {
		list = append(list, words.Title(step))
	}
	slices.Sort(list)
	return slices.Compact(list)
}

// TestTheScanFindsWhatIsPlanted plants words of each kind in every place of a patient's
// calendar, its names and its mails, and each term in one of them.
func TestTheScanFindsWhatIsPlanted(t *testing.T) {
	s := sampled(t, graft.Neutral)
	s.isClean()
	places, terms := 0, formatAndRules(t)
	for _, word := range []string{
		"16", "tooth 16", "FDI 16", "1.6", "#3", "upper right first molar", "right", "Right side", "RIGHT", "uncovering", "first-loading", "recall 3 months, right bridge Kevuzo",
		"xenograft", "rhPDGF-BB", "smoker", "perforation", "infection", "membrane", "implant", "implànt", "HR-2041", "HR2041", "hr_2041", "Kevuzo", "Zuqivex", "Dr Alba Quill", "2027-01-14", "sutures", "surgeon",
	} {
		for place, texts := range s.plantedIn(word) {
			if places++; len(s.allLeaks(texts)) == 0 {
				t.Errorf("%q is not found in %s", word, place)
			}
		}
	}
	for _, word := range terms {
		if len(s.leaks(spoken{"SUMMARY", "Appointment: Harbour Row " + word})) == 0 {
			t.Errorf("%q is not found", word)
		}
	}
	t.Logf("%d places, %d terms", places, len(terms))
}

// isClean wants nothing to be found where nothing was planted, though the letter that
// comes along tells of the operation.
func (s sample) isClean() {
	s.t.Helper()
	texts := append(calendarSpeaks(s.calendar), s.reads(s.mail(func(*post.Message) {}))...)
	if found := s.allLeaks(texts); len(found) > 0 {
		s.t.Errorf("found before anything was planted: %v", found)
	}
	if len(s.message.Letter) == 0 || len(s.leaks(spoken{"mail text", string(s.message.Letter)})) == 0 {
		s.t.Error("no letter comes along, or it tells nothing")
	}
}

// TestPlainWordsOpenNothingElse plants in the calendar of a patient who chose plain
// words: those may stand there, and nothing beside them.
func TestPlainWordsOpenNothingElse(t *testing.T) {
	s := sampled(t, graft.Plain)
	s.isClean()
	if !bytes.Contains(s.calendar, []byte("Stitches check")) {
		t.Fatalf("no plain words in\n%s", s.calendar)
	}
	for _, word := range []string{"Stitches check, right", "Uncovering visit, right bridge Kevuzo", "Stitches check 16", "wound-check", "We look at the wound", "xenograft", "HR-2041", "New try"} {
		if len(s.leaks(spoken{"SUMMARY", fmt.Sprintf("Harbour Row: %s", word)})) == 0 {
			t.Errorf("%q is not found", word)
		}
	}
	neutral := sampled(t, graft.Neutral)
	if len(neutral.allLeaks(calendarSpeaks(s.calendar))) == 0 {
		t.Error("plain words are not found where none were chosen")
	}
}

// TestPlainWordsThatAreTakenBackStayNowhere goes back to neutral words after one visit
// took place and another was mailed: neither the feed nor the mail that calls it off
// says any more what they were for.
func TestPlainWordsThatAreTakenBackStayNowhere(t *testing.T) {
	b := openPostbag(t, "patient.calendar_detail=plain")
	feed, err := b.keeper.OpenFeed(b.front(), b.id, "/feeds", "0123456789abcdef0123456789abcdef")
	if err != nil {
		t.Fatal(err)
	}
	says := func() []spoken {
		t.Helper()
		b.at = b.at.Add(time.Minute)
		file, err := b.keeper.FillFeed(feed, b.on, b.at)
		if err != nil || file.Data == nil {
			t.Fatalf("%s, %v", file.Held, err)
		}
		return append(calendarSpeaks(file.Data), calendarSpeaks(b.posted[len(b.posted)-1].mail.Calendar)...)
	}
	b.plays("approve; book 2027-01-25 09:00; book 2027-03-11 09:00 healing-review; mail; day 2027-01-25; attended")
	plain := says()
	b.plays("set patient.calendar_detail=neutral; approve; cancel healing-review; mail")
	s := &scan{inventor: newInventor(t, 1), desk: desk.New(b.clinic, protocol.Default()), met: map[string]bool{}, split: map[string][]string{}}
	secrets := s.secretsOf(b.live().Plan, b.live().Visits, nil)
	if len(secrets.allLeaks(plain)) == 0 {
		t.Error("there were no plain words")
	}
	if found := secrets.allLeaks(says()); len(found) > 0 || b.posted[len(b.posted)-1].mail.Method != "CANCEL" {
		t.Errorf("%s: %v", b.posted[len(b.posted)-1].mail.Method, found)
	}
}
