package casefile

import (
	"fmt"

	"go.yaml.in/yaml/v3"

	"graftclock/internal/table"
)

// With reads a record with some of its values changed, each given as KEY=VALUE.
// A key is a path of the record, or a short form: a key of a sinus stands for
// every sinus, a key of an implant for every implant, and with a tooth before it
// for that implant. The value none takes away what may be absent, such as a
// window or an entry of a list; KEY+=VALUE adds an entry to a list and
// KEY-=VALUE takes one away. The error is a change that cannot be understood;
// the faults are those of the record, or of the changed record.
func With(name string, data []byte, changes []string) (Case, table.Faults, error) {
	root, c, faults, err := altered(name, data, changes)
	if err != nil || len(faults) > 0 {
		return c, faults, err
	}
	c, faults = CaseOf(name, root)
	return c, faults, nil
}

// Change is With for a record that is kept: it returns the changed record as
// canonical text, with a case whose lines are that text's. Without a change it
// is Canonical.
func Change(name string, record []byte, changes []string) ([]byte, Case, table.Faults, error) {
	root, c, faults, err := altered(name, record, changes)
	if err != nil || len(faults) > 0 {
		return nil, c, faults, err
	}
	text, c, faults := kept(name, root)
	return text, c, faults, nil
}

// AddFinding appends one finding to a record and returns it as Change does. The
// fields are the keys of a finding; an empty one counts as left out. The error
// is a disk's or a program's: what is wrong with the finding is a fault, under
// findings[n].
func AddFinding(name string, record []byte, fields map[string]string) ([]byte, Case, table.Faults, error) {
	root, c, faults, err := altered(name, record, nil)
	if err != nil || len(faults) > 0 {
		return nil, c, faults, err
	}
	finding := map[string]any{}
	for key, value := range fields {
		if value != "" {
			finding[key] = value
		}
	}
	findings, _ := root["findings"].([]any)
	root["findings"] = append(findings, finding)
	text, c, faults := kept(name, root)
	return text, c, faults, nil
}

// altered returns a record with changes in it, as maps, lists and the scalars'
// own words; the case and the faults are those of the record as it was.
func altered(name string, data []byte, changes []string) (map[string]any, Case, table.Faults, error) {
	c, faults := ReadCase(name, data)
	if len(faults) > 0 {
		return nil, c, faults, nil
	}
	var doc yaml.Node
	if err := yaml.Unmarshal(data, &doc); err != nil {
		return nil, c, nil, fmt.Errorf("%s: %w", name, err)
	}
	root, _ := valueOf(doc.Content[0]).(map[string]any)
	for _, text := range changes {
		if err := alter(root, text); err != nil {
			return nil, c, nil, fmt.Errorf("%q: %w", text, err)
		}
	}
	return root, c, nil, nil
}

// valueOf turns a record without faults into maps, lists and the scalars' own
// words: days come back as days, and a case 007 keeps its noughts.
func valueOf(n *yaml.Node) any {
	switch n.Kind {
	case yaml.MappingNode:
		m := map[string]any{}
		for i := 0; i+1 < len(n.Content); i += 2 {
			m[n.Content[i].Value] = valueOf(n.Content[i+1])
		}
		return m
	case yaml.SequenceNode:
		list := make([]any, len(n.Content))
		for i, item := range n.Content {
			list[i] = valueOf(item)
		}
		return list
	}
	return n.Value
}
