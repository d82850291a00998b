package cli

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"time"

	"graftclock/internal/desk"
	"graftclock/internal/graft"
)

// saved is a file that was written.
type saved struct {
	path string
	size int
}

// What graftclock writes is for its owner's eyes only.
const (
	folderMode = 0o700
	fileMode   = 0o600
)

// stagedName is the pattern of files and folders on their way to their place.
const stagedName = ".graftclock-*"

// save writes the outputs of a case into a folder, so that a full disk or a
// killed process leaves what was there before. A new folder is filled beside its
// place and put there whole; in a folder that is there already, each file is.
// Only files of graftclock's own and of the same case are overwritten, and a
// patient's file that must not be given out any more is taken back.
//
// Durable makes each file reach the disk before it takes its place. A run over a
// folder goes without: a killed process still leaves whole files, and after a
// power cut the run is repeated.
func save(folder string, id graft.CaseID, outputs desk.Outputs, durable bool) ([]saved, error) {
	folder = filepath.Clean(folder)
	done, err := saveNew(folder, outputs.Files, durable)
	if errors.Is(err, fs.ErrExist) {
		return saveInto(folder, id, outputs, durable)
	}
	return done, err
}

// saveNew makes the folder with its files; the error is fs.ErrExist where a
// folder is there already, or was put there by another desk meanwhile.
func saveNew(folder string, files []desk.File, durable bool) (done []saved, err error) {
	if _, err := os.Lstat(folder); err == nil {
		return nil, fs.ErrExist
	}
	parent := filepath.Dir(folder)
	if err := os.MkdirAll(parent, folderMode); err != nil {
		return nil, notMade(folder, err)
	}
	staged, err := os.MkdirTemp(parent, stagedName)
	if err != nil {
		return nil, notMade(folder, err)
	}
	defer func() {
		if err != nil {
			os.RemoveAll(staged)
		}
	}()
	for _, f := range files {
		if err := writeWhole(filepath.Join(staged, f.Name), f.Data, durable); err != nil {
			return nil, notWritten(filepath.Join(folder, f.Name), err)
		}
		done = append(done, saved{filepath.Join(folder, f.Name), len(f.Data)})
	}
	if err := os.Rename(staged, folder); err != nil {
		if _, there := os.Lstat(folder); there == nil {
			return nil, fs.ErrExist
		}
		return nil, notWritten(folder, err)
	}
	return done, nil
}

// writeWhole writes a new file.
func writeWhole(path string, data []byte, durable bool) (err error) {
	file, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, fileMode)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, file.Close()) }()
	if _, err := file.Write(data); err != nil || !durable {
		return err
	}
	return file.Sync()
}

// notWritten is an error of the disk, told of the file that somebody asked for and not of
// the one that is written first beside it.
func notWritten(path string, err error) error { return fmt.Errorf("write %s: %w", path, cause(err)) }

func notMade(folder string, err error) error {
	return fmt.Errorf("make the folder %s: %w", folder, cause(err))
}

// cause is an error of the disk without the path that it names.
func cause(err error) error {
	var file *fs.PathError
	var two *os.LinkError
	switch {
	case errors.As(err, &file):
		return file.Err
	case errors.As(err, &two):
		return two.Err
	}
	return err
}

// saveInto replaces the files of a folder that is there already.
func saveInto(folder string, id graft.CaseID, outputs desk.Outputs, durable bool) (done []saved, err error) {
	sweep(folder)
	outputs.Held = append(slices.Clone(outputs.Held), staleVisits(folder, outputs.Files)...)
	if err := mayWrite(folder, id, outputs); err != nil {
		return nil, err
	}
	staged, err := os.MkdirTemp(folder, stagedName)
	if err != nil {
		return nil, fmt.Errorf("write into %s: %w", folder, cause(err))
	}
	defer os.RemoveAll(staged)
	for _, f := range outputs.Files {
		if err := writeWhole(filepath.Join(staged, f.Name), f.Data, durable); err != nil {
			return nil, notWritten(filepath.Join(folder, f.Name), err)
		}
	}
	if err := claim(folder, id, filepath.Join(staged, desk.TimelineJSON)); err != nil {
		return nil, err
	}
	for _, h := range outputs.Held {
		if err := os.Remove(filepath.Join(folder, h.Name)); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return nil, fmt.Errorf("take back %s: %w", filepath.Join(folder, h.Name), cause(err))
		}
	}
	for _, f := range outputs.Files {
		place := filepath.Join(folder, f.Name)
		if err := os.Rename(filepath.Join(staged, f.Name), place); err != nil {
			return done, notWritten(place, err)
		}
		done = append(done, saved{place, len(f.Data)})
	}
	return done, nil
}

// staleVisits lists the files of single visits in a folder that are no more: nobody
// is to hand out a day that has moved.
func staleVisits(folder string, files []desk.File) []desk.Held {
	there, _ := filepath.Glob(filepath.Join(folder, desk.VisitFile+"*.ics"))
	var stale []desk.Held
	for _, path := range there {
		name := filepath.Base(path)
		data, err := os.ReadFile(path)
		if err == nil && ours(data) && !slices.ContainsFunc(files, func(f desk.File) bool { return f.Name == name }) {
			stale = append(stale, desk.Held{Name: name, Why: "no visit of that day any more"})
		}
	}
	return stale
}

// abandoned is the age from which what is staged belongs to no running process.
const abandoned = time.Hour

// sweep removes what killed processes staged in a folder and never put in its
// place. What cannot be removed is left for the next time.
func sweep(folder string) {
	staged, _ := filepath.Glob(filepath.Join(folder, stagedName))
	for _, path := range staged {
		if info, err := os.Lstat(path); err == nil && time.Since(info.ModTime()) > abandoned {
			os.RemoveAll(path)
		}
	}
}

// claim puts the timeline of a case into a folder that has none, which only one
// of two desks can do: the other finds whose folder it is.
func claim(folder string, id graft.CaseID, timeline string) error {
	if err := os.Link(timeline, filepath.Join(folder, desk.TimelineJSON)); errors.Is(err, fs.ErrExist) {
		return sameCase(folder, id)
	}
	return nil // claimed, or a disk without links
}

// sameCase refuses a folder that holds another case's plan.
func sameCase(folder string, id graft.CaseID) error {
	other, err := caseIn(folder)
	if err != nil || other == "" || other == id {
		return err
	}
	return &graft.Refusal{Kind: graft.Conflict, Message: fmt.Sprintf("%s holds the plan of case %s; this is case %s", folder, other, id), Hint: "name another folder with --out"}
}

// mayWrite refuses a folder that holds another case's plan or files that are not
// graftclock's.
func mayWrite(folder string, id graft.CaseID, outputs desk.Outputs) error {
	if err := sameCase(folder, id); err != nil {
		return err
	}
	names := []string{}
	for _, f := range outputs.Files {
		names = append(names, f.Name)
	}
	for _, h := range outputs.Held {
		names = append(names, h.Name)
	}
	for _, name := range names {
		path := filepath.Join(folder, name)
		data, err := os.ReadFile(path)
		if errors.Is(err, fs.ErrNotExist) {
			continue
		}
		if err != nil {
			return fmt.Errorf("look at what is there: %w", err)
		}
		if !ours(data) {
			return &graft.Refusal{Kind: graft.Conflict, Message: path + " was not written by graftclock, so it is left alone", Hint: "name another folder with --out"}
		}
	}
	return nil
}

// ours reports whether a file bears graftclock's name: as it is, or as the maker of a
// PDF, whose texts are UTF-16 (ISO 32000 7.9.2.2).
func ours(data []byte) bool {
	const name = "graftclock"
	wide := make([]byte, 0, 2*len(name))
	for _, letter := range []byte(name) {
		wide = append(wide, 0, letter)
	}
	return bytes.Contains(data, []byte(name)) || bytes.Contains(data, wide)
}

// caseIn returns the case whose timeline lies in the folder; none for a folder
// without one.
func caseIn(folder string) (graft.CaseID, error) {
	data, err := os.ReadFile(filepath.Join(folder, desk.TimelineJSON))
	if errors.Is(err, fs.ErrNotExist) {
		return "", nil
	}
	if err != nil {
		return "", fmt.Errorf("look at what is there: %w", err)
	}
	var timeline struct {
		Case graft.CaseID `json:"case"`
	}
	if json.Unmarshal(data, &timeline) != nil {
		return "", nil // not ours: mayWrite says so
	}
	return timeline.Case, nil
}
