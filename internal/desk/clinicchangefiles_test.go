package desk_test

import (
	"io/fs"
	"testing"

	"graftclock/internal/casefile"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/protocol"
)

// shelfOfFiles are the files of the demo clinic, in memory.
type shelfOfFiles struct {
	texts map[string]string
	rules string
	fails map[string]error // of Replace, by name
	swaps int
}

func clinicOnShelf(t *testing.T) *shelfOfFiles {
	_, data := demo(t, "clinic.yaml")
	return &shelfOfFiles{texts: map[string]string{"clinic.yaml": string(data)}, fails: map[string]error{}}
}

func (s *shelfOfFiles) ClinicName() string { return "clinic.yaml" }
func (s *shelfOfFiles) RulesName() string  { return s.rules }

func (s *shelfOfFiles) Read(name string) ([]byte, error) {
	if text, there := s.texts[name]; there {
		return []byte(text), nil
	}
	return nil, fs.ErrNotExist
}

func (s *shelfOfFiles) Replace(name string, was, now []byte) error {
	text, there := s.texts[name]
	switch {
	case s.fails[name] != nil:
		return s.fails[name]
	case there != (was != nil) || text != string(was):
		return &graft.Refusal{Kind: graft.Conflict, Message: name + " was changed meanwhile"}
	case now == nil:
		delete(s.texts, name)
	default:
		s.texts[name] = string(now)
	}
	s.swaps++
	return nil
}

// keeper is the desk of the files as they stand.
func (s *shelfOfFiles) keeper(t *testing.T, store desk.Store) *desk.Keeper {
	t.Helper()
	c, faults := casefile.ReadClinic("clinic.yaml", []byte(s.texts["clinic.yaml"]), s.Read)
	rules := protocol.Default()
	if name := c.Protocol; len(faults) == 0 && name != "" {
		rules, faults = rules.Adopt(name, []byte(s.texts[name]))
	}
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	return desk.NewKeeper(desk.New(c, rules), store)
}
