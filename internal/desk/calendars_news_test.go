package desk_test

import (
	"bytes"
	"crypto/sha256"
	"os"
	"reflect"
	"regexp"
	"slices"
	"testing"

	"graftclock/internal/reference/icalread"
)

// Two readers read every file as it goes out. The others take many times as long, and
// most of a file stood to the letter in the one before: they read each event once, and
// each calendar round the events once.
var wholeReaders = []icalread.Reader{icalread.Libical, icalread.Go}

// news is what slow readers have not read yet.
type news struct {
	read map[[sha256.Size]byte]bool
	want map[string][]icalread.Event // by path
}

// The lines round an event: a text that says so does it elsewhere in its line.
const (
	eventBegins = "\r\nBEGIN:VEVENT\r\n"
	eventEnds   = "\r\nEND:VEVENT\r\n"
)

// readAlone matches what the reading of an event depends on beside its own lines.
var readAlone = regexp.MustCompile(`(?ms)^METHOD:[^\r]*\r\n|^BEGIN:VTIMEZONE\r\n.*^END:VTIMEZONE\r\n`)

var uidLine = regexp.MustCompile(`(?m)^UID:(\S+)\r$`)

// add writes beside a file of events one that lacks those that were read before. A file
// without news gets none.
func (n *news) add(t *testing.T, path string, data []byte, want []icalread.Event) {
	t.Helper()
	from, to := bytes.Index(data, []byte(eventBegins)), bytes.LastIndex(data, []byte(eventEnds))
	if from < 0 || to < from {
		t.Fatalf("no event in\n%s", data)
	}
	from, to = from+len("\r\n"), to+len(eventEnds)
	head, tail := data[:from], data[to:]
	events := bytes.SplitAfter(data[from:to], []byte(eventEnds))
	events = events[:len(events)-1] // what follows the last one is nothing
	depends := bytes.Join(readAlone.FindAll(head, -1), nil)
	fresh := slices.DeleteFunc(slices.Clone(events), func(e []byte) bool { return n.knows(depends, e) })
	if known := n.knows(head, tail); !known && len(fresh) == 0 {
		fresh = events[:1]
	}
	if len(fresh) == 0 {
		return
	}
	if err := os.WriteFile(path, slices.Concat(head, bytes.Join(fresh, nil), tail), 0o600); err != nil {
		t.Fatal(err)
	}
	n.want[path] = of(want, fresh)
}

// knows reports whether something was read before, and takes it as read from now on.
func (n *news) knows(parts ...[]byte) bool {
	sum := sha256.Sum256(bytes.Join(parts, []byte("\x00")))
	known := n.read[sum]
	n.read[sum] = true
	return known
}

// of picks what events must say.
func of(want []icalread.Event, events [][]byte) (list []icalread.Event) {
	written := map[string]bool{}
	for _, e := range events {
		if uid := uidLine.FindSubmatch(e); uid != nil {
			written[string(uid[1])] = true
		}
	}
	for _, e := range want {
		if written[e.UID] {
			list = append(list, e)
		}
	}
	return list
}

// sameEvents compares much more quickly than a difference is told.
func sameEvents(a, b []icalread.Event) bool {
	return slices.EqualFunc(a, b, func(x, y icalread.Event) bool {
		lists := slices.Equal(x.Alarms, y.Alarms) && slices.Equal(x.Attendees, y.Attendees)
		x.Alarms, x.Attendees, y.Alarms, y.Attendees = nil, nil, nil, nil
		return lists && reflect.DeepEqual(x, y)
	})
}
