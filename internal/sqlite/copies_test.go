package sqlite

import (
	"bytes"
	"database/sql"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"graftclock/internal/graft"
)

func TestBackupOfALedgerInUseIsOneMoment(t *testing.T) {
	folder := t.TempDir()
	s := opened(t, filepath.Join(folder, "ledger"))
	admit(t, s, "HR-1")
	stop := make(chan struct{})
	var wait sync.WaitGroup
	wait.Go(func() {
		for n := 0; ; n++ {
			select {
			case <-stop:
				return
			default:
				book(t, s, "HR-1", n)
			}
		}
	})
	visits := 0
	for _, name := range []string{"1", "2", "3", "4", "5"} {
		path := filepath.Join(folder, name)
		if err := s.Backup(path); err != nil {
			t.Fatal(err)
		}
		c, err := Check(path)
		if err != nil || len(c.Faults) > 0 || c.Cases != 1 {
			t.Errorf("%+v, %v", c, err)
		}
		if _, err := os.Stat(path + walSuffix); err == nil {
			t.Error("the copy is more than one file")
		}
		now := len(wholeLedger(t, opened(t, path)))
		if now < visits {
			t.Errorf("%d visits, after %d in the copy before", now, visits)
		}
		visits = now
	}
	close(stop)
	wait.Wait()
	if visits == 0 {
		t.Error("nothing was booked: the test shows nothing")
	}
}

func TestBackupOverwritesNothing(t *testing.T) {
	folder := t.TempDir()
	path := filepath.Join(folder, "ledger")
	s := opened(t, path)
	admit(t, s, "HR-1")
	letter := filepath.Join(folder, "letter")
	os.WriteFile(letter, []byte("Dear colleague"), 0o600)
	os.Symlink(filepath.Join(folder, "nowhere"), filepath.Join(folder, "link"))
	for _, taken := range []string{letter, path, path + walSuffix, folder, filepath.Join(folder, "link")} {
		wantRefusal(t, s.Backup(taken), graft.Conflict, "is there already")
	}
	if err := s.Backup(filepath.Join(folder, "no", "copy")); err == nil {
		t.Error("copied into a folder that is not there")
	}
	if data, _ := os.ReadFile(letter); string(data) != "Dear colleague" {
		t.Errorf("the letter is %q", data)
	}
	noStaged(t, folder)
}

func TestNothingIsPlacedOverAFile(t *testing.T) {
	folder := t.TempDir()
	staged, path := filepath.Join(folder, "staged"), filepath.Join(folder, "letter")
	os.WriteFile(staged, []byte("copy"), 0o600)
	os.WriteFile(path, []byte("Dear colleague"), 0o600)
	if err := place(staged, path); !errors.Is(err, fs.ErrExist) {
		t.Error(err)
	}
	if data, _ := os.ReadFile(path); string(data) != "Dear colleague" {
		t.Errorf("the letter is %q", data)
	}
}

func noStaged(t *testing.T, folder string) {
	t.Helper()
	if left, _ := filepath.Glob(filepath.Join(folder, stagedName+"*")); len(left) > 0 {
		t.Errorf("left: %v", left)
	}
}

func TestCheckTellsWhatACopyKeeps(t *testing.T) {
	folder := t.TempDir()
	path := filepath.Join(folder, "ledger")
	s := opened(t, path)
	_, err := Check(filepath.Join(folder, "nothing"))
	wantRefusal(t, err, graft.NotFound, "there is no file")
	if c, err := Check(path); err != nil || c.Cases != 0 || !c.Latest.IsZero() {
		t.Errorf("an empty ledger: %+v, %v", c, err)
	}
	admit(t, s, "HR-1", "HR-2")
	want := Copy{Version: s.want, Cases: 2, Entries: 2, Latest: noon}
	if c, err := Check(path); err != nil || c.Entries != want.Entries || c.Version != want.Version || c.Cases != want.Cases || !c.Latest.Equal(noon) {
		t.Errorf("a ledger in use: %+v, %v", c, err)
	}
	os.WriteFile(filepath.Join(folder, "empty"), nil, 0o600)
	_, err = Check(filepath.Join(folder, "empty"))
	wantRefusal(t, err, graft.Invalid, "an empty file")
}

// withCopy returns a ledger with one case and a copy from before a second one.
func withCopy(t *testing.T) (path, copied string) {
	t.Helper()
	folder := t.TempDir()
	path, copied = filepath.Join(folder, "ledger"), filepath.Join(folder, "copy")
	s := opened(t, path)
	admit(t, s, "HR-1")
	if err := s.Backup(copied); err != nil {
		t.Fatal(err)
	}
	admit(t, s, "HR-2")
	s.Close()
	return path, copied
}

func wantCases(t *testing.T, path string, want int) {
	t.Helper()
	if c, err := Check(path); err != nil || c.Cases != want || len(c.Faults) > 0 {
		t.Errorf("%s: %+v, %v; want %d cases", path, c, err, want)
	}
}

func TestRestoreKeepsWhatItReplaces(t *testing.T) {
	path, copied := withCopy(t)
	for _, want := range []string{path + ".before-1", path + ".before-2"} {
		if before, err := Restore(copied, path); err != nil || before != want {
			t.Fatalf("%q, %v", before, err)
		}
	}
	wantCases(t, path, 1)
	wantCases(t, path+".before-1", 2)
	wantCases(t, path+".before-2", 1)
	wantCases(t, copied, 1)
	if info, _ := os.Stat(path); info.Mode().Perm() != ownerOnly {
		t.Errorf("mode %v", info.Mode())
	}
	_, err := Restore(path, path)
	wantRefusal(t, err, graft.Invalid, "is the ledger itself")
	book(t, opened(t, path), "HR-1", 0)
	if before, err := Restore(copied, filepath.Join(t.TempDir(), "new")); err != nil || before != "" {
		t.Errorf("where there was nothing: %q, %v", before, err)
	}
	noStaged(t, filepath.Dir(path))
}

func TestRestoreOfALedgerInUseIsRefused(t *testing.T) {
	path, copied := withCopy(t)
	s := opened(t, path)
	_, err := Restore(copied, path)
	wantRefusal(t, err, graft.Conflict, "in use")
	book(t, s, "HR-2", 0)
	s.Close()
	c := startChild(t)
	c.tell(order{"book", path, "HR-2", 1, 10000})
	c.await(1)
	_, err = Restore(copied, path)
	wantRefusal(t, err, graft.Conflict, "in use")
	c.kill()
	wantCases(t, path, 2)
	noStaged(t, filepath.Dir(path))
}

// TestRestoreLeavesNoOldChangesBeside restores over a ledger whose desk was killed,
// so that its latest changes lie in a file of their own.
func TestRestoreLeavesNoOldChangesBeside(t *testing.T) {
	for _, c := range []struct {
		name  string
		spoil func(path string)
		fold  bool // SQLite can bring the changes home before
		aside bool // the changes are kept beside
	}{
		{"killed", func(string) {}, true, false},
		{"index lost", func(path string) { os.Remove(path + "-shm") }, true, false},
		{"damaged in the middle", func(path string) { overwrite(t, path, 4096*3, 4096*20) }, false, false},
		{"cut short, changes lost", func(path string) { os.Truncate(path, 4096*2); os.Remove(path + walSuffix) }, false, false},
		{"lost", func(path string) { os.Remove(path) }, false, true},
		{"changes damaged", func(path string) { overwrite(t, path+walSuffix, 0, 4096) }, false, false},
	} {
		path, copied := withCopy(t)
		desk := startChild(t)
		desk.tell(order{"book", path, "HR-2", 0, 500})
		desk.await(rounds(100))
		desk.kill()
		if info, err := os.Stat(path + walSuffix); err != nil || info.Size() == 0 {
			t.Fatalf("%s: no changes beside: %v", c.name, err)
		}
		c.spoil(path)
		before, err := Restore(copied, path)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		wantCases(t, path, 1)
		s := opened(t, path)
		if there := wholeLedger(t, s); len(there) > 0 {
			t.Errorf("%s: the restored ledger has %d visits of the old one", c.name, len(there))
		}
		s.Close()
		if _, err := os.Stat(path + ".before-1" + walSuffix); (err == nil) != c.aside {
			t.Errorf("%s: the changes beside: %v", c.name, err)
		}
		if c.fold {
			if there := wholeLedger(t, opened(t, before)); len(there) < rounds(100) {
				t.Errorf("%s: the ledger that was replaced lost its latest changes: %d visits", c.name, len(there))
			}
		}
	}
}

// overwrite fills a stretch of a file with nonsense; a file that is shorter stays so.
func overwrite(t *testing.T, path string, from, to int) {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	for n := from; n < min(to, len(data)); n++ {
		data[n] = 0xa5
	}
	if err := os.WriteFile(path, data, ownerOnly); err != nil {
		t.Fatal(err)
	}
}

func TestDamagedCopyIsNotRestored(t *testing.T) {
	path, copied := withCopy(t)
	data, _ := os.ReadFile(copied)
	for name, spoilt := range map[string][]byte{
		"nonsense in the middle": append(append(bytes.Clone(data[:4096*2]), bytes.Repeat([]byte{0xa5}, 4096*4)...), data[4096*6:]...),
		"cut short":              data[:len(data)/2],
		"approval of no case":    approvalOfNoCase(t, data),
	} {
		if bytes.Equal(spoilt, data) {
			t.Fatalf("%s: nothing is spoilt", name)
		}
		spoiltPath := filepath.Join(t.TempDir(), "copy")
		os.WriteFile(spoiltPath, spoilt, 0o600)
		if c, err := Check(spoiltPath); err != nil || len(c.Faults) == 0 {
			t.Errorf("%s: %+v, %v", name, c, err)
		}
		_, err := Restore(spoiltPath, path)
		wantRefusal(t, err, graft.Invalid, "is damaged")
		wantCases(t, path, 2)
	}
	noStaged(t, filepath.Dir(path))
}

// approvalOfNoCase writes into a copy what only another program could.
func approvalOfNoCase(t *testing.T, copied []byte) []byte {
	t.Helper()
	path := filepath.Join(t.TempDir(), "copy")
	os.WriteFile(path, copied, 0o600)
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := db.Exec(`INSERT INTO approvals (case_id, revision, at, who) VALUES ('HR-9', 1, 0, '')`); err != nil {
		t.Fatal(err)
	}
	db.Close()
	if found, err := opened(t, path).Integrity(); err != nil || len(found) == 0 {
		t.Errorf("a ledger with an approval of no case: %v, %v", found, err)
	}
	data, _ := os.ReadFile(path)
	return data
}

func TestRestoreReplacesNoForeignFile(t *testing.T) {
	_, copied := withCopy(t)
	paths := foreign(t)
	for path, says := range paths {
		if strings.HasSuffix(path, "newer ledger") {
			continue // a ledger all the same
		}
		before, _ := os.ReadFile(path)
		_, err := Restore(copied, path)
		wantRefusal(t, err, graft.Invalid, says)
		if after, _ := os.ReadFile(path); !bytes.Equal(before, after) {
			t.Errorf("%s was changed", path)
		}
	}
}

// TestCopyWithItsChangesBesideIsReadWhole checks a ledger that was copied file by
// file after its desk was killed.
func TestCopyWithItsChangesBesideIsReadWhole(t *testing.T) {
	path, _ := withCopy(t)
	c := startChild(t)
	c.tell(order{"book", path, "HR-2", 0, 500})
	c.await(50)
	c.kill()
	to := filepath.Join(t.TempDir(), "ledger")
	if _, err := Restore(path, to); err != nil {
		t.Fatal(err)
	}
	if there := wholeLedger(t, opened(t, to)); len(there) < 49 {
		t.Errorf("%d visits", len(there))
	}
}
