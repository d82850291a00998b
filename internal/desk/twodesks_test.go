package desk_test

import (
	"bufio"
	"bytes"
	"errors"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"runtime/debug"
	"strings"
	"testing"
	"time"

	"graftclock/internal/casefile"
	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
	"graftclock/internal/protocol"
	"graftclock/internal/reference"
	"graftclock/internal/sqlite"
)

const (
	desks         = 2
	bookingsEach  = 50
	slotsAtStake  = 10
	roundsOfDesks = 20
	deskVariable  = "GRAFTCLOCK_TEST_DESK" // number of the desk and path of its ledger
)

func TestMain(m *testing.M) {
	if job := os.Getenv(deskVariable); job != "" {
		os.Exit(oneDesk(job))
	}
	// There is memory enough, and many tests wait for servers and readers. What the
	// command line says counts more.
	debug.SetGCPercent(400)
	flag.Set("test.parallel", fmt.Sprint(2*runtime.GOMAXPROCS(0)))
	os.Exit(m.Run())
}

// rush is the day for which both desks book, and its times.
var rush = day.New(2027, time.January, 25)

func rushSlot(n int) graft.Slot {
	const morning, apart, perMorning = day.Clock(8*60 + 30), 30, 5
	return graft.Slot{Day: rush.AddDays(n / perMorning), Start: morning + day.Clock(apart*(n%perMorning))}
}

// TestTwoDesksNeverBookOneSlotTwice has two processes book fifty visits each for
// the same ten slots, all of different cases, twenty times over: there are exactly
// ten winners, and each loser is told who has the slot.
func TestTwoDesksNeverBookOneSlotTwice(t *testing.T) {
	t.Parallel()
	full := filepath.Join(t.TempDir(), "full.ledger")
	crowd(t, full)
	data, err := os.ReadFile(full)
	if err != nil {
		t.Fatal(err)
	}
	rounds := roundsOfDesks
	if testing.Short() {
		rounds = 3
	}
	won, lost := 0, 0
	for round := range rounds {
		path := filepath.Join(t.TempDir(), "clinic.ledger")
		if err := os.WriteFile(path, data, 0o600); err != nil {
			t.Fatal(err)
		}
		winners, losers := race(t, path)
		if winners != slotsAtStake || losers != desks*bookingsEach-slotsAtStake {
			t.Errorf("round %d: %d winners and %d losers for %d slots", round, winners, losers, slotsAtStake)
		}
		won, lost = won+winners, lost+losers
		wantBooked(t, path)
	}
	t.Logf("%d rounds: %d booked, %d told who has the slot", rounds, won, lost)
}

// crowd makes a ledger with a case for every booking.
func crowd(t *testing.T, path string) {
	t.Helper()
	store, err := sqlite.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer store.Close()
	k := desk.NewKeeper(desk.New(demoClinic(t), protocol.Default()), desk.Keep(store))
	record, err := os.ReadFile(filepath.Join(reference.Root(), "testdata", "demo", "fenwick.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	canonical, _, faults := casefile.Canonical("fenwick", record)
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	for n := range desks * bookingsEach {
		changed, c, faults, err := casefile.Change("fenwick", canonical, []string{"case=" + crowdCase(n), fmt.Sprintf("patient.name=Patient %03d", n)})
		if err != nil || len(faults) > 0 {
			t.Fatal(err, faults)
		}
		if did := k.Admit(atRush("Ida Marlow", "desk"), changed, c, ""); did.Err != nil {
			t.Fatal(did.Err)
		}
	}
}

func crowdCase(n int) string { return fmt.Sprintf("HR-%d", 4000+n) }

func atRush(name, role string) desk.Actor {
	on := day.New(2027, time.January, 18)
	return desk.Actor{Person: ledger.Person{Name: name, Role: role}, On: on, At: on.Time().Add(8 * time.Hour)}
}

// race starts the desks at once and counts who got a slot and who was told by whom
// it was taken.
func race(t *testing.T, path string) (winners, losers int) {
	t.Helper()
	var outputs [desks]bytes.Buffer
	var running [desks]*exec.Cmd
	for n := range desks {
		c := exec.Command(os.Args[0])
		c.Env = append(os.Environ(), fmt.Sprintf("%s=%d %s", deskVariable, n, path))
		c.Stdout, c.Stderr = &outputs[n], os.Stderr
		if err := c.Start(); err != nil {
			t.Fatal(err)
		}
		running[n] = c
	}
	for n, c := range running {
		if err := c.Wait(); err != nil {
			t.Fatalf("desk %d: %v\n%s", n, err, outputs[n].String())
		}
		lines := bufio.NewScanner(&outputs[n])
		for lines.Scan() {
			switch line := lines.Text(); {
			case strings.HasPrefix(line, "booked"):
				winners++
			case strings.Contains(line, "is taken") && strings.Contains(line, "HR-4"):
				losers++
			default:
				t.Errorf("desk %d says %q", n, line)
			}
		}
	}
	return winners, losers
}

// oneDesk is the other process: it books its fifty visits and says what came of
// each.
func oneDesk(job string) int {
	number, path, _ := strings.Cut(job, " ")
	store, err := sqlite.Open(path)
	if err != nil {
		fmt.Println(err)
		return 1
	}
	defer store.Close()
	house, err := os.ReadFile(filepath.Join(reference.Root(), "testdata", "demo", "clinic.yaml"))
	if err != nil {
		fmt.Println(err)
		return 1
	}
	c, faults := casefile.ReadClinic("clinic.yaml", house, os.ReadFile)
	if len(faults) > 0 {
		fmt.Println(faults)
		return 1
	}
	k := desk.NewKeeper(desk.New(c, protocol.Default()), desk.Keep(store))
	for n := range bookingsEach {
		id := n
		if number == "1" {
			id += bookingsEach
		}
		_, v, err := k.Book(atRush("Ida Marlow", "desk"), graft.CaseID(crowdCase(id)), desk.Choice{Step: graft.WoundCheck}, rushSlot(n%slotsAtStake), "")
		var refusal *graft.Refusal
		switch {
		case err == nil:
			fmt.Println("booked", v.Slot)
		case errors.As(err, &refusal):
			fmt.Println(refusal.Message)
		default:
			fmt.Println("fault:", err)
			return 1
		}
	}
	return 0
}

// wantBooked wants the ledger whole and exactly one visit a slot in it.
func wantBooked(t *testing.T, path string) {
	t.Helper()
	store, err := sqlite.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer store.Close()
	if wrong, err := store.Integrity(); err != nil || len(wrong) > 0 {
		t.Error(wrong, err)
	}
	var booked []ledger.Visit
	if err := store.View(func(l *sqlite.Reader) (err error) {
		booked, err = l.TakenOn(day.Span{From: rush, To: rush.AddDays(3)})
		return err
	}); err != nil {
		t.Fatal(err)
	}
	seen := map[string]bool{}
	for _, v := range booked {
		seen[v.Day.String()+v.Start.String()] = true
	}
	if len(booked) != slotsAtStake || len(seen) != slotsAtStake {
		t.Errorf("%d visits on %d slots", len(booked), len(seen))
	}
}
