package casefile

import (
	"bytes"
	"fmt"
	"path/filepath"
	"strings"

	"graftclock/internal/graft"
	"graftclock/internal/table"
)

// Arrival is one record that is to be taken in, with where it stands.
type Arrival struct {
	Place  string // the file, and the line in a file of many
	Record []byte // canonical; none with faults
	Case   Case
	Faults table.Faults
}

// Arrivals reads one record, or a CSV file of many. What says in words what the file
// is. A clinic file or rule values are a refusal of kind Invalid.
func Arrivals(name string, data []byte, isCSV bool) (list []Arrival, what string, err error) {
	return arrivals(name, data, isCSV, ReadCSV)
}

// CheckArrivals is Arrivals for who only asks what is wrong: those of a CSV file come
// without their records.
func CheckArrivals(name string, data []byte, isCSV bool) (list []Arrival, what string, err error) {
	return arrivals(name, data, isCSV, CheckCSV)
}

func arrivals(name string, data []byte, isCSV bool, read func(string, []byte) []Row) (list []Arrival, what string, err error) {
	if isCSV {
		rows := read(name, data)
		for _, r := range rows {
			list = append(list, Arrival{fmt.Sprintf("%s:%d", name, r.Line), r.Canonical, r.Case, r.Faults})
		}
		return list, counted(len(rows), "surgery record") + " in CSV", nil
	}
	what = "surgery record"
	switch kind := KindOf(data); kind {
	case ClinicKind, RulesKind:
		return nil, "", &graft.Refusal{Kind: graft.Invalid, Message: fmt.Sprintf("%s is no surgery record: it has the key %s", name, kind), Hint: "graftclock check says what a file is"}
	case "":
		what = "read as a surgery record, though it has no key record, clinic or rules"
	}
	record, c, faults := Canonical(name, data)
	return []Arrival{{name, record, c, faults}}, what, nil
}

// IsCSV reports whether a file is one of many records, by its name; text without a
// name by its first line, which in CSV parts names and gives no value.
func IsCSV(name string, data []byte) bool {
	if ext := filepath.Ext(name); ext != "" {
		return strings.EqualFold(ext, ".csv")
	}
	first, _, _ := bytes.Cut(bytes.TrimLeft(bytes.TrimPrefix(data, []byte("\ufeff")), " \t\r\n"), []byte("\n"))
	return KindOf(data) == "" && bytes.ContainsAny(first, ",;") && !bytes.Contains(first, []byte(": "))
}

// The keys that carry the version of each format, and so tell them apart.
const (
	RecordKind = "record"
	ClinicKind = "clinic"
	RulesKind  = "rules"
)

// KindOf tells the formats apart by the key that carries their version; "" for a
// file that has none of them.
func KindOf(data []byte) string {
	for line := range bytes.Lines(bytes.TrimPrefix(data, []byte("\ufeff"))) {
		for _, kind := range []string{RecordKind, ClinicKind, RulesKind} {
			if bytes.HasPrefix(line, []byte(kind+":")) {
				return kind
			}
		}
	}
	return ""
}

func counted(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}
