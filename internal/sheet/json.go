package sheet

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
)

// WriteJSON writes the list as one JSON object, each of its rows on a line of its
// own with the section it stands in. Cells are text, as given: empty ones stay
// "" and line breaks are kept.
func (s Sheet) WriteJSON(w io.Writer) error {
	if err := s.check(); err != nil {
		return err
	}
	on, err := s.On.MarshalText()
	if err != nil {
		return err
	}
	var b bytes.Buffer
	fmt.Fprintf(&b, `{"list":%s,"clinic":%s,"on":%s,"caution":%s,"rows":[`, quoted(s.Title), quoted(s.Clinic), quoted(string(on)), quoted(s.Caution))
	before := "\n"
	for _, section := range s.Sections {
		for _, row := range section.Rows {
			fmt.Fprintf(&b, `%s{%q:%s`, before, sectionKey, quoted(section.Name))
			for i, cell := range row {
				fmt.Fprintf(&b, `,%q:%s`, s.Columns[i].Key, quoted(cell))
			}
			b.WriteByte('}')
			before = ",\n"
		}
	}
	if before != "\n" {
		b.WriteByte('\n')
	}
	b.WriteString("]}\n")
	_, err = w.Write(b.Bytes())
	return err
}

// quoted writes text as JSON, with <, > and & as they are. Text has no value that
// JSON refuses.
func quoted(text string) []byte {
	var b bytes.Buffer
	encoder := json.NewEncoder(&b)
	encoder.SetEscapeHTML(false)
	_ = encoder.Encode(text)
	return bytes.TrimRight(b.Bytes(), "\n")
}
