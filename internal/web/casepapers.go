package web

import (
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"fmt"
	"net/http"
	"regexp"
	"slices"
	"strings"

	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

// papers are what a case gives out.
type papers struct {
	Held      string // why nothing goes to the patient; empty: it may
	Draft     bool
	Languages []option
	Referrer  string
	Feed      *feedLine
}

// feedLine is the standing feed of a case.
type feedLine struct {
	Address, Since, By string
	Served             bool // by this program
}

// papers gathers what a case gives out.
func (q *request) papers(live desk.Live) (papers, error) {
	p := papers{Draft: live.Draft(), Referrer: live.Case.Surgery.Referrer}
	switch {
	case live.Stopped():
		p.Held = "A stop finding stands, so nothing is given to the patient."
	case !live.Settled():
		p.Held = "Something booked does not fit the plan. Settle it first; until then nothing is given to the patient."
	}
	for _, tag := range q.keeper.Templates.Tags() {
		p.Languages = append(p.Languages, option{Value: tag, Says: languageName(tag)})
	}
	feeds, err := q.keeper.Feeds(live.Kept.Case)
	if len(feeds) > 0 {
		f := feeds[0]
		p.Feed = &feedLine{Address: q.feedAddress(f), Since: q.when(f.At), By: f.By, Served: f.Served()}
	}
	return p, err
}

// languageName is a language in its own words; its tag where that is not known.
func languageName(tag string) string {
	known := map[string]string{"de": "Deutsch", "en": "English", "es": "español", "fr": "français", "pl": "polski"}
	base, region, _ := strings.Cut(tag, "-")
	name, ok := known[base]
	switch {
	case !ok:
		return tag
	case region != "":
		return name + ", " + region
	}
	return name
}

// feedAddress is where a calendar program fetches a feed.
func (q *request) feedAddress(f ledger.Feed) string {
	if !f.Served() {
		return ""
	}
	scheme := "http"
	if q.s.Secure {
		scheme = "https"
	}
	return scheme + "://" + q.Host + "/feed/" + f.Token + ".ics"
}

// postFeed opens the feed of a case.
func (q *request) postFeed() error {
	if err := q.form(); err != nil {
		return err
	}
	_, err := q.keeper.OpenFeed(q.actor(), q.caseID(), "", strings.ToLower(rand.Text()))
	return q.doneOrCase("The calendar feed is open. Give its address to the patient alone: whoever has it reads the dates.", err)
}

// postRevoke ends the feed of a case. One whose file lies in a folder is ended where
// the file can be removed.
func (q *request) postRevoke() error {
	if err := q.form(); err != nil {
		return err
	}
	feeds, err := q.keeper.Feeds(q.caseID())
	if err == nil && len(feeds) > 0 && !feeds[0].Served() {
		err = &graft.Refusal{Kind: graft.Conflict, Message: "the file of this feed lies in a folder of the clinic's web server, and only there it can be removed"}
	}
	if err == nil {
		_, err = q.keeper.RevokeFeed(q.actor(), q.caseID())
	}
	return q.doneOrCase("The calendar feed is ended. What a phone has fetched stays on it until its owner unsubscribes.", err)
}

// doneOrCase tells what was done, or shows the case with why it was not.
func (q *request) doneOrCase(says string, err error) error {
	if err == nil {
		return q.done(says, caseLink(q.caseID())+"#feed")
	}
	wrong, status, _, err := q.refused("", err)
	if err != nil {
		return err
	}
	return q.showCase(status, wrong)
}

// kindsOfFile are the types of what is handed out, by the ending of its name.
var kindsOfFile = map[string]string{
	".html": "text/html; charset=utf-8", ".txt": "text/plain; charset=utf-8", ".pdf": "application/pdf",
	".ics": "text/calendar; charset=utf-8", ".json": "application/json",
}

func ending(name string) string { return name[max(0, strings.LastIndex(name, ".")):] }

// letterNames are the letters by the names of their files.
var letterNames = map[string]struct {
	to     desk.Reader
	format desk.Format
}{
	"letter.html": {desk.ToPatient, desk.HTML}, "letter.txt": {desk.ToPatient, desk.Text}, "letter.pdf": {desk.ToPatient, desk.PDF},
	"referrer.html": {desk.ToReferrer, desk.HTML}, "referrer.txt": {desk.ToReferrer, desk.Text}, "referrer.pdf": {desk.ToReferrer, desk.PDF},
}

// calendarNames are the calendar files, which are only given out and not looked at.
var calendarNames = []string{desk.PatientCalendar, desk.DeskCalendar, desk.SurgeonCalendar}

// getFile shows a file without giving it out: the ledger keeps nothing of it. A page is
// shown, what no browser shows is handed out.
func (q *request) getFile() error {
	name := q.PathValue("name")
	live, err := q.keeper.Live(q.caseID(), q.on)
	if err != nil {
		return err
	}
	var out desk.Outputs
	_, isLetter := letterNames[name]
	switch {
	case isLetter:
		out, err = q.keeper.Letters(live.Plan, q.letterAs(name))
		name = q.letterFile(name)
	case name == desk.ReportPage, name == desk.ReportPrint:
		out, err = q.keeper.ReportFiles(live.Plan, live.Revision.Record, name)
	case name == desk.TimelineJSON:
		var data []byte
		data, err = desk.JSON(live.Plan)
		out.Files = []desk.File{{Name: name, Data: data}}
	default:
		return nowhere()
	}
	if err != nil {
		return err
	}
	return q.hand(out, name, ending(name) == ".html" || ending(name) == ".txt")
}

// postFile gives a file out, and the ledger keeps what its reader got.
func (q *request) postFile() error {
	if err := q.form(); err != nil {
		return err
	}
	name := q.PathValue("name")
	var out desk.Outputs
	var err error
	if _, isLetter := letterNames[name]; isLetter {
		_, out, err = q.keeper.GiveLetters(q.caseID(), q.on, q.at, q.letterAs(name))
		name = q.letterFile(name)
	} else if slices.Contains(calendarNames, name) {
		_, out, err = q.keeper.GiveOut(q.caseID(), q.on, q.at)
	} else {
		return nowhere()
	}
	if err != nil {
		return err
	}
	return q.hand(out, name, q.PostForm.Get("show") != "" && ending(name) == ".html")
}

// letterAs reads how a letter is wanted.
func (q *request) letterAs(name string) desk.LetterAs {
	l := letterNames[name]
	return desk.LetterAs{To: []desk.Reader{l.to}, Formats: []desk.Format{l.format}, Language: q.FormValue("language"), Large: q.FormValue("large") != ""}
}

func (q *request) letterFile(name string) string {
	l := letterNames[name]
	return desk.LetterFile(l.to, q.letterAs(name), l.format)
}

// hand hands out one file of many, or says why it is held back.
func (q *request) hand(out desk.Outputs, name string, inside bool) error {
	for _, h := range out.Held {
		if h.Name == name {
			return &graft.Refusal{Kind: graft.Conflict, Message: "this is not given out: " + spelled(heldWords(h.Why))}
		}
	}
	for _, f := range out.Files {
		if f.Name == name {
			if inside {
				return q.inline(kindsOfFile[ending(name)], f.Data)
			}
			return q.download(name, kindsOfFile[ending(name)], f.Data)
		}
	}
	return fmt.Errorf("no file %s was made", name)
}

// heldWords leaves out a command that the reason names: a page has buttons.
func heldWords(why string) string {
	before, _, _ := strings.Cut(why, ": graftclock ")
	return before
}

// styles finds the styles inside a page.
var styles = regexp.MustCompile(`(?s)<style>(.*?)</style>`)

// inline shows a file inside the browser. A page of its own brings its style along;
// the policy lets through just that, by its hash (Content Security Policy level 3,
// 2.3.1), and nothing else.
func (q *request) inline(kind string, data []byte) error {
	allowed := "'none'"
	for n, style := range styles.FindAllSubmatch(data, -1) {
		if n == 0 {
			allowed = ""
		}
		sum := sha256.Sum256(style[1])
		allowed += " 'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'"
	}
	h := q.w.Header()
	h.Set("Content-Security-Policy", "default-src 'none'; style-src "+strings.TrimSpace(allowed)+"; img-src data:; form-action 'none'; frame-ancestors 'none'; base-uri 'none'")
	h.Set("Content-Type", kind)
	h.Set("Content-Disposition", "inline")
	q.w.WriteHeader(http.StatusOK)
	q.w.Write(data) // a browser may be gone
	return nil
}
