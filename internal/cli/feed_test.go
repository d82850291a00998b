package cli

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/reference"
	"graftclock/internal/sqlite"
)

// TestAServedFeedLeavesNoFile works at the command line with a case whose feed is handed
// out by graftclock serve.
func TestAServedFeedLeavesNoFile(t *testing.T) {
	folder := t.TempDir()
	if err := os.CopyFS(folder, os.DirFS(filepath.Join(reference.Root(), "testdata", "demo"))); err != nil {
		t.Fatal(err)
	}
	t.Chdir(folder)
	t.Setenv(envAs, "Ida Marlow")
	at := time.Date(2027, time.January, 18, 8, 30, 0, 0, time.UTC)
	run := func(code int, says string, args ...string) {
		t.Helper()
		var out bytes.Buffer
		if got := MainAt(func() time.Time { return at }, args, strings.NewReader(""), &out, &out); got != code || !strings.Contains(out.String(), says) {
			t.Errorf("%v: code %d, want %d and %q:\n%s", args, got, code, says, out.String())
		}
		if files, _ := filepath.Glob("*.ics"); len(files) > 0 {
			t.Fatalf("%v wrote %v", args, files)
		}
	}
	run(exitDone, "admitted", "admit", "fenwick.yaml")
	serve(t, at)
	run(exitDone, "HR-2041: graftclock serve hands this feed out by itself, so no file is written\n", "calendar")
	run(exitDone, "HR-2041: graftclock serve hands this feed out by itself", "calendar", "HR-2041")
	run(exitFault, "HR-2041 has its feed served by graftclock", "calendar", "HR-2041", "--feed", ".")
	run(exitDone, "booked", "book", "HR-2041", "wound-check", "2027-01-25", "09:00")
	run(exitDone, "The patient's feed shows it when the phone looks next.", "approve", "HR-2041", "--as", "Dr Alba Quill")
	run(exitDone, "HR-2041: feed revoked. What a phone has fetched stays on it until its owner unsubscribes.", "calendar", "HR-2041", "--revoke")
	run(exitFault, "case HR-2041 has no feed", "calendar", "HR-2041", "--revoke")
	run(exitDone, "No case has a feed.", "calendar")
}

// serve opens the feed of the case as a page of the browser does.
func serve(t *testing.T, at time.Time) {
	t.Helper()
	d, err := (&sources{clinic: clinicName}).desk("")
	if err != nil {
		t.Fatal(err)
	}
	store, err := sqlite.Open(ledgerPath(clinicName))
	if err != nil {
		t.Fatal(err)
	}
	defer store.Close()
	k := desk.NewKeeper(d, desk.Keep(store))
	ida, err := k.Person("Ida Marlow")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := k.OpenFeed(desk.Actor{Person: ida, At: at, On: day.Of(at)}, "HR-2041", "", "token"); err != nil {
		t.Fatal(err)
	}
}
