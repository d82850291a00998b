package cli

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"golang.org/x/sys/unix"

	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/protocol"
	"graftclock/internal/reference"
	"graftclock/internal/sqlite"
)

// terminal opens a pseudo-terminal: what a person has, and what the program has.
func terminal(t *testing.T) (person, program *os.File) {
	t.Helper()
	person, err := os.OpenFile("/dev/ptmx", os.O_RDWR|unix.O_NOCTTY, 0)
	if err != nil {
		t.Skip("no pseudo-terminals here: ", err)
	}
	t.Cleanup(func() { person.Close() })
	if err := unix.IoctlSetPointerInt(int(person.Fd()), unix.TIOCSPTLCK, 0); err != nil {
		t.Fatal(err)
	}
	number, err := unix.IoctlGetInt(int(person.Fd()), unix.TIOCGPTN)
	if err != nil {
		t.Fatal(err)
	}
	program, err = os.OpenFile(fmt.Sprintf("/dev/pts/%d", number), os.O_RDWR|unix.O_NOCTTY, 0)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { program.Close() })
	return person, program
}

// shows reports whether a terminal shows what is typed.
func shows(t *testing.T, program *os.File) bool {
	t.Helper()
	now, err := unix.IoctlGetTermios(int(program.Fd()), unix.TCGETS)
	if err != nil {
		t.Fatal(err)
	}
	return now.Lflag&unix.ECHO != 0
}

// answering is a person who types a line at every question.
type answering struct {
	t               *testing.T
	person, program *os.File
	lines           []string
	open            int    // so many of the first answers may be seen
	asked           string // and all else that was said
}

func (a *answering) Write(said []byte) (int, error) {
	a.asked += string(said)
	if strings.HasSuffix(a.asked, ": ") && len(a.lines) > 0 {
		if a.open--; a.open < 0 && shows(a.t, a.program) {
			a.t.Error("the terminal shows what is typed")
		}
		a.person.WriteString(a.lines[0] + "\n")
		a.lines = a.lines[1:]
	}
	return len(said), nil
}

// typed asks for a password while a person types lines. It returns the answer and all
// that was asked and that the terminal showed.
func typed(t *testing.T, lines ...string) (answer, shown string, err error) {
	t.Helper()
	person, program := terminal(t)
	someone := &answering{t: t, person: person, program: program, lines: lines}
	answer, err = (&asker{in: program, out: someone}).password("Ida Marlow")
	if !shows(t, program) {
		t.Error("the terminal does not show what is typed any more")
	}
	program.WriteString("the end\n")
	echo := make([]byte, 4096)
	for !strings.Contains(shown, "the end") {
		n, readErr := person.Read(echo)
		if readErr != nil {
			t.Fatal(readErr)
		}
		shown += string(echo[:n])
	}
	return answer, someone.asked + shown, err
}

func TestAPasswordIsNotShownAndAskedTwice(t *testing.T) {
	answer, shown, err := typed(t, "seven herons by the weir ", "seven herons by the weir ")
	if err != nil || answer != "seven herons by the weir " {
		t.Errorf("%q, %v", answer, err)
	}
	if strings.Contains(shown, "herons") || !strings.Contains(shown, "Password of Ida Marlow: \nOnce more: \n") {
		t.Errorf("the terminal showed %q", shown)
	}
	_, shown, err = typed(t, "seven herons by the weir", "eight herons by the weir")
	var refusal *graft.Refusal
	if !errors.As(err, &refusal) || refusal.Message != "the two passwords differ" || strings.Contains(err.Error()+shown, "herons") {
		t.Errorf("%v; shown %q", err, shown)
	}
}

func TestAFileIsNoTerminal(t *testing.T) {
	file, err := os.Open(os.DevNull)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	ask := asker{in: file, out: new(bytes.Buffer)}
	if ask.atTerminal() || (&asker{in: strings.NewReader("x\n")}).atTerminal() {
		t.Error("somebody is asked who is not there")
	}
}

// TestTheFirstPersonIsAskedForAtTheTerminal opens a clinic in which nobody can sign in
// yet: serve asks whose sign-in is the first, and for a password; the next time it asks
// nothing.
func TestTheFirstPersonIsAskedForAtTheTerminal(t *testing.T) {
	clinic, err := readClinic(filepath.Join(reference.Root(), "testdata", "demo", clinicName))
	if err != nil {
		t.Fatal(err)
	}
	store, err := sqlite.Open(filepath.Join(t.TempDir(), "clinic"+ledgerExt))
	if err != nil {
		t.Fatal(err)
	}
	defer store.Close()
	k := desk.NewKeeper(desk.New(clinic, protocol.Default()), desk.Keep(store))
	at := time.Date(2027, time.January, 18, 8, 30, 0, 0, time.UTC)
	const secret = "seven herons by the weir"
	person, program := terminal(t)
	someone := &answering{t: t, person: person, program: program, lines: []string{"Ida Marlow", secret, secret}, open: 1}
	if err := firstPerson(k, at, program, someone); err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(someone.asked, "Dr Alba Quill (surgeon)") || !strings.Contains(someone.asked, "Ida Marlow can sign in") || strings.Contains(someone.asked, "herons") {
		t.Errorf("it said %q", someone.asked)
	}
	if _, _, err := k.SignIn("Ida Marlow", secret, at); err != nil {
		t.Error(err)
	}
	again := &answering{t: t, person: person, program: program}
	if err := firstPerson(k, at, program, again); err != nil || again.asked != "" {
		t.Errorf("the second time: %v, %q", err, again.asked)
	}
}
