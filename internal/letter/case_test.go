package letter_test

import (
	"graftclock/internal/day"
	"graftclock/internal/graft"
	"graftclock/internal/letter"
)

// The letters of these tests are built by hand, with invented people and round
// windows: whether a window is right is another package's test.

func on(text string) day.Day {
	d, err := day.Parse(text)
	if err != nil {
		panic(err)
	}
	return d
}

// visit builds a milestone the patient sees, placed on its target; the window's
// four points are days after the surgery.
func visit(step graft.Step, surgery day.Day, notBefore, earliest, target, latest int) graft.Milestone {
	return graft.Milestone{
		ID: graft.MilestoneID(step), Step: step, Shift: graft.Nearest,
		SeenBy: []graft.Audience{graft.ForDesk, graft.ForPatient},
		Window: graft.Window{
			NotBefore: surgery.AddDays(notBefore), Earliest: surgery.AddDays(earliest),
			Target: surgery.AddDays(target), Latest: surgery.AddDays(latest),
		},
		Placed: surgery.AddDays(target),
	}
}

func gate(step graft.Step, surgery day.Day, notBefore, target int) graft.Milestone {
	m := visit(step, surgery, notBefore, notBefore, target, target+40)
	m.Shift, m.For = graft.OnlyLater, "right bridge"
	return m
}

func recall(which string, surgery day.Day, target int) graft.Milestone {
	m := visit(graft.Recall, surgery, target-10, target-10, target, target+10)
	m.ID, m.Which, m.For = graft.MilestoneID("recall "+which), which, "right bridge"
	return m
}

func earlyVisits(surgery day.Day) []graft.Milestone {
	desk := visit(graft.PhoneCall, surgery, 1, 1, 1, 1)
	desk.SeenBy = []graft.Audience{graft.ForDesk}
	return []graft.Milestone{
		desk,
		visit(graft.WoundCheck, surgery, 7, 7, 11, 14),
		visit(graft.LateCheck, surgery, 21, 21, 28, 30),
		visit(graft.HealingReview, surgery, 50, 50, 60, 80),
	}
}

// simultaneous is the letter that the others vary: one sinus, two implants
// placed in the same sitting, printed on the day of surgery.
func simultaneous() letter.Letter {
	surgery := on("2027-01-14")
	steps := append(earlyVisits(surgery),
		gate(graft.Uncovering, surgery, 186, 187),
		gate(graft.Impression, surgery, 200, 208),
		gate(graft.FirstLoading, surgery, 215, 222),
		recall("14 days", surgery, 236), recall("3 months", surgery, 312),
		recall("6 months", surgery, 404), recall("12 months", surgery, 588))
	return letter.Letter{
		Head: letter.Letterhead{
			Name: "Harbour Row Oral Surgery", Address: []string{"4 Harbour Row", "Carrick Vale"},
			Phone: "+353 1 555 0100", OutOfHours: "+353 1 555 0199", EmergencyNumber: "112",
		},
		Case: graft.Case{
			ID:      "HR-2041",
			Patient: graft.Patient{Name: "Nora Fenwick", Language: "en"},
			Surgery: graft.Surgery{Day: surgery, Surgeon: "Dr Alba Quill"},
			Sinuses: []graft.Sinus{{
				Side: graft.Right, Approach: graft.LateralWindow, Outcome: graft.Completed,
				Implants: []graft.Implant{{Tooth: 16, Placed: graft.WithTheGraft}, {Tooth: 17, Placed: graft.WithTheGraft}},
			}},
		},
		Timeline: graft.Timeline{Case: "HR-2041", On: surgery, Milestones: steps},
		Booked: map[graft.MilestoneID]letter.Booking{
			"wound-check": {Day: surgery.AddDays(12), Start: 9*60 + 30},
		},
		AfterCare: map[string]int{"nose_blowing": 14, "flying": 14, "pressure_and_wind_instruments": 28, "exercise": 7, "soft_diet": 14},
		Rules:     "2027.1", CalendarFile: "visits.ics",
		Approval: letter.Approval{By: "Dr Alba Quill", On: surgery},
	}
}

// staged has both sinuses, stitches that dissolve, a mask and implants that
// follow later.
func staged() letter.Letter {
	l := simultaneous()
	surgery := l.Case.Surgery.Day
	l.Case.Patient = graft.Patient{Name: "Tomas Ardle", Language: "en-IE", Flags: []graft.Flag{graft.Smoker, graft.PositivePressureMask}}
	l.Case.Surgery.Resorbable = true
	l.Case.Sinuses = []graft.Sinus{
		{Side: graft.Right, Approach: graft.LateralWindow, Outcome: graft.Completed, Implants: []graft.Implant{{Placed: graft.Later}, {Placed: graft.Later}}},
		{Side: graft.Left, Approach: graft.Transcrestal, Outcome: graft.Completed, Implants: []graft.Implant{{Placed: graft.WithTheGraft}, {Placed: graft.Later}}},
	}
	placement := gate(graft.Placement, surgery, 245, 250)
	placement.For = string(graft.Right)
	l.Timeline.Milestones = append(earlyVisits(surgery), placement, gate(graft.Uncovering, surgery, 370, 375),
		gate(graft.FirstLoading, surgery, 400, 410))
	l.Timeline.On = surgery.AddDays(20)
	l.Booked = nil
	delete(l.AfterCare, "flying")
	l.CalendarFile = ""
	return l
}

// aborted is a sitting that was stopped, still a draft.
func aborted() letter.Letter {
	l := simultaneous()
	surgery := l.Case.Surgery.Day
	l.Case.Sinuses = []graft.Sinus{{Side: graft.Left, Approach: graft.LateralWindow, Outcome: graft.Aborted}}
	reEntry := gate(graft.ReEntry, surgery, 60, 122)
	reEntry.For = string(graft.Left)
	l.Timeline.Milestones = append(earlyVisits(surgery)[:3], reEntry)
	l.Approval = letter.Approval{}
	return l
}

func largePrint() letter.Letter {
	l := scanned()
	l.Case.Patient.LargePrint = true
	return l
}

// scanned has a square code of the visit that is booked.
func scanned() letter.Letter {
	l := simultaneous()
	l.NextVisit = nextVisit(&l, []byte("BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//Harbour Row//EN\r\nBEGIN:VEVENT\r\n"+
		"UID:k3v7q2m9x4\r\nDTSTAMP:20270114T090000Z\r\nDTSTART:20270126T093000Z\r\nDTEND:20270126T095000Z\r\n"+
		"SUMMARY:Appointment\\, Harbour Row\r\nLOCATION:4 Harbour Row\\, Carrick Vale\r\nEND:VEVENT\r\nEND:VCALENDAR\r\n"))
	return l
}

// nextVisit is an entry of the visit that the letters have booked.
func nextVisit(l *letter.Letter, entry []byte) letter.NextVisit {
	return letter.NextVisit{Entry: entry, When: l.Booked["wound-check"]}
}

// mailed is for a patient who chose to be told of visits by e-mail, which brings them.
func mailed() letter.Letter {
	l := simultaneous()
	l.Case.Patient.Mail = graft.Mail{Address: "nora@example.org", Agreed: l.Case.Surgery.Day}
	return l
}

// inMail is the same letter as it goes along with a mail, where no file is.
func inMail() letter.Letter {
	l := mailed()
	l.CalendarFile = ""
	return l
}

// surgeryAhead shows a patient what is coming.
func surgeryAhead() letter.Letter {
	l := simultaneous()
	l.Timeline.On = on("2026-12-01")
	l.Booked = nil
	return l
}

// suspended has no step for the patient to come for.
func suspended() letter.Letter {
	l := simultaneous()
	l.Timeline.Milestones = l.Timeline.Milestones[:1]
	l.Booked = nil
	return l
}

var samples = map[string]func() letter.Letter{
	"simultaneous": simultaneous, "staged": staged, "aborted": aborted,
	"large-print": largePrint, "surgery-ahead": surgeryAhead, "suspended": suspended,
	"scanned": scanned, "mailed": mailed, "in-mail": inMail,
}
