package cli

import (
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"graftclock/internal/reference"
)

// watched is the demo clinic with a closure file, rule values and a folder of letters
// beside it, as serve watches them.
func watched(t testing.TB) (*houseFiles, string) {
	t.Helper()
	folder := t.TempDir()
	data, err := os.ReadFile(filepath.Join(reference.Root(), "testdata", "demo", clinicName))
	if err != nil {
		t.Fatal(err)
	}
	clinic := strings.Replace(string(data), "closure_files: []", "closure_files: [closures.ics]", 1) + "protocol: own.yaml\nletters: words\n"
	for name, text := range map[string]string{
		clinicName: clinic, "own.yaml": "rules: 1\nadopted_by: Dr Alba Quill\nadopted_on: 2026-12-01\nchanges: [{id: staged-uncovering, value: 3mo, reason: rough surface}]\n", "words/style.css": "body { color: #111 }\n",
		"closures.ics": "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//x//x//EN\r\nEND:VCALENDAR\r\n",
	} {
		path := filepath.Join(folder, name)
		if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	f := &houseFiles{sources: &sources{clinic: filepath.Join(folder, clinicName)}}
	if _, err := f.load(); err != nil {
		t.Fatal(err)
	}
	return f, folder
}

// oneLetter writes another letter of the same length into a file, and gives it the time
// that it had: a change within one tick of the disk's clock.
func oneLetter(t testing.TB, path string) {
	t.Helper()
	info, err := os.Stat(path)
	if err != nil {
		t.Fatal(err)
	}
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	data[len(data)/2] ^= 1
	if err := os.WriteFile(path, data, 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.Chtimes(path, info.ModTime(), info.ModTime()); err != nil {
		t.Fatal(err)
	}
}

// TestTheStampKnowsEveryChange of each file that the clinic is read from: of one letter,
// in the same tick and to the same length, and back.
func TestTheStampKnowsEveryChange(t *testing.T) {
	f, folder := watched(t)
	tried := 0
	err := filepath.WalkDir(folder, func(path string, entry fs.DirEntry, err error) error {
		if err != nil || entry.IsDir() {
			return err
		}
		tried++
		before := f.stamp()
		if before != f.stamp() {
			t.Errorf("%s: the stamp changes by itself", path)
		}
		oneLetter(t, path)
		if f.stamp() == before {
			t.Errorf("%s: a change is not seen", path)
		}
		oneLetter(t, path)
		if f.stamp() != before {
			t.Errorf("%s: changed back, it is another", path)
		}
		return os.Rename(path, path+".away")
	})
	if err != nil || tried != 4 {
		t.Fatal(tried, err)
	}
	if got := f.stamp(); strings.Count(got, "gone") != 3 {
		t.Errorf("with all files away: %s", got)
	}
}

// TestTheStampOfALongFileIsItsTimeAndLength: nobody waits at every click until it is read.
func TestTheStampOfALongFileIsItsTimeAndLength(t *testing.T) {
	f, folder := watched(t)
	path := filepath.Join(folder, "closures.ics")
	if err := os.WriteFile(path, make([]byte, mostHashed+1), 0o600); err != nil {
		t.Fatal(err)
	}
	before := f.stamp()
	oneLetter(t, path)
	if f.stamp() != before {
		t.Error("a long file is read")
	}
	if err := os.WriteFile(path, make([]byte, mostHashed+2), 0o600); err != nil {
		t.Fatal(err)
	}
	if f.stamp() == before {
		t.Error("its length does not tell")
	}
}
