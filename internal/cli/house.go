package cli

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"graftclock/internal/casefile"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/letter"
	"graftclock/internal/protocol"
	"graftclock/internal/table"
)

// clinicName is the clinic file looked for beside a record.
const clinicName = "clinic.yaml"

// sources are the flags that say which files a command reads.
type sources struct {
	clinic, protocol string
	on               dayFlag
}

func (s *sources) flags(c *cobra.Command) {
	c.Flags().StringVar(&s.clinic, "clinic", "", "clinic file (default: "+clinicName+" beside the record)")
	c.Flags().StringVar(&s.protocol, "protocol", "", "file with the clinic's own rule values (default: the one the clinic file names)")
	c.Flags().Var(&s.on, "on", "day of planning (default: today)")
}

// desk reads the clinic and its rules for the records of a folder.
func (s *sources) desk(folder string) (*desk.Desk, error) {
	path := s.clinic
	if path == "" {
		path = filepath.Join(folder, clinicName)
	}
	c, err := readClinic(path)
	if errors.Is(err, fs.ErrNotExist) && s.clinic == "" {
		return nil, &graft.Refusal{Kind: graft.NotFound, Message: "no " + clinicName + " beside the record", Hint: "name the clinic file with --clinic FILE"}
	} else if err != nil {
		return nil, err
	}
	own := s.protocol
	if own == "" && c.Protocol != "" {
		own = filepath.Join(filepath.Dir(path), c.Protocol)
	}
	rules, err := readRules(own)
	if err != nil {
		return nil, err
	}
	d := desk.New(c, rules)
	if c.Letters != "" {
		templates, faults := ownLetters(path, c)
		if len(faults) > 0 {
			return nil, faults
		}
		d.Templates = templates
	}
	return d, nil
}

// ownLetters reads the clinic's own templates of letters, over those of the program.
func ownLetters(path string, c casefile.Clinic) (*letter.Templates, table.Faults) {
	folder := filepath.Join(filepath.Dir(path), c.Letters)
	info, err := os.Stat(folder)
	switch {
	case !filepath.IsLocal(c.Letters):
		err = fmt.Errorf("%q lies outside the clinic file's folder", c.Letters)
	case err == nil && !info.IsDir():
		err = fmt.Errorf("%q is no folder", c.Letters)
	case err != nil:
		err = fmt.Errorf("%q: %w", c.Letters, cause(err))
	}
	if err != nil {
		return nil, table.Faults{{File: path, Line: c.Lines["letters"], Column: 1, Path: "letters", Found: err.Error(), Allowed: "a folder beside the clinic file"}}
	}
	return letter.BuiltIn().With(os.DirFS(folder), filepath.ToSlash(folder))
}

// readClinic reads a clinic file; its faults come back as table.Faults.
func readClinic(path string) (casefile.Clinic, error) {
	data, err := os.ReadFile(path)
	if err != nil {
		return casefile.Clinic{}, fmt.Errorf("read the clinic file: %w", err)
	}
	if kind := kindOf(data); kind == recordKind || kind == rulesKind {
		return casefile.Clinic{}, notA("clinic file", path, kind)
	}
	c, faults := casefile.ReadClinic(path, data, func(name string) ([]byte, error) {
		if !filepath.IsLocal(name) {
			return nil, fmt.Errorf("%q lies outside the clinic file's folder", name)
		}
		return os.ReadFile(filepath.Join(filepath.Dir(path), name))
	})
	if len(faults) > 0 {
		return c, faults
	}
	return c, nil
}

// readRules returns the protocol with the clinic's own values, if a file names
// any.
func readRules(path string) (*protocol.Rules, error) {
	if path == "" {
		return protocol.Default(), nil
	}
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, fmt.Errorf("read the clinic's own rule values: %w", err)
	}
	rules, faults := protocol.Default().Adopt(path, data)
	if len(faults) > 0 {
		return nil, faults
	}
	return rules, nil
}

// readCase reads a record; its faults come back as table.Faults.
func readCase(path string) (casefile.Case, error) {
	data, err := os.ReadFile(path)
	if err != nil {
		return casefile.Case{}, fmt.Errorf("read the record: %w", err)
	}
	if kind := kindOf(data); kind == clinicKind || kind == rulesKind {
		return casefile.Case{}, notA("surgery record", path, kind)
	}
	c, faults := casefile.ReadCase(path, data)
	if len(faults) > 0 {
		return c, faults
	}
	return c, nil
}

// notA refuses a file of another format than the one asked for.
func notA(wanted, path, kind string) error {
	return &graft.Refusal{Kind: graft.Invalid, Message: fmt.Sprintf("%s is no %s: it has the key %s", path, wanted, kind), Hint: "graftclock check says what a file is"}
}

// planOf reads one record with its clinic and plans it.
func (s *sources) planOf(path string) (*desk.Desk, desk.Plan, error) {
	c, recordErr := readCase(path)
	d, houseErr := s.desk(filepath.Dir(path))
	if err := allFaults(recordErr, houseErr); err != nil {
		return nil, desk.Plan{}, err
	}
	p, err := d.Plan(c, s.on.or(today))
	return d, p, err
}

// stem is a file's name without folder and ending.
func stem(path string) string {
	return strings.TrimSuffix(filepath.Base(path), filepath.Ext(path))
}
