package casefile_test

import (
	"encoding/json"
	"fmt"
	"maps"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"graftclock/internal/casefile"
	"graftclock/internal/table"
)

// format is one of the two formats with its schema and its valid file.
type format struct {
	shape  table.Shape
	schema *jsonschema.Schema
	file   string
}

func formats(t *testing.T) []format {
	t.Helper()
	list := []format{{shape: casefile.Record(), file: "case.yaml"}, {shape: casefile.ClinicFile(), file: "clinic.yaml"}}
	for i, f := range list {
		data, err := json.Marshal(f.shape.Schema(f.file))
		if err != nil {
			t.Fatal(err)
		}
		doc, err := jsonschema.UnmarshalJSON(strings.NewReader(string(data)))
		if err != nil {
			t.Fatal(err)
		}
		c := jsonschema.NewCompiler()
		c.AssertFormat()
		if err := c.AddResource(f.file, doc); err != nil {
			t.Fatal(err)
		}
		if list[i].schema, err = c.Compile(f.file); err != nil {
			t.Fatalf("the schema of %s: %v", f.file, err)
		}
	}
	return list
}

// sample returns a fresh copy of the format's valid file, as JSON holds it.
func (f format) sample(t testing.TB) any { return decoded(t, []byte(example(t, f.file)), asJSON) }

// verdicts returns what the schema and the reader's shape say of a value.
func (f format) verdicts(value any) (schema error, reader table.Faults) {
	return f.schema.Validate(value), table.ReadValue("value", value, f.shape).Faults()
}

func TestExamplesFollowTheirSchemas(t *testing.T) {
	for _, f := range formats(t) {
		if err, faults := f.verdicts(f.sample(t)); err != nil || len(faults) > 0 {
			t.Errorf("%s: schema: %v; reader: %v", f.file, err, faults)
		}
	}
}

// unsayable is what a schema cannot say, or says otherwise: everything else the
// two must agree on.
var unsayable = []struct {
	name   string
	file   string
	path   string
	value  any
	reader bool // the reader accepts it and the schema does not; else the reverse
}{
	{"number as text, as a form sends it", "case.yaml", "sinuses[0].implants[0].residual_bone_mm", "4", true},
	{"truth as text", "clinic.yaml", "holidays.also_closed_on_the_day", "true", true},
	{"server called false, and no truth", "clinic.yaml", "mail.server", false, true},
	{"telephone number without quotation marks", "case.yaml", "patient.phone", 1e9, true},
	{"long one without quotation marks", "case.yaml", "patient.phone", 1e21, true},
	{"too long before the @", "case.yaml", "patient.mail.address", strings.Repeat("x", 65) + "@example.org", false},
	{"day before 1900", "case.yaml", "surgery.day", "1899-12-31", false},
	{"day after 2199", "case.yaml", "surgery.day", "2200-01-01", false},
	{"span of days that do not exist", "case.yaml", "patient.unavailable[0]", "2027-02-29..2027-03-01", false},
	{"span backwards", "case.yaml", "patient.unavailable[0]", "2027-03-02..2027-03-01", false},
	{"span of one day that does not exist", "case.yaml", "patient.unavailable[0]", "2027-02-29", false},
	{"span of one day in no month", "case.yaml", "patient.unavailable[0]", "2027-13-01", false},
	{"hours backwards", "clinic.yaml", "hours.fri[0]", "13:00-08:30", false},
	{"zone that nobody has", "clinic.yaml", "zone", "Europe/Nowhere", false},
	{"zone of this machine", "clinic.yaml", "zone", "Local", false},
	{"line break", "case.yaml", "patient.name", "Nora\nFenwick", false},
	{"control character", "case.yaml", "patient.name", "Nora\x1b", false},
	{"blanks beyond ASCII", "case.yaml", "patient.name", "\u00a0", false},
}

// TestWhatASchemaCannotSay fails when an exception is none: it must then leave
// the list.
func TestWhatASchemaCannotSay(t *testing.T) {
	for _, f := range formats(t) {
		for _, u := range unsayable {
			if u.file != f.file {
				continue
			}
			value := f.sample(t)
			set := false
			for _, p := range places(value, "") {
				if p.path == u.path {
					p.set(u.value)
					set = true
				}
			}
			err, faults := f.verdicts(value)
			if !set || (err == nil) == u.reader || (len(faults) == 0) != u.reader {
				t.Errorf("%s: found %v; schema: %v; reader: %v", u.name, set, err, faults)
			}
		}
	}
}

// TestSchemaAndReaderAgree changes every single thing of a valid file to each of
// the values, takes every key away and renames it, and wants the same verdict of
// both.
func TestSchemaAndReaderAgree(t *testing.T) {
	values := []any{
		nil, true, false, "", "  ", "none", "right", "later", "not yet", "surgery", "en", "en-GB", "en_GB", "IE", "ie", "DE-BY", "mon", "mon-fri", "monday",
		-1.0, 0.0, 1.0, 1e-7, 4.5, 15.0, 16.0, 19.0, 39.5, 400.0, 1e9, 1e21,
		"2027-02-28", "2027-1-4", "14.01.2027", "2027-02-28..2027-03-01", "2027-02-28..", "2027-02-28T08:00:00Z",
		"08:30-12:30", "24:00-24:30", "25:00-26:00", "08:30", "00:00-24:00", "Europe/Dublin", "Europe//Dublin", "x y",
		strings.Repeat("ä", 400), strings.Repeat("ä", 401), "4 mm", "4,5",
		[]any{}, map[string]any{}, []any{nil}, []any{"none"}, map[string]any{"mm": 4.0}, map[string]any{"size_mm": 3.0, "repaired": true},
	}
	addresses := []any{
		"ida@example.org", "ida@localhost", "ida.@example.org", "ida@example..org", "ida@127.0.0.1", "Ida <ida@example.org>", "ıda@example.org", strings.Repeat("x", 64) + "@" + strings.Repeat("example.", 24) + "org", // 260 characters
		"mail.example.org", "localhost", "127.0.0.1", "127.0.0.256", "::1", "::2", "-x.org", "mail.example.org.", strings.Repeat("x", 63) + ".org", strings.Repeat("x", 64) + ".org",
		"https://example.org/", "https://example.org", "https://example.org/a/%C3%A4/", "https://example.org/%C/", "https://example.org/?a/", "https://x@example.org/", "https://example.org:65536/", "http://example.org/", "http://127.0.0.1:5232/a/", "http://[::1]/", "http://localhost.example/", "HTTPS://example.org/", 65536.0, "tls",
	}
	phones := []any{
		"5550100", "+353 1 555 0100", "(01) 555/0100", "12345", "1234", "1-2-3-4-5", " 12345", "12345 ", "()12345+", "( 12345 )", "+-()/", "1 2 3 4", "12345 x", "１２３４５", "12\t345",
		strings.Repeat("1", 30), strings.Repeat("1", 31), "1" + strings.Repeat(" ", 25) + "2345",
	}
	readerAlone := map[string]bool{} // value -> who accepts it
	for _, u := range unsayable {
		values = append(values, u.value)
		readerAlone[fmt.Sprint(u.value)] = u.reader
	}
	for _, f := range formats(t) {
		tried := map[bool]int{} // by the reader's verdict
		value := f.sample(t)
		compare := func(what string, odd func(reader bool) bool) {
			err, faults := f.verdicts(value)
			accepts := len(faults) == 0
			if (err == nil) != accepts && !odd(accepts) {
				t.Errorf("%s: %s\nschema: %v\nreader: %v", f.file, what, err, faults)
			}
			tried[accepts]++
		}
		never := func(bool) bool { return false }
		for _, p := range places(value, "") {
			if strings.Contains(p.path, "[1]") {
				continue // of the same shape as the first
			}
			tries := values
			if p.path == "patient.phone" {
				tries = slices.Concat(values, phones)
			}
			if strings.Contains(p.path, "mail") || strings.HasPrefix(p.path, "shared_calendar") {
				tries = slices.Concat(values, addresses)
			}
			for _, v := range tries {
				p.set(v)
				compare(fmt.Sprintf("%s = %#v", p.path, v), func(reader bool) bool {
					alone, is := readerAlone[fmt.Sprint(v)]
					return is && alone == reader || p.path == "zone" && !reader // no schema lists the zones
				})
			}
			p.set(p.was)
			if p.in == nil {
				continue // an item of a list has no key
			}
			delete(p.in, p.key)
			compare("without "+p.path, never)
			for _, key := range []string{p.key + "s", strings.ToUpper(p.key), "x"} {
				p.in[key] = p.was
				compare(p.path+" renamed "+key, never)
				delete(p.in, key)
			}
			p.in[p.key] = p.was
		}
		if tried[true] < 300 || tried[false] < 2000 {
			t.Errorf("%s: %d accepted, %d refused: too few to tell", f.file, tried[true], tried[false])
		}
	}
}

// place is one value inside another, and how to set it.
type place struct {
	path string
	in   map[string]any // the map it stands in; nil: a list
	key  string
	was  any
	set  func(any)
}

// places lists every value below the given one, in a fixed order.
func places(value any, path string) []place {
	var list []place
	switch v := value.(type) {
	case map[string]any:
		for _, key := range slices.Sorted(maps.Keys(v)) {
			where := strings.TrimPrefix(path+"."+key, ".")
			list = append(list, place{where, v, key, v[key], func(to any) { v[key] = to }})
			list = append(list, places(v[key], where)...)
		}
	case []any:
		for i := range v {
			where := fmt.Sprintf("%s[%d]", path, i)
			list = append(list, place{where, nil, "", v[i], func(to any) { v[i] = to }})
			list = append(list, places(v[i], where)...)
		}
	}
	return list
}

// TestPhysicalBounds holds every number of a record to its bounds, both of them
// allowed, in the schema as in the reader.
func TestPhysicalBounds(t *testing.T) {
	f := formats(t)[0]
	for _, c := range []struct {
		path        string
		least, most float64
	}{
		{"record", 1, 1},
		{"sinuses[0].widths[0].mm", 2, 39},
		{"sinuses[0].widths[0].above_floor_mm", 0, 35},
		{"sinuses[0].window.from_mm", -100, 100},
		{"sinuses[0].window.to_mm", -100, 100},
		{"sinuses[0].window.lower_edge_above_floor_mm", 0, 35},
		{"sinuses[0].window.height_mm", 1, 40},
		{"sinuses[0].anterior_wall_at_mm", -100, 100},
		{"sinuses[0].septa[0].at_mm", -100, 100},
		{"sinuses[0].septa[0].height_mm", 0.1, 35},
		{"sinuses[0].graft.height_mm", 1, 30},
		{"sinuses[0].implants[0].tooth", 14, 28},
		{"sinuses[0].implants[0].at_mm", -100, 100},
		{"sinuses[0].implants[0].off_midline_mm", -15, 15},
		{"sinuses[0].implants[0].residual_bone_mm", 0, 20},
		{"sinuses[0].implants[0].length_mm", 4, 20},
		{"sinuses[0].implants[0].diameter_mm", 2.5, 8},
		{"sinuses[0].implants[0].insertion_torque_ncm", 0, 100},
	} {
		value := f.sample(t)
		for _, p := range places(value, "") {
			if p.path != c.path {
				continue
			}
			for n, accepted := range map[float64]bool{c.least: true, c.most: true, c.least - 0.01: false, c.most + 0.01: false} {
				p.set(n)
				if err, faults := f.verdicts(value); (err == nil) != accepted || (len(faults) == 0) != accepted {
					t.Errorf("%s = %v: schema: %v; reader: %v; want accepted %v", c.path, n, err, faults, accepted)
				}
			}
			value = nil
			break
		}
		if value != nil {
			t.Errorf("the example has no %s", c.path)
		}
	}
}

// TestBothRefuseADayThatDoesNotExist holds the schema's format to what the list
// of exceptions allows in a span only.
func TestBothRefuseADayThatDoesNotExist(t *testing.T) {
	f := formats(t)[0]
	for _, text := range []string{"2027-02-29", "2027-13-01", "2027-04-31"} {
		value := f.sample(t)
		value.(map[string]any)["surgery"].(map[string]any)["day"] = text
		if err, faults := f.verdicts(value); err == nil || len(faults) != 1 {
			t.Errorf("%s: schema: %v; reader: %v", text, err, faults)
		}
	}
}

// TestSchemaDescribesEveryKey keeps the editors' help from going missing.
func TestSchemaDescribesEveryKey(t *testing.T) {
	for _, f := range formats(t) {
		schema := f.shape.Schema("title")
		if schema["title"] != "title" || schema["$schema"] != "https://json-schema.org/draft/2020-12/schema" {
			t.Errorf("%s: title %v, $schema %v", f.file, schema["title"], schema["$schema"])
		}
		properties, _ := schema["properties"].(map[string]any)
		var required []string
		for _, field := range f.shape.Fields {
			if properties[field.Key] == nil {
				t.Errorf("%s: the schema lacks %s", f.file, field.Key)
			}
			if field.Required {
				required = append(required, field.Key)
			}
		}
		if !reflect.DeepEqual(schema["required"], required) {
			t.Errorf("%s: required %v, want %v", f.file, schema["required"], required)
		}
	}
}
