package main

import (
	"bytes"
	"math/rand/v2"
	"os"
	"os/exec"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"graftclock/internal/ledger"
	"graftclock/internal/reference/smtpd"
)

// The two visits that are told of again and again, as the program names them.
const (
	wound      = "wound-check"
	uncovering = "uncovering, right bridge"
)

// What a run can leave under way.
const (
	nothing = "nothing under way"
	lost    = "a mail under way that did not arrive"
	gone    = "a mail under way that arrived"
)

// TestKilledWhileSendingNeverDoublesNorLoses kills the program at random moments while
// it tells of two visits. Whatever it leaves behind, the next runs see to it that the
// patient gets each mail once, or say why they do not.
func TestKilledWhileSendingNeverDoublesNorLoses(t *testing.T) {
	t.Parallel()
	d := openPostDesk(t, smtpd.None, "")
	d.server.Deal(smtpd.Slow)
	random := rand.New(rand.NewPCG(3, 4))
	d.does("book", fenwick, wound, "2027-01-26", "10:00")
	d.does("book", fenwick, "uncovering", "2027-08-24", "09:00")
	began := time.Now()
	d.invite(0, fenwick)
	whole := time.Since(began)
	kills, left := 0, map[string]int{}
	for round := 0; kills < 30 || left[lost] == 0 || left[gone] == 0; round++ {
		if round == 120 {
			t.Fatalf("of %d runs only %d could be killed: %v", round, kills, left)
		}
		d.now = d.now.Add(time.Hour)
		d.changesBoth(round)
		earlier, _ := d.kept(fenwick)
		if d.killed(time.Duration(random.Int64N(int64(whole/2))), round%4 > 0) {
			kills++
		}
		kept, _ := d.kept(fenwick)
		found := d.isTidy(kept[len(earlier):])
		left[found]++
		d.recovers(found)
	}
	t.Logf("%d killed; %v", kills, left)
	d.isAsKept(onceIfSent, fenwick)
}

// changesBoth gives the patient something new to know of both visits.
func (d *postDesk) changesBoth(round int) {
	d.Helper()
	d.does("move", fenwick, wound, "2027-01-26", []string{"11:00", "10:00"}[round%2])
	if round%2 == 0 {
		d.does("cancel", fenwick, "uncovering")
	} else {
		d.does("book", fenwick, "uncovering", "2027-08-24", "09:00")
	}
}

// killed runs the program and kills it a moment after it began, or after it has begun
// to send; false: it had ended before.
func (d *postDesk) killed(moment time.Duration, sending bool) bool {
	d.Helper()
	before := d.server.Recipients()
	c := d.program(fenwick)
	if err := c.Start(); err != nil {
		d.Fatal(err)
	}
	ended := make(chan struct{})
	go func() {
		_ = c.Wait() // its state says all
		close(ended)
	}()
	for sending && d.server.Recipients() == before && !within(ended, time.Millisecond) {
	}
	within(ended, moment)
	_ = c.Process.Kill()
	<-ended
	d.server.Settle()
	return !c.ProcessState.Exited()
}

// within waits for an end, but no longer than it is told, and reports whether it came.
func within(ended chan struct{}, patience time.Duration) bool {
	select {
	case <-ended:
		return true
	case <-time.After(patience):
		return false
	}
}

// isTidy holds what a killed run began against what the server took and what the
// program says now: each visit is told, or it is listed with the reason. It returns
// what is under way.
func (d *postDesk) isTidy(begun []ledger.Invitation) (found string) {
	d.Helper()
	found = nothing
	_, mails := d.server.Taken()
	taken := string(bytes.Join(mails, nil))
	states := map[string]ledger.Sending{}
	for _, i := range begun {
		n := strings.Count(taken, "\r\nMessage-ID: <"+i.MessageID+">\r\n")
		if n > 1 || i.State == ledger.Sent && n != 1 || i.State != ledger.Sent && i.State != ledger.UnderWay {
			d.Errorf("message %d about %s is %s and arrived %d times", i.ID, i.Milestone, i.State, n)
		}
		if i.State == ledger.UnderWay {
			found = []string{lost, gone}[min(n, 1)]
		}
		states[i.Milestone.Title()] = i.State
	}
	list := d.ends(exitOf(len(begun) == 2 && found == nothing), "invite", fenwick, "--dry-run")
	reasons := map[ledger.Sending]string{
		"":              "would go to nora.fenwick@example.org",
		ledger.UnderWay: "a message has been under way since " + d.now.Format("2006-01-02 15:04") + " UTC, by Ida Marlow: wait until it is over",
	}
	for _, visit := range []string{wound, uncovering} {
		line := regexp.MustCompile(`(?m)^` + visit + ` .*$`).FindString(list)
		if reason := reasons[states[visit]]; (line == "") != (reason == "") || !strings.HasSuffix(line, reason) {
			d.Errorf("%s is %q in the ledger; listed is %q", visit, states[visit], line)
		}
	}
	return found
}

// exitOf is the exit code of a run after which the patient knows all, or not.
func exitOf(told bool) int {
	if told {
		return 0
	}
	return 3
}

// recovers does what a desk does after a run was cut off: run again, ask the patient
// of what may have arrived, and say so.
func (d *postDesk) recovers(found string) {
	d.Helper()
	d.now = d.now.Add(time.Minute)
	d.invite(exitOf(found == nothing), fenwick)
	if found != nothing {
		d.now = d.now.Add(10 * time.Minute)
		d.invite(0, fenwick, map[string]string{gone: "--arrived", lost: "--again"}[found])
	}
}

// TestDesksAtOnceMailEachMessageOnce has two desks mail the same patient at the same
// time, and a third another patient.
func TestDesksAtOnceMailEachMessageOnce(t *testing.T) {
	t.Parallel()
	d := openPostDesk(t, smtpd.None, "")
	d.server.Deal(smtpd.Slow)
	const other = "HR-2099"
	d.admitsAlike(other)
	d.does("book", fenwick, wound, "2027-01-26", "10:00")
	d.does("book", fenwick, "uncovering", "2027-08-24", "09:00")
	d.does("book", other, wound, "2027-01-26", "15:00")
	met := 0
	const rounds = 12
	for round := range rounds {
		d.now = d.now.Add(time.Hour)
		runs := d.runs([]string{fenwick}, []string{fenwick, "--as", "Nurse Wyn Tate"}, []string{other})
		if runs[0].code == 3 || runs[1].code == 3 {
			met++
		}
		if runs[0].code != 0 && runs[1].code != 0 {
			t.Errorf("round %d: nobody has told everything:\n%s%s", round, runs[0].said, runs[1].said)
		}
		for _, r := range runs[:2] {
			d.isAccountedFor(r)
		}
		if runs[2].code != 0 || !strings.Contains(runs[2].said, "sent to nora.fenwick@example.org") {
			t.Errorf("round %d: the third desk: exit code %d\n%s", round, runs[2].code, runs[2].said)
		}
		d.changesBoth(round)
		d.does("move", other, wound, "2027-01-26", []string{"16:00", "15:00"}[round%2])
	}
	t.Logf("in %d of %d rounds one desk was told of the other", met, rounds)
	if met == 0 {
		t.Error("the desks never met: the test shows nothing")
	}
	d.taken(3 * rounds)
	d.isAsKept(onceIfSent, fenwick, other)
}

// admitsAlike takes a case in that is like fenwick but for its number.
func (d *postDesk) admitsAlike(id string) {
	d.Helper()
	data, err := os.ReadFile(d.path("fenwick.yaml"))
	if err != nil {
		d.Fatal(err)
	}
	d.writes("alike.yaml", strings.Replace(string(data), fenwick, id, 1), 0o600)
	d.does("admit", d.path("alike.yaml"))
	d.approves(id)
}

// ran is what became of one process.
type ran struct {
	code int
	said string
}

// runs starts all at once and waits for them.
func (d *postDesk) runs(all ...[]string) []ran {
	d.Helper()
	done := make([]ran, len(all))
	var programs []*exec.Cmd
	for _, args := range all {
		programs = append(programs, d.program(args...))
	}
	var group sync.WaitGroup
	for n, c := range programs {
		group.Go(func() {
			out, _ := c.CombinedOutput() // its exit code says all
			done[n] = ran{c.ProcessState.ExitCode(), string(out)}
		})
	}
	group.Wait()
	return done
}

var otherDesk = regexp.MustCompile(`a message has been under way since [0-9 :-]+ UTC, by (Ida Marlow|Nurse Wyn Tate): wait until it is over`)

// isAccountedFor wants a desk to have told everything, or to know which message of the
// other it is that it leaves alone.
func (d *postDesk) isAccountedFor(r ran) {
	d.Helper()
	if r.code != 0 && r.code != 3 || (r.code == 3) != otherDesk.MatchString(r.said) || strings.Contains(r.said, "graftclock: ") || strings.Contains(r.said, "lock") {
		d.Errorf("exit code %d:\n%s", r.code, r.said)
	}
}
