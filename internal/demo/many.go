package demo

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"runtime"
	"sync"
	"time"

	"graftclock/internal/casefile"
	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
	"graftclock/internal/sqlite"
)

// manyYears is over how many years the surgeries of very many cases are spread: three
// in ten are then still under way.
const manyYears = 8

// MakeMany makes a large clinic with so many cases in a folder, to measure with. The
// surgeries lie in the eight years before now; what was due has been attended, and of
// each case that is under way, three in ten, the next visit is booked. What stands in
// the ledger is what the desk would have written, but for its order: it is written case
// by case, many in one act. Progress, which may be nil, hears how many cases are done.
func MakeMany(folder string, now time.Time, seed uint64, password string, cases int, progress func(done int)) (made *Made, err error) {
	today := day.Of(now)
	made = &Made{Folder: folder, Clinic: filepath.Join(folder, clinicName), Ledger: filepath.Join(folder, ledgerName), Password: password, Today: today, Look: today}
	text, c, err := clinicFile(made.Clinic, largeClinic(today))
	if err != nil {
		return nil, err
	}
	if err := writeNew(made.Clinic, text); err != nil {
		return nil, err
	}
	file, err := sqlite.Open(made.Ledger)
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, file.Close()) }()
	m, err := newMany(c, today, seed)
	if err != nil {
		return nil, err
	}
	store := desk.Keep(file)
	if err := made.signIns(desk.NewKeeper(m.desk, store), today.AddDays(-manyYears*yearDays)); err != nil {
		return nil, err
	}
	if err := m.write(store, cases, progress); err != nil {
		return nil, err
	}
	return made, nil
}

// largeClinic is the demo clinic with more rooms and people.
func largeClinic(today day.Day) dates {
	const more = 10
	d := datesAround(today)
	for n := range more {
		d.MoreRooms = append(d.MoreRooms, fmt.Sprintf("Surgery %d", n+3))
		surgeon, _ := person(8 * n)
		nurse, _ := person(8*n + 2)
		d.MorePeople = append(d.MorePeople, ledger.Person{Name: "Dr " + surgeon, Role: "surgeon"}, ledger.Person{Name: "Nurse " + nurse, Role: "nurse"})
	}
	return d
}

// many writes very many cases.
type many struct {
	desk  *desk.Desk
	today day.Day
	seed  uint64
	house houses
	rota  rota
}

func newMany(c casefile.Clinic, today day.Day, seed uint64) (*many, error) {
	m := &many{desk: keeper(c, nil).Desk, today: today, seed: seed}
	calendar, faults := c.Calendar(day.Span{From: today.AddDays(-(manyYears + 1) * yearDays), To: today.AddDays(4 * yearDays)})
	if len(faults) > 0 {
		return nil, faults
	}
	m.house, m.rota = houses{calendar: calendar}, rota{calendar, map[day.Day][]graft.Slot{}}
	return m, nil
}

// planned is a case with its plan as of the day of surgery, ready to be written.
type planned struct {
	patient
	plan     desk.Plan
	timeline []byte
	err      error
}

// write plans and writes the cases, batch by batch.
func (m *many) write(store desk.Store, cases int, progress func(done int)) error {
	const batch = 250
	for from := 0; from < cases; from += batch {
		list := m.prepare(from, min(from+batch, cases), cases)
		err := store.Act(func(w desk.Writing) error {
			for n := range list {
				if err := m.writeCase(w, &list[n]); err != nil {
					return err
				}
			}
			return nil
		})
		if err != nil {
			return err
		}
		if progress != nil {
			progress(from + len(list))
		}
	}
	return nil
}

// prepare plans some cases, as many at once as there are cores.
func (m *many) prepare(from, to, of int) []planned {
	list := make([]planned, to-from)
	var workers sync.WaitGroup
	cores := runtime.GOMAXPROCS(0)
	for core := range cores {
		workers.Go(func() {
			for n := core; n < len(list); n += cores {
				list[n] = m.planned(from+n, of)
			}
		})
	}
	workers.Wait()
	return list
}

// planned makes up the nth of so many cases and plans it.
func (m *many) planned(n, of int) (p planned) {
	random := rand.New(rand.NewPCG(m.seed, uint64(n)))
	p.number, p.id = n, graft.CaseID(fmt.Sprintf("HR-%06d", n+1))
	p.shape = []shape{single, staged, bridge, quick, crestal}[random.IntN(5)]
	p.surgery = m.today.AddDays(-1 - manyYears*yearDays*n/of)
	for !m.house.operates(p.surgery) {
		p.surgery = p.surgery.AddDays(-1)
	}
	people := m.house.calendar.Opening(p.surgery, string(graft.Placement)).People
	p.surgeon = people[random.IntN(len(people))]
	if p.record, p.read, p.err = (writer{random}).record(&p.patient, false); p.err != nil {
		return p
	}
	if p.plan, p.err = m.desk.Plan(p.read, p.surgery); p.err == nil {
		p.timeline, p.err = desk.JSON(p.plan)
	}
	return p
}

// at is the moment of an act on a day.
func at(d day.Day) time.Time {
	const opens = 9 * time.Hour
	return d.Time().Add(opens)
}

// entry starts an entry of the history about a case.
func (p *planned) entry(d day.Day, by ledger.Person, what string) ledger.Entry {
	return ledger.Entry{At: at(d), By: by, Case: p.id, What: what}
}
