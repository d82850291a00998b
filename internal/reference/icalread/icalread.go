// Package icalread reads calendar files with five libraries made by others and
// tells tests what each of them saw, in one common form. It decides what counts
// as the same; it refuses to know who wrote the files. Only tests import it.
package icalread

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"graftclock/internal/reference"
)

// Reader names one of the libraries.
type Reader string

// The readers. Libical also checks the restrictions of RFC 5545 and RFC 5546;
// VObject, ICALJS and Go read wall-clock times by the VTIMEZONE of the file only;
// Python turns some backslashes of a text into something else, so a text it is to
// read must hold none. Go is golang-ical, in the test's own process.
const (
	Libical Reader = "libical"
	Python  Reader = "python-icalendar"
	VObject Reader = "vobject"
	ICALJS  Reader = "ical.js"
	Go      Reader = "golang-ical"
)

// Readers lists all readers.
var Readers = []Reader{Libical, Python, VObject, ICALJS, Go}

// Event is what a reader saw of a VEVENT.
type Event struct {
	UID string `json:"uid"`
	// Start and End are an instant as 2027-01-14T08:30:00Z, a day as 2027-01-14,
	// or a wall-clock time without a zone as "floating 2027-01-14T08:30:00".
	// End is exclusive, as in the file; "" is no start or end.
	Start       string `json:"start"`
	End         string `json:"end"`
	Summary     string `json:"summary"`
	Description string `json:"description"`
	Location    string `json:"location"`
	// Status is as in the file: TENTATIVE, CONFIRMED, CANCELLED or "".
	Status      string `json:"status"`
	Sequence    int    `json:"sequence"`
	Transparent bool   `json:"transparent"`
	// Alarms are seconds from the start to each alarm, negative before it.
	Alarms []int `json:"alarms"`
	// Method is the calendar's, such as REQUEST, or "".
	Method string `json:"method"`
	// Organizer is the zero Party where there is none.
	Organizer Party   `json:"organizer"`
	Attendees []Party `json:"attendees"`
}

// Party is an ORGANIZER or ATTENDEE: CN, and the address with its mailto:.
type Party struct {
	Name    string `json:"name"`
	Address string `json:"address"`
}

// Result is what a reader made of one file.
type Result struct {
	Errors []string `json:"errors"`
	Events []Event  `json:"events"`
}

// Read reads the files with one reader, all in one call of it. It skips or fails
// the test by the rule of package reference when the reader is absent.
func Read(t testing.TB, reader Reader, files ...string) map[string]Result {
	t.Helper()
	if reader == Go {
		return readGo(t, files)
	}
	command := command(t, reader)
	var problems bytes.Buffer
	run := exec.Command(command[0], append(command[1:], files...)...)
	run.Env = append(os.Environ(), "TZ=UTC", "LC_ALL=C.UTF-8")
	run.Stderr = &problems
	out, err := run.Output()
	if err != nil {
		t.Fatalf("%s: %v\n%s", reader, err, problems.Bytes())
	}
	return parse(t, reader, out, files)
}

func command(t testing.TB, reader Reader) []string {
	t.Helper()
	switch reader {
	case Libical:
		return []string{reference.Libical(t, "ical_libical.c")}
	case Python:
		return []string{reference.Python(t, "icalendar"), filepath.Join(reference.Folder(), "ical_python.py")}
	case VObject:
		return []string{reference.Python(t, "vobject"), filepath.Join(reference.Folder(), "ical_vobject.py")}
	case ICALJS:
		return []string{reference.Node(t, "ical.js"), filepath.Join(reference.Folder(), "ical_icaljs.mjs")}
	}
	t.Fatalf("no reader is called %q", reader)
	return nil
}

// parse reads one line of JSON per file and sees that no file is missing.
func parse(t testing.TB, reader Reader, out []byte, files []string) map[string]Result {
	t.Helper()
	results := map[string]Result{}
	for lines := json.NewDecoder(bytes.NewReader(out)); ; {
		var line struct {
			File string `json:"file"`
			Result
		}
		err := lines.Decode(&line)
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatalf("%s: %v", reader, err)
		}
		results[line.File] = line.Result
	}
	for _, file := range files {
		if _, ok := results[file]; !ok {
			t.Fatalf("%s said nothing about %s", reader, file)
		}
	}
	return results
}

// All reads the files with every reader; a test that can do with some of them
// calls Read or Check.
func All(t testing.TB, files ...string) map[Reader]map[string]Result {
	t.Helper()
	results := map[Reader]map[string]Result{}
	for _, reader := range Readers {
		results[reader] = Read(t, reader, files...)
	}
	return results
}

// Check reads the files with every reader, each in a subtest of its name, and calls
// CheckWith.
func Check(t *testing.T, want map[string][]Event) {
	t.Helper()
	for _, reader := range Readers {
		t.Run(string(reader), func(t *testing.T) { CheckWith(t, reader, want) })
	}
}

// CheckWith reads the files with one reader. It fails where the reader reports an
// error or sees other events than wanted, in any order.
func CheckWith(t testing.TB, reader Reader, want map[string][]Event) {
	t.Helper()
	for file, got := range Read(t, reader, slices.Sorted(maps.Keys(want))...) {
		if len(got.Errors) > 0 {
			t.Errorf("%s: errors %q", file, got.Errors)
		}
		if diff := cmp.Diff(sorted(want[file]), sorted(got.Events)); diff != "" {
			t.Errorf("%s (-want +got):\n%s", file, diff)
		}
	}
}

// sorted orders events by UID and counts no list and an empty list as one.
func sorted(events []Event) []Event {
	events = slices.Clone(events)
	for i := range events {
		events[i].Alarms = append([]int{}, events[i].Alarms...)
		events[i].Attendees = append([]Party{}, events[i].Attendees...)
	}
	slices.SortFunc(events, func(a, b Event) int { return strings.Compare(a.UID, b.UID) })
	return events
}
