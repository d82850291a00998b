package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"graftclock/internal/ics"
	"graftclock/internal/reference"
)

// command starts the program as a process of its own, in the top folder.
func command(t testing.TB, args ...string) *exec.Cmd {
	t.Helper()
	path, err := exec.LookPath("graftclock")
	if err != nil {
		t.Fatal(err)
	}
	c := exec.Command(path, args...)
	c.Dir = reference.Root()
	return c
}

// TestKilledInTheMiddleLeavesWholeFiles kills the program at a random moment,
// again and again, while it writes into a folder: every file that can be seen
// there is whole.
func TestKilledInTheMiddleLeavesWholeFiles(t *testing.T) {
	out := filepath.Join(t.TempDir(), "out")
	random := rand.New(rand.NewPCG(1, 2))
	killed, finished := 0, 0
	for round := range 60 {
		c := command(t, "plan", "testdata/demo/fenwick.yaml", "--on", "2027-01-"+[]string{"14", "20"}[round%2], "--out", out)
		if err := c.Start(); err != nil {
			t.Fatal(err)
		}
		time.Sleep(time.Duration(random.IntN(20)) * time.Millisecond)
		c.Process.Kill()
		if c.Wait() == nil {
			finished++
		} else {
			killed++
		}
		wholeFiles(t, out)
	}
	t.Logf("%d killed, %d finished before", killed, finished)
	if killed == 0 {
		t.Error("no run was killed: the test shows nothing")
	}
	if err := command(t, "plan", "testdata/demo/fenwick.yaml", "--on", "2027-01-14", "--out", out).Run(); err != nil {
		t.Errorf("after all that the folder cannot be written: %v", err)
	}
}

func wholeFiles(t *testing.T, folder string) {
	t.Helper()
	entries, err := os.ReadDir(folder)
	if err != nil && !errors.Is(err, os.ErrNotExist) {
		t.Fatal(err)
	}
	for _, e := range entries {
		if strings.HasPrefix(e.Name(), ".graftclock-") {
			continue // never put in its place
		}
		data, err := os.ReadFile(filepath.Join(folder, e.Name()))
		if err != nil {
			t.Fatal(err)
		}
		whole := true
		switch name := e.Name(); {
		case filepath.Ext(name) == ".ics":
			whole = len(ics.Lint(data)) == 0
		case filepath.Ext(name) == ".json":
			whole = json.Valid(data)
		case filepath.Ext(name) == ".html":
			whole = bytes.HasSuffix(bytes.TrimSpace(data), []byte("</html>"))
		case filepath.Ext(name) == ".txt":
			whole = bytes.Count(data, []byte("*** DRAFT ***")) == 2
		default:
			t.Errorf("what is %s?", name)
		}
		if !whole {
			t.Errorf("%s is not whole", e.Name())
		}
	}
}

// TestTwoDesksAtOnce has two desks plan two patients into one new folder: one
// wins, the other is refused, and no file of the loser lies among the winner's.
func TestTwoDesksAtOnce(t *testing.T) {
	patients := map[string]string{"fenwick": "Nora Fenwick", "marsh": "Ola Marsh"}
	for range 20 {
		out := filepath.Join(t.TempDir(), "out")
		var group sync.WaitGroup
		var mutex sync.Mutex
		var winners []string
		for name := range patients {
			c := command(t, "plan", "testdata/demo/"+name+".yaml", "--on", "2027-03-02", "--out", out)
			group.Go(func() {
				var stderr bytes.Buffer
				c.Stderr = &stderr
				err := c.Run()
				mutex.Lock()
				defer mutex.Unlock()
				if err == nil {
					winners = append(winners, name)
				} else if !strings.Contains(stderr.String(), "holds the plan of case") {
					t.Errorf("the loser was told: %s", stderr.String())
				}
			})
		}
		group.Wait()
		if len(winners) != 1 {
			t.Fatalf("winners %v, want one", winners)
		}
		for _, file := range []string{"letter.txt", "letter.html", "desk.ics", "surgeon.ics"} {
			data, err := os.ReadFile(filepath.Join(out, file))
			if err != nil || !bytes.Contains(data, []byte(patients[winners[0]])) {
				t.Errorf("%s is not the winner's (%v)", file, err)
			}
		}
	}
}

// TestAbandonedFilesAreSweptAway: what a killed run staged is removed by a later
// one, but not what another desk is writing just now.
func TestAbandonedFilesAreSweptAway(t *testing.T) {
	out := planDemo(t, "fenwick", "2027-01-14")
	old, fresh := filepath.Join(out, ".graftclock-old"), filepath.Join(out, ".graftclock-fresh")
	for _, path := range []string{old, fresh} {
		if err := os.Mkdir(path, 0o700); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(path, "letter.txt"), []byte("half a lett"), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	yesterday := time.Now().Add(-24 * time.Hour)
	if err := os.Chtimes(old, yesterday, yesterday); err != nil {
		t.Fatal(err)
	}
	if err := command(t, "plan", "testdata/demo/fenwick.yaml", "--on", "2027-01-14", "--out", out).Run(); err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(old); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("the abandoned file is still there (%v)", err)
	}
	if _, err := os.Stat(fresh); err != nil {
		t.Errorf("another desk's file was swept away: %v", err)
	}
}
