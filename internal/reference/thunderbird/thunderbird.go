// Package thunderbird gives mails and calendar files to the mail program
// Thunderbird and tells tests what it made of them. It runs the program itself,
// without a screen and without a network; it refuses to know who wrote the mails.
// Only tests import it.
package thunderbird

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"syscall"
	"testing"
	"time"

	"graftclock/internal/reference"
)

// Item is what Thunderbird's calendar holds of one event.
type Item struct {
	UID string `json:"uid"`
	// Start and End are an instant as 2027-01-14T08:30:00Z, a day as 2027-01-14,
	// or a wall-clock time without a zone as "floating 2027-01-14T08:30:00".
	// End is exclusive.
	Start    string `json:"start"`
	End      string `json:"end"`
	Title    string `json:"title"`
	Location string `json:"location"`
	// Status is TENTATIVE, CONFIRMED, CANCELLED or "".
	Status   string `json:"status"`
	Sequence int    `json:"sequence"`
	// Alarms are seconds from the start to each alarm, negative before it.
	Alarms []int `json:"alarms"`
	// Answer is the reader's own answer as the calendar keeps it: NEEDS-ACTION,
	// ACCEPTED, or "" where the reader is not among those invited.
	Answer string `json:"answer"`
}

// Answer is a mail that Thunderbird wanted to send to the one who invited.
type Answer struct {
	// To is the address as a calendar address: mailto:desk@harbour-row.example.
	To string `json:"to"`
	// Method is REPLY, Status the answer in it: ACCEPTED, DECLINED.
	Method string `json:"method"`
	Status string `json:"status"`
}

// State is how things stand after one mail was opened and its invitation bar's
// button was pressed.
type State struct {
	// Method is the one that the mail's calendar part was taken for, "" where
	// Thunderbird saw no invitation.
	Method string `json:"method"`
	// Proposed is what Thunderbird offered to do, in its own words for it:
	// REQUEST (a new event), REQUEST:UPDATE, REQUEST:UPDATE-MINOR (same SEQUENCE,
	// later DTSTAMP), REQUEST:NEEDS-ACTION, CANCEL, or "" for nothing.
	Proposed string `json:"proposed"`
	// Label is the sentence in the invitation bar, Text what is shown below it.
	Label string `json:"label"`
	Text  string `json:"text"`
	// Pressed is the name of the button pressed, "" where none was to press.
	Pressed string `json:"pressed"`
	// Asked are the questions put to the reader before Thunderbird acted, all
	// answered with yes, and "dialog" with the address of each window that had
	// to be closed unanswered.
	Asked   []string `json:"asked"`
	Answers []Answer `json:"answers"`
	// Done is what happened to the calendar: added, changed, deleted or "".
	Done string `json:"done"`
	// Items are all that the calendar then holds, in no promised order.
	Items []Item `json:"items"`
}

// Imported is how things stand after one calendar file was imported.
type Imported struct {
	// Error is "" for a file taken whole, "duplicate id" where it held an event
	// whose UID is there already, else Thunderbird's own words. Thunderbird takes
	// the events by their start and stops at the first that it refuses.
	Error string `json:"error"`
	Items []Item `json:"items"`
}

// Play opens the mails one after the other in a new Thunderbird whose one account
// has the address attendee, and does after each what its invitation bar offers:
// accept, update, delete. It skips or fails the test by the rule of package
// reference when Thunderbird is absent. A run takes about three seconds.
func Play(t testing.TB, attendee string, mails ...[]byte) []State {
	t.Helper()
	return run[State](t, []string{"play", attendee}, ".eml", mails)
}

// Import imports the calendar files one after the other into one empty calendar
// of a new Thunderbird, as its import page does.
func Import(t testing.TB, files ...[]byte) []Imported {
	t.Helper()
	return run[Imported](t, []string{"import"}, ".ics", files)
}

// run gives the contents as files of the suffix to the script and reads one
// answer for each.
func run[T any](t testing.TB, command []string, suffix string, contents [][]byte) []T {
	t.Helper()
	program, python := reference.Program(t, "thunderbird"), reference.Python(t, "ctypes")
	script := filepath.Join(reference.Folder(), "thunderbird_itip.py")
	arguments := append([]string{script, program, t.TempDir()}, command...)
	arguments = append(arguments, written(t, suffix, contents)...)
	var problems bytes.Buffer
	process := exec.CommandContext(t.Context(), python, arguments...)
	process.Stderr = &problems
	// The script ends what it started when it is told to end; it must not be killed.
	process.Cancel = func() error { return process.Process.Signal(syscall.SIGTERM) }
	process.WaitDelay = 10 * time.Second
	out, err := process.Output()
	if err != nil {
		t.Fatalf("thunderbird: %v\n%s", err, problems.Bytes())
	}
	answers := parsed[T](t, out)
	if len(answers) != len(contents) {
		t.Fatalf("thunderbird answered %d of %d files", len(answers), len(contents))
	}
	return answers
}

// written puts each content into a file of a folder of the test.
func written(t testing.TB, suffix string, contents [][]byte) []string {
	t.Helper()
	folder := t.TempDir()
	var paths []string
	for i, content := range contents {
		path := filepath.Join(folder, fmt.Sprintf("%d%s", i+1, suffix))
		if err := os.WriteFile(path, content, 0o600); err != nil {
			t.Fatal(err)
		}
		paths = append(paths, path)
	}
	return paths
}

func parsed[T any](t testing.TB, out []byte) []T {
	t.Helper()
	var answers []T
	for lines := json.NewDecoder(bytes.NewReader(out)); ; {
		var answer T
		err := lines.Decode(&answer)
		if errors.Is(err, io.EOF) {
			return answers
		}
		if err != nil {
			t.Fatalf("thunderbird: %v", err)
		}
		answers = append(answers, answer)
	}
}
