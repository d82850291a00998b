package cli

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"graftclock/internal/desk"
	"graftclock/internal/graft"
)

var _ desk.ClinicFiles = clinicFiles{}

// someClinic is a folder with a file of some text.
func someClinic(t *testing.T, text string, mode fs.FileMode) (clinicFiles, string) {
	t.Helper()
	path := filepath.Join(t.TempDir(), clinicName)
	if err := os.WriteFile(path, []byte(text), mode); err != nil {
		t.Fatal(err)
	}
	return clinicFilesAt(path, ""), path
}

func isConflict(err error) bool {
	var refusal *graft.Refusal
	return errors.As(err, &refusal) && refusal.Kind == graft.Conflict
}

func saysNow(t *testing.T, path, want string) fs.FileInfo {
	t.Helper()
	data, err := os.ReadFile(path)
	info, err2 := os.Stat(path)
	if err != nil || err2 != nil || string(data) != want {
		t.Fatalf("%s says %q (%v %v), want %q", path, data, err, err2, want)
	}
	return info
}

func TestAFileIsReplacedOnlyIfItSaysWhatWasRead(t *testing.T) {
	f, path := someClinic(t, "a", 0o640)
	if err := f.Replace(clinicName, []byte("a"), []byte("b")); err != nil {
		t.Fatal(err)
	}
	if mode := saysNow(t, path, "b").Mode().Perm(); mode != 0o640 {
		t.Errorf("the mode is %o now", mode)
	}
	for name, was := range map[string][]byte{"another text": []byte("a"), "no file": nil, "an empty file": {}} {
		if err := f.Replace(clinicName, was, []byte("c")); !isConflict(err) {
			t.Errorf("%s: %v", name, err)
		}
		saysNow(t, path, "b")
	}
	own := filepath.Join(filepath.Dir(path), "own.yaml")
	if err := f.Replace("own.yaml", []byte("a"), []byte("b")); !isConflict(err) {
		t.Errorf("a file that is gone: %v", err)
	}
	if err := f.Replace("own.yaml", nil, []byte("rules")); err != nil {
		t.Fatal(err)
	}
	if mode := saysNow(t, own, "rules").Mode().Perm(); mode != fileMode {
		t.Errorf("the mode of a new file is %o", mode)
	}
	if err := f.Replace("own.yaml", []byte("rules"), nil); err != nil {
		t.Fatal(err)
	}
	if _, err := f.Read("own.yaml"); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("taken away: %v", err)
	}
	left, err := os.ReadDir(filepath.Dir(path))
	if err != nil || len(left) != 1 {
		t.Errorf("left behind: %v, %v", left, err)
	}
}

func TestFilesOutsideTheClinicsFolderAreNotReached(t *testing.T) {
	f, path := someClinic(t, "a", 0o600)
	outside := filepath.Join(t.TempDir(), "other.yaml")
	if err := os.WriteFile(outside, []byte("x"), 0o600); err != nil {
		t.Fatal(err)
	}
	near, err := filepath.Rel(filepath.Dir(path), outside)
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{near, outside, "..", ""} {
		if data, err := f.Read(name); err == nil {
			t.Errorf("%q: read %q", name, data)
		}
		if err := f.Replace(name, []byte("x"), []byte("y")); err == nil {
			t.Errorf("%q: replaced", name)
		}
	}
	saysNow(t, outside, "x")
	f.rules = outside // named with --protocol
	if err := f.Replace(f.RulesName(), []byte("x"), []byte("y")); err != nil {
		t.Error(err)
	}
	saysNow(t, outside, "y")
}

func TestALinkStaysALink(t *testing.T) {
	f, path := someClinic(t, "a", 0o600)
	kept := filepath.Join(t.TempDir(), "kept.yaml")
	if err := os.Rename(path, kept); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink(kept, path); err != nil {
		t.Skip("no links here: ", err)
	}
	if err := f.Replace(clinicName, []byte("a"), []byte("b")); err != nil {
		t.Fatal(err)
	}
	saysNow(t, kept, "b")
	if info, err := os.Lstat(path); err != nil || info.Mode()&fs.ModeSymlink == 0 {
		t.Errorf("%v, %v", info, err)
	}
}

// clinicChild in the environment makes this test binary another process that changes
// the clinic file: what it does, and where.
const clinicChild = "GRAFTCLOCK_TEST_CLINIC_FILE"

const racers, racesEach = 3, 40

// TestClinicFileChild is that other process.
func TestClinicFileChild(t *testing.T) {
	job, path, _ := strings.Cut(os.Getenv(clinicChild), " ")
	if job == "" {
		t.Skip("only as another process")
	}
	f := clinicFilesAt(path, "")
	for n := 0; job == "swap" || n < racesEach; {
		was, err := f.Read(clinicName)
		if err != nil {
			t.Fatal(err)
		}
		now := append(bytes.Clone(was), "line of "+job+"\n"...)
		if job == "swap" {
			now = []byte(swapped(was))
		}
		switch err := f.Replace(clinicName, was, now); {
		case err == nil:
			n++
		case !isConflict(err):
			t.Fatal(err)
		}
	}
}

// long are two texts too long to be written in one go.
var long = [2]string{strings.Repeat("a", 1<<20) + "\n", strings.Repeat("b", 1<<20) + "\n"}

func swapped(was []byte) string {
	if string(was) == long[0] {
		return long[1]
	}
	return long[0]
}

func startChild(t *testing.T, job, path string) *exec.Cmd {
	t.Helper()
	c := exec.Command(os.Args[0], "-test.run=^TestClinicFileChild$")
	c.Env = append(os.Environ(), clinicChild+"="+job+" "+path)
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	return c
}

// TestOfTwoWhoChangeOneTextOneWins has processes add lines to one file: what each says
// it has added is there, whoever came between.
func TestOfTwoWhoChangeOneTextOneWins(t *testing.T) {
	_, path := someClinic(t, "clinic: 1\n", 0o600)
	var all []*exec.Cmd
	for n := range racers {
		all = append(all, startChild(t, strconv.Itoa(n), path))
	}
	for _, c := range all {
		if err := c.Wait(); err != nil {
			t.Error(err)
		}
	}
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	for n := range racers {
		if got := strings.Count(string(data), fmt.Sprintf("line of %d\n", n)); got != racesEach {
			t.Errorf("process %d added %d lines, %d are there", n, racesEach, got)
		}
	}
}

// TestAKilledProcessLeavesAWholeFile kills one in the middle of its writing, again and
// again; the next goes on from there.
func TestAKilledProcessLeavesAWholeFile(t *testing.T) {
	f, path := someClinic(t, long[0], 0o600)
	const kills = 15
	for n := range kills {
		c := startChild(t, "swap", path)
		time.Sleep(time.Duration(40+7*n) * time.Millisecond)
		if err := c.Process.Kill(); err != nil {
			t.Fatal(err)
		}
		c.Wait()
		data, err := f.Read(clinicName)
		if err != nil || string(data) != long[0] && string(data) != long[1] {
			t.Fatalf("kill %d left %d bytes, %v", n, len(data), err)
		}
		if err := f.Replace(clinicName, data, []byte(swapped(data))); err != nil {
			t.Fatal(err)
		}
	}
}
