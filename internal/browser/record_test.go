package browser_test

import (
	"strings"
	"testing"
	"time"
)

// entry is one field of the record's form with what is typed into it.
type entry struct{ field, value string }

// recordOf2041 is the record testdata/demo/fenwick.yaml as it is typed into the form, part
// by part.
var recordOf2041 = []struct {
	part    []string
	entries []entry
}{
	{nil, []entry{{"Case number", "HR-2041"}}},
	{[]string{"Patient"}, []entry{{"Name", "Nora Fenwick"}, {"Language", "en"}, {"Print of the letter", "normal"}, {"Words in the patient's calendar", "neutral"},
		{"smoker", "yes"}, {"Telephone", "+353 1 555 0141"}}},
	{[]string{"Patient", "Absence 1"}, []entry{{"First day", "2027-07-05"}, {"Last day, when there are several", "2027-07-16"}}},
	{[]string{"Patient", "Visits by e-mail"}, []entry{{"E-mail address", "nora.fenwick@example.org"}, {"Agreed on", "2027-01-14"}, {"Letter by e-mail", "no"}}},
	{[]string{"Surgery"}, []entry{{"Day", "2027-01-14"}, {"Surgeon", surgeon}, {"Sutures", "removable"}, {"Referrer", "Dr Orla Finch"}}},
	{[]string{"Sinus 1"}, []entry{{"Side", "right"}, {"Health", "clear"}, {"Approach", "lateral window"}, {"Outcome", "completed"}, {"Perforation", "none"}, {"Front wall, mm", "0"}}},
	{[]string{"Width 1"}, []entry{{"Wall to wall, mm", "12.5"}, {"Above the floor, mm", "4"}}},
	{[]string{"Width 2"}, []entry{{"Wall to wall, mm", "14.0"}, {"Above the floor, mm", "9"}}},
	{[]string{"Access window"}, []entry{{"Front edge, mm", "5"}, {"Back edge, mm", "14"}, {"Lower edge above the floor, mm", "3"}, {"Height of the window, mm", "7"}, {"Lid", "removed"}}},
	{[]string{"Septum 1"}, []entry{{"Place, mm", "22"}, {"Height of the septum, mm", "4"}}},
	{[]string{"Graft"}, []entry{{"Material", "xenograft"}, {"Additive", "none"}, {"Height of the graft, mm", "13"}}},
	{[]string{"Implant 1"}, []entry{{"Tooth", "16"}, {"Place, mm", "9.5"}, {"Off the mid-line, mm", "0"}, {"Residual bone, mm", "4"}, {"Length, mm", "10"}, {"Diameter, mm", "4.1"},
		{"Placed", "with the graft"}, {"Insertion torque, Ncm", "30"}, {"Closure", "submerged"}, {"Loading", "protected"}, {"Restoration", "right bridge"}}},
	{[]string{"Implant 2"}, []entry{{"Tooth", "17"}, {"Place, mm", "17.0"}, {"Off the mid-line, mm", "1"}, {"Residual bone, mm", "2.5"}, {"Length, mm", "10"}, {"Diameter, mm", "4.8"},
		{"Placed", "with the graft"}, {"Insertion torque, Ncm", "20"}, {"Closure", "submerged"}, {"Loading", "protected"}, {"Restoration", "right bridge"}}},
}

// typeRecord fills in the whole form of a new record, which the tab shows.
func (p *page) typeRecord() {
	p.t.Helper()
	for _, more := range []string{"One more absence", "One more width", "One more septum", "One more implant"} {
		p.follow(more)
	}
	p.unfold()
	for _, part := range recordOf2041 {
		var within *thing
		if part.part != nil {
			within = p.part(part.part...)
		}
		for _, e := range part.entries {
			p.fillIn(within, e.field, e.value)
		}
	}
}

func TestSurgeonEntersARecordAndApprovesIt(t *testing.T) {
	t.Parallel()
	h := openHouse(t)
	p := h.signedIn(surgeon)
	p.goTo("/record")
	p.typeRecord()
	p.await("Implant 16: full support after 6.00 months", "Implant 17: full support after 6.71 months", "Thursday 14 January 2027")
	p.follow("Keep this record")
	p.await("is kept. It is a draft until a surgeon approves it.", "Revision 1, Draft: no surgeon has approved it")
	p.follow("Approve revision 1")
	p.await("Approved: revision 1.", "approved by Dr Alba Quill on Mon 18 January 2027")
	if says := h.command(clerk, "admit", demoFile("fenwick.yaml")); !strings.Contains(says, "unchanged") {
		t.Errorf("the record that was typed is not the one of the file: %s", says)
	}
}

// TestFaultsOfARecordStandAtTheirFields sees the words of the command line at the
// field, and nothing typed is lost.
func TestFaultsOfARecordStandAtTheirFields(t *testing.T) {
	t.Parallel()
	h := openHouse(t)
	p := h.signedIn(surgeon)
	p.seen.mayAnswer(422)
	p.goTo("/record")
	p.typeRecord()
	p.fillIn(p.part("Implant 2"), "Length, mm", "100")
	p.follow("Keep this record")
	p.await("Nothing was kept in the ledger.")
	length := p.one(p.part("Implant 2"), "Length, mm", fieldRoles)
	if says := on[string](p, length, `function() { return this.getAttribute("aria-invalid") + " " + (this.getAttribute("aria-describedby") || "").split(" ").map((id) => document.getElementById(id)?.textContent).join(" ") }`); !strings.Contains(says, "true") || !strings.Contains(says, "100") {
		t.Errorf("at the field: %q", says)
	}
	if got := p.valueIn(p.part("Implant 1"), "Insertion torque, Ncm"); got != "30" {
		t.Errorf("what was typed beside the fault came back as %q", got)
	}
	p.fillIn(p.part("Implant 2"), "Length, mm", "10")
	p.follow("Keep this record")
	p.await("The record of HR-2041, Nora Fenwick, is kept.")
}

// TestWhatIsTypedOutlivesTheSignIn types half a record; then the sign-in runs out, the
// page is loaded anew and the program is started anew.
func TestWhatIsTypedOutlivesTheSignIn(t *testing.T) {
	t.Parallel()
	h := openHouse(t)
	p := h.signedIn(surgeon)
	p.seen.mayAnswer(401)
	p.goTo("/record")
	p.fill("Case number", "HR-2090")
	p.fillIn(p.part("Patient"), "Name", "Nora Fenwick")
	h.later(2 * time.Hour)
	p.follow("Keep this record")
	p.await("The sign-in has run out.", "Nora Fenwick")
	p.signIn(surgeon)
	p.await("Nothing of it has been done yet.", "HR-2090")
	p.seen.mayAnswer(422)
	p.follow("Send it now")
	typed := func(after string) {
		t.Helper()
		if number, name := p.value("Case number"), p.valueIn(p.part("Patient"), "Name"); number != "HR-2090" || name != "Nora Fenwick" {
			t.Errorf("after %s: %q, %q", after, number, name)
		}
	}
	typed("a sign-in that ran out")

	p.fillIn(p.part("Surgery"), "Referrer", "Dr Orla Finch")
	p.until(func() bool {
		p.goTo("/record") // leaving the page sends what was typed last, beside the question for the next
		return p.valueIn(p.part("Surgery"), "Referrer") == "Dr Orla Finch"
	}, func() string { return "what was typed before a reload does not come back" })
	typed("a reload")

	h.open()
	p.goTo("/record")
	typed("a restart of the program")
	p.followIn(p.at(".typing .acts"), "Show what follows")
	typed("going on after it")
}
