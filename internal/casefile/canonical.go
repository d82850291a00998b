package casefile

import "graftclock/internal/table"

// Write returns a record, as maps, lists and scalars such as a form sends them,
// as canonical text: one form for all records that say the same, whatever the
// order of their keys, their comments, quotation marks and line ends. What is at
// fault in the record is at fault in the text.
func Write(value any) []byte { return record.Write(value) }

// Canonical reads a record and returns it as canonical text, with a case whose
// lines are that text's. Faults are those of the record as given; with any there
// is no text.
func Canonical(name string, data []byte) ([]byte, Case, table.Faults) {
	root, c, faults, err := altered(name, data, nil)
	if err != nil { // YAML that was read and then was not: no text can do that
		return nil, c, table.Faults{{File: name, Found: err.Error()}}
	}
	if len(faults) > 0 {
		return nil, c, faults
	}
	return kept(name, root)
}

// kept checks a record as it is entered and reads it from its canonical text. What is at
// fault as entered is at fault in the text too, so that only a faulty one is read twice,
// for the faults as they were entered.
func kept(name string, root any) ([]byte, Case, table.Faults) {
	text := Write(root)
	c, faults := ReadCase(name, text)
	if len(faults) == 0 {
		return text, c, nil
	}
	if entered, asEntered := CaseOf(name, root); len(asEntered) > 0 {
		return nil, entered, asEntered
	}
	return text, c, faults
}
