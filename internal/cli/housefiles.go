package cli

import (
	"crypto/sha256"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"

	"graftclock/internal/casefile"
	"graftclock/internal/desk"
)

// houseFiles are the files that a clinic is read from, watched for changes.
type houseFiles struct {
	*sources
	mu    sync.Mutex
	names []string // what was read the last time: files and folders
}

// load reads the clinic file, its rules and its letters.
func (f *houseFiles) load() (*desk.Desk, error) {
	s := *f.sources
	d, err := s.desk("")
	names := []string{s.clinic, s.protocol}
	if d != nil {
		folder := filepath.Dir(s.clinic)
		for _, name := range namedFiles(d.Clinic) {
			if name != "" {
				names = append(names, filepath.Join(folder, name))
			}
		}
	}
	f.mu.Lock()
	defer f.mu.Unlock()
	if d != nil || f.names == nil {
		f.names = names
	}
	return d, err
}

// namedFiles are the files beside the clinic file that it names.
func namedFiles(c casefile.Clinic) []string {
	names := []string{c.Protocol, c.Letters}
	files := slices.Clone(c.ClosureFiles)
	for _, r := range c.Rooms {
		files = append(files, r.BusyFiles...)
	}
	for _, p := range c.People {
		files = append(files, p.BusyFiles...)
	}
	for _, f := range files {
		names = append(names, f.Name)
	}
	return names
}

// mostHashed is how long a file may be, in bytes, to be read at every request. Longer is
// at most a calendar with years of busy times.
const mostHashed = 100 << 10

// stamp changes when one of the files does: with what it says or, of a long one, with its
// time and length.
func (f *houseFiles) stamp() string {
	f.mu.Lock()
	defer f.mu.Unlock()
	var all strings.Builder
	for _, name := range f.names {
		if name == "" {
			continue
		}
		filepath.WalkDir(name, func(path string, _ fs.DirEntry, err error) error {
			fmt.Fprintln(&all, path, stampOf(path, err))
			return nil
		})
	}
	return all.String()
}

// stampOf is the part of the stamp that one file or folder makes. The time of a file alone
// would miss a second change within one tick of the disk's clock.
func stampOf(path string, err error) string {
	info, statErr := os.Stat(path)
	switch {
	case err != nil || statErr != nil:
		return "gone"
	case !info.Mode().IsRegular() || info.Size() > mostHashed:
		return fmt.Sprint(info.ModTime().UnixNano(), info.Size())
	}
	data, err := os.ReadFile(path)
	if err != nil {
		return "gone"
	}
	return fmt.Sprintf("%x", sha256.Sum256(data))
}
