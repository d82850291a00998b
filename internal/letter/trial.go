package letter

import (
	"graftclock/internal/day"
	"graftclock/internal/graft"
)

// trials are letters that between them reach every part of a layout: a surgery ahead
// that is a draft, and one that is done, approved, in large print and with a code.
func trials() []Letter {
	surgery := day.New(2027, 1, 14)
	visit := graft.Milestone{
		ID: "wound-check//", Step: graft.WoundCheck, Shift: graft.Nearest, SeenBy: []graft.Audience{graft.ForPatient},
		Window: graft.Window{NotBefore: surgery, Earliest: surgery, Target: surgery.AddDays(1), Latest: surgery.AddDays(2)},
		Placed: surgery.AddDays(1),
	}
	loading := visit
	loading.ID, loading.Step, loading.For = "first-loading/right/", graft.FirstLoading, "right"
	ahead := Letter{
		Head: Letterhead{Name: "Clinic", Address: []string{"Street"}, Phone: "1", OutOfHours: "2", EmergencyNumber: "112"},
		Case: graft.Case{Patient: graft.Patient{Name: "Patient"}, Surgery: graft.Surgery{Day: surgery, Surgeon: "Surgeon"},
			Sinuses: []graft.Sinus{{Side: graft.Right, Implants: []graft.Implant{{Placed: graft.WithTheGraft}, {Placed: graft.Later}}}}},
		Timeline:  graft.Timeline{On: surgery.AddDays(-1), Milestones: []graft.Milestone{visit, loading}},
		AfterCare: map[string]int{Presets[0]: 1}, Rules: "rules", CalendarFile: "file",
	}
	done := ahead
	done.Timeline.On = surgery
	done.Case.Patient.LargePrint = true
	done.Approval = Approval{By: "Surgeon", On: surgery}
	done.Booked = map[graft.MilestoneID]Booking{visit.ID: {Day: visit.Placed, Start: 1}}
	done.NextVisit = NextVisit{Entry: []byte("entry"), When: done.Booked[visit.ID]}
	none := ahead
	none.Timeline.On, none.Timeline.Milestones, none.AfterCare = surgery.AddDays(1), nil, nil
	none.CalendarFile = ""
	return []Letter{ahead, done, none}
}

// fillAll makes every sentence of a letter that is known to be good.
func fillAll(l Letter, f *forms, w *wording) (*sheet, error) {
	s := newSheet(l, f, w)
	return s, s.fillCode(l, w)
}
