package sqlite

import (
	"bufio"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"strings"
	"testing"
	"time"

	"graftclock/internal/day"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

// childMark in the environment makes the test binary a desk of its own, which does
// what it is told line by line.
const childMark = "GRAFTCLOCK_LEDGER_CHILD"

func TestMain(m *testing.M) {
	if os.Getenv(childMark) != "" {
		serve(os.Stdin, os.Stdout)
		os.Exit(0)
	}
	os.Exit(m.Run())
}

// order is one line to a child.
type order struct {
	verb, path, who string
	from, count     int
}

const orderForm = "%s %q %q %d %d\n"

// serve does what the orders say and ends each answer with a line "done".
func serve(in io.Reader, out io.Writer) {
	for lines := bufio.NewScanner(in); lines.Scan(); {
		var o order
		if _, err := fmt.Sscanf(lines.Text()+"\n", orderForm, &o.verb, &o.path, &o.who, &o.from, &o.count); err != nil {
			fmt.Fprintln(out, "failed", err)
		} else if err := o.follow(out); err != nil {
			fmt.Fprintln(out, "failed", err)
		}
		fmt.Fprintln(out, "done")
	}
}

func (o order) follow(out io.Writer) error {
	if o.verb == "note" {
		return o.note(out)
	}
	s, err := Open(o.path)
	if err != nil {
		return err
	}
	defer s.Close()
	switch o.verb {
	case "book":
		return o.book(s, out)
	case "race":
		return o.race(s, out)
	}
	return o.open(s, out)
}

// open says which key the ledger has and writes an entry.
func (o order) open(s *Store, out io.Writer) error {
	return s.Act(func(w *Writer) error {
		key, err := w.CalendarKey()
		if err != nil {
			return err
		}
		fmt.Fprintf(out, "%x\n", key)
		return w.AddEntry(ledger.Entry{What: o.who})
	})
}

// book books one recall after the other and says so after each.
func (o order) book(s *Store, out io.Writer) error {
	for n := o.from; n < o.from+o.count; n++ {
		if err := bookOne(s, graft.CaseID(o.who), n, o.who); err != nil {
			return err
		}
		fmt.Fprintln(out, "booked", n)
	}
	return nil
}

// race wants each of ten slots five times, in an order of its own.
func (o order) race(s *Store, out io.Writer) error {
	random := rand.New(rand.NewPCG(uint64(o.from), uint64(len(o.who))))
	for _, n := range random.Perm(o.count) {
		const slots = 10
		v, e := recall(graft.CaseID(o.who), n%slots*2, o.who)
		v.Milestone = graft.MilestoneIDOf(graft.Recall, "", fmt.Sprint(n))
		v.Start += day.Clock(n / slots) // so that slots overlap without being the same
		e.Milestone = v.Milestone
		err := s.Act(func(w *Writer) error { _, err := w.AddVisit(v, e); return err })
		if err == nil {
			fmt.Fprintln(out, "won", n%slots)
		} else {
			fmt.Fprintln(out, "lost", n%slots, err)
		}
	}
	return nil
}

// note opens the ledger anew for each of its entries.
func (o order) note(out io.Writer) error {
	for n := o.from; n < o.from+o.count; n++ {
		what := fmt.Sprint(o.who, " ", n)
		s, err := Open(o.path)
		if err != nil {
			return err
		}
		err = s.Act(func(w *Writer) error { return w.AddEntry(ledger.Entry{What: what}) })
		if err != nil {
			return err
		}
		fmt.Fprintln(out, "noted", what)
		s.Close()
		time.Sleep(time.Duration(n%5) * time.Millisecond)
	}
	return nil
}

// child is a desk in another process.
type child struct {
	t       *testing.T
	process *exec.Cmd
	in      io.Writer
	out     *bufio.Scanner
}

func startChild(t *testing.T) *child {
	t.Helper()
	path, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	c := &child{t: t, process: exec.Command(path)}
	c.process.Env = append(os.Environ(), childMark+"=1")
	c.process.Stderr = os.Stderr
	c.in, err = c.process.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	out, err := c.process.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	c.out = bufio.NewScanner(out)
	if err := c.process.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(c.kill)
	return c
}

// kill ends the child in the middle of whatever it does.
func (c *child) kill() {
	c.process.Process.Kill()
	c.process.Wait()
}

func (c *child) tell(o order) {
	if _, err := fmt.Fprintf(c.in, orderForm, o.verb, o.path, o.who, o.from, o.count); err != nil {
		c.t.Error(err)
	}
}

// answer returns the lines up to "done", or to the child's end.
func (c *child) answer() (lines []string) {
	for c.out.Scan() && c.out.Text() != "done" {
		if strings.HasPrefix(c.out.Text(), "failed") {
			c.t.Error(c.out.Text())
		}
		lines = append(lines, c.out.Text())
	}
	return lines
}

// await reads some lines of an answer that is not at its end.
func (c *child) await(lines int) {
	c.t.Helper()
	for range lines {
		if !c.out.Scan() || c.out.Text() == "done" || strings.HasPrefix(c.out.Text(), "failed") {
			c.t.Fatalf("the child's answer ends with %q", c.out.Text())
		}
	}
}
