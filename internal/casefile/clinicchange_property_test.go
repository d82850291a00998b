package casefile_test

import (
	"bytes"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"go.yaml.in/yaml/v3"
	"pgregory.net/rapid"

	"graftclock/internal/casefile"
	"graftclock/internal/clinic"
	"graftclock/internal/day"
)

// names are such as people have, rooms and closures get, and readers of YAML stumble
// over.
var names = []string{
	"course", "Dr O'Neil", `the "old" wing`, "a: b", "a #b", "#1", "no", "Yes", "~", "null", "1e3", "0x1F", "2027-01-01", "- a", "? b", "[x]", "{x: y}", "x, y", "&a", "*b", "!c",
	"|", ">", "%d", "@home", "`q`", `back\slash`, "Größe", "本日休診", "Łódź", "עִברִית", "🙂", "trailing ", " leading", "a]", "b}", "'", `"`, "''", "true", ".5", "=", "<<", "tab\tin", "x:", ":x", "a\u0301",
}

// changing is a random change with the path below which comments may go with it; empty:
// none may.
type changing struct {
	casefile.ClinicChange
	under string
	adds  bool                       // nothing of the text goes
	back  casefile.ClinicChange      // undoes it; nil: not asked
	holds func(casefile.Clinic) bool // what is to be so afterwards
}

func anyName(rt *rapid.T) string { return rapid.SampledFrom(names).Draw(rt, "name") }

func anyRun(rt *rapid.T) clinic.Closure {
	from := day.New(2028, time.January, rapid.IntRange(1, 300).Draw(rt, "from"))
	return clinic.Closure{From: from, To: from.AddDays(rapid.IntRange(0, 20).Draw(rt, "days")), Name: anyName(rt)}
}

func anyHours(rt *rapid.T) []day.Hours {
	return rapid.SampledFrom([][]day.Hours{{{From: 540, To: 720}}, {{From: 480, To: 720}, {From: 780, To: 1020}}}).Draw(rt, "hours")
}

func anyDays(rt *rapid.T) day.Weekdays {
	return day.Weekdays(rapid.IntRange(1, 127).Draw(rt, "weekdays"))
}

// anyChange draws a change that the clinic file can take.
func anyChange(rt *rapid.T, c casefile.Clinic) changing {
	person, room := rapid.IntRange(0, len(c.People)-1).Draw(rt, "person"), rapid.IntRange(0, len(c.Rooms)-1).Draw(rt, "room")
	weekday := time.Weekday(rapid.IntRange(0, 6).Draw(rt, "weekday"))
	run := anyRun(rt)
	fresh := func(name string) bool {
		return !slices.ContainsFunc(c.People, func(p clinic.Person) bool { return strings.EqualFold(p.Name, name) }) &&
			!slices.ContainsFunc(c.Rooms, func(r clinic.Room) bool { return strings.EqualFold(r.Name, name) })
	}
	switch rapid.IntRange(0, 12).Draw(rt, "change") {
	case 0:
		if n := len(c.Closures); n > 0 {
			n = rapid.IntRange(0, n-1).Draw(rt, "closure")
			x := c.Closures[n]
			return changing{ClinicChange: casefile.RemoveClosure{Closure: x}, under: fmt.Sprintf("closures[%d]", n), holds: func(c casefile.Clinic) bool { return !slices.Contains(c.Closures, x) }}
		}
	case 1:
		if n := len(c.HalfDays); n > 0 {
			n = rapid.IntRange(0, n-1).Draw(rt, "half day")
			x := clinic.SpecialDay{Day: c.HalfDays[n].Day, Hours: anyHours(rt), Name: anyName(rt)}
			return changing{ClinicChange: casefile.SetHalfDay{SpecialDay: x}, under: fmt.Sprintf("half_days[%d]", n), back: casefile.SetHalfDay{SpecialDay: c.HalfDays[n]},
				holds: func(c casefile.Clinic) bool { return cmp.Equal(c.HalfDays[n], x, sameDay) }}
		}
	case 2:
		x := clinic.SpecialDay{Day: run.From, Hours: anyHours(rt), Name: run.Name}
		if slices.ContainsFunc(c.HalfDays, func(other clinic.SpecialDay) bool { return other.Day == x.Day }) {
			break
		}
		return changing{ClinicChange: casefile.SetHalfDay{SpecialDay: x}, adds: true, back: casefile.RemoveHalfDay{Day: x.Day},
			holds: func(c casefile.Clinic) bool { return cmp.Equal(c.HalfDays[len(c.HalfDays)-1], x, sameDay) }}
	case 3:
		hours := append([][]day.Hours{nil}, anyHours(rt))[rapid.IntRange(0, 1).Draw(rt, "open")]
		return changing{ClinicChange: casefile.SetHours{Weekday: weekday, Hours: hours}, under: "hours", back: casefile.SetHours{Weekday: weekday, Hours: c.Hours[weekday]},
			holds: func(c casefile.Clinic) bool { return slices.Equal(c.Hours[weekday], hours) }}
	case 4:
		return changing{ClinicChange: casefile.AddAbsence{Who: c.People[person].Name, Closure: run}, adds: true, back: casefile.RemoveAbsence{Who: c.People[person].Name, Closure: run},
			holds: func(c casefile.Clinic) bool { return slices.Contains(c.People[person].Absent, run) }}
	case 5:
		return changing{ClinicChange: casefile.AddAbsence{Who: c.Rooms[room].Name, Room: true, Closure: run}, adds: true, back: casefile.RemoveAbsence{Who: c.Rooms[room].Name, Room: true, Closure: run},
			holds: func(c casefile.Clinic) bool { return slices.Contains(c.Rooms[room].OutOfUse, run) }}
	case 6:
		x := clinic.Person{Name: run.Name, Role: "hygienist", Days: anyDays(rt)}
		if !fresh(x.Name) {
			break
		}
		return changing{ClinicChange: casefile.AddPerson{Name: x.Name, Role: x.Role, Days: x.Days}, adds: true, back: casefile.RemovePerson{Name: x.Name},
			holds: func(c casefile.Clinic) bool { return cmp.Equal(c.People[len(c.People)-1], x, sameDay) }}
	case 7:
		days := anyDays(rt)
		return changing{ClinicChange: casefile.SetPersonDays{Name: c.People[person].Name, Days: days}, under: fmt.Sprintf("people[%d].days", person), back: casefile.SetPersonDays{Name: c.People[person].Name, Days: c.People[person].Days},
			holds: func(c casefile.Clinic) bool { return c.People[person].Days == days }}
	case 8:
		x := clinic.Room{Name: run.Name, For: []string{"check", "surgery"}, Days: anyDays(rt)}
		if !fresh(x.Name) {
			break
		}
		return changing{ClinicChange: casefile.SetRoom{Name: x.Name, For: x.For, Days: x.Days}, adds: true, holds: func(c casefile.Clinic) bool { return cmp.Equal(c.Rooms[len(c.Rooms)-1], x, sameDay) }}
	case 9:
		was := c.Rooms[room]
		days := day.Weekdays(rapid.SampledFrom([]int{0, 20}).Draw(rt, "room days"))
		kinds := append(slices.Clone(was.For), "surgery")
		return changing{ClinicChange: casefile.SetRoom{Name: was.Name, For: kinds, Days: days}, under: fmt.Sprintf("rooms[%d]", room), back: casefile.SetRoom{Name: was.Name, For: was.For, Days: was.Days},
			holds: func(c casefile.Clinic) bool {
				return slices.Equal(c.Rooms[room].For, kinds) && c.Rooms[room].Days == days
			}}
	case 10:
		key, days := rapid.SampledFrom(casefile.AfterCareKeys).Draw(rt, "preset"), rapid.IntRange(0, 30).Draw(rt, "days")
		if _, set := c.AfterCare[key]; set || days > 0 {
			return changing{ClinicChange: casefile.SetAfterCare{Key: key, Days: days}, under: "after_care", back: casefile.SetAfterCare{Key: key, Days: c.AfterCare[key]},
				holds: func(c casefile.Clinic) bool { return c.AfterCare[key] == days }}
		}
	case 11:
		x := casefile.SetProtocol{File: anyName(rt)}
		if c.Protocol == "" {
			return changing{ClinicChange: x, adds: true, back: casefile.SetProtocol{}, holds: func(c casefile.Clinic) bool { return c.Protocol == x.File }}
		}
		return changing{ClinicChange: x, under: "protocol", back: casefile.SetProtocol{File: c.Protocol}, holds: func(c casefile.Clinic) bool { return c.Protocol == x.File }}
	}
	return changing{ClinicChange: casefile.AddClosure{Closure: run}, adds: true, back: casefile.RemoveClosure{Closure: run}, holds: func(c casefile.Clinic) bool { return c.Closures[len(c.Closures)-1] == run }}
}

// anyClinic writes a clinic file with more or less in it, in any hand.
func anyClinic(rt *rapid.T, t *testing.T) ([]byte, casefile.Clinic) {
	var doc yaml.Node
	if err := yaml.Unmarshal([]byte(example(t, "clinic.yaml")), &doc); err != nil {
		rt.Fatal(err)
	}
	root := doc.Content[0]
	for i := 0; i+1 < len(root.Content); {
		key, value := root.Content[i].Value, root.Content[i+1]
		if slices.Contains([]string{"closures", "half_days", "after_care", "extra_days"}, key) && rapid.IntRange(1, 4).Draw(rt, "left out") == 1 {
			root.Content = slices.Delete(root.Content, i, i+2)
			continue
		}
		for key == "closures" && rapid.Bool().Draw(rt, "more") {
			var more yaml.Node
			c := anyRun(rt)
			if err := more.Encode(map[string]string{"from": c.From.String(), "to": c.To.String(), "name": fmt.Sprint("closure ", len(value.Content))}); err != nil {
				rt.Fatal(err)
			}
			value.Content = append(value.Content, &more)
		}
		i += 2
	}
	h := &handwriting{rt: rt}
	data := []byte(h.file(root))
	c, faults := casefile.ReadClinic("clinic.yaml", data, noFile)
	if len(faults) > 0 {
		rt.Fatalf("the handwriting is no clinic file:\n%v\n%s", faults, data)
	}
	return data, c
}

var commentForm = regexp.MustCompile(`# c([0-9]+) (\S*) ', " \]\} # a: b`)

// TestAChangeTouchesNothingElse makes one change after the other in clinic files of all
// hands.
func TestAChangeTouchesNothingElse(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		data, c := anyClinic(rt, t)
		for n := range rapid.IntRange(1, 4).Draw(rt, "changes") {
			x := anyChange(rt, c)
			out, after, faults, err := casefile.ChangeClinic("clinic.yaml", data, []casefile.ClinicChange{x.ClinicChange}, noFile)
			if tabs := func(f string) bool { return strings.Contains(f, "U+0009") }; len(faults) > 0 && tabs(faults.Error()) {
				continue // a tab is no part of a text
			}
			if err != nil || len(faults) > 0 {
				rt.Fatalf("%#v: %v %v\n%s", x.ClinicChange, err, faults, data)
			}
			if !x.holds(after) {
				rt.Fatalf("%#v is not so afterwards:\n%s", x.ClinicChange, out)
			}
			if n == 0 || x.adds { // later on a comment's path may be another entry's
				kept(rt, x, data, out)
			}
			if x.back != nil {
				undone(rt, x, out, c)
			}
			data, c = out, after
		}
	})
}

// kept holds a change to the comments and the text that it leaves.
func kept(rt *rapid.T, x changing, was, is []byte) {
	if x.adds && !within(was, is) {
		rt.Fatalf("%#v took something of the text away:\n%s\nbecame\n%s", x.ClinicChange, was, is)
	}
	for _, m := range commentForm.FindAllSubmatch(was, -1) {
		path := string(m[2])
		gone := !bytes.Contains(is, m[0])
		if mayGo := x.under != "" && (path == x.under || strings.HasPrefix(path, x.under+".") || strings.HasPrefix(path, x.under+"[")); gone && !mayGo {
			rt.Fatalf("%#v took the comment %s away:\n%s\nbecame\n%s", x.ClinicChange, m[0], was, is)
		}
	}
}

// within reports whether a text is another one with some of it left out.
func within(short, long []byte) bool {
	for _, b := range long {
		if len(short) > 0 && short[0] == b {
			short = short[1:]
		}
	}
	return len(short) == 0
}

// undone takes a change back and wants the values as they were.
func undone(rt *rapid.T, x changing, out []byte, was casefile.Clinic) {
	_, is, faults, err := casefile.ChangeClinic("clinic.yaml", out, []casefile.ClinicChange{x.back}, noFile)
	if err != nil || len(faults) > 0 {
		rt.Fatalf("undo by %#v: %v %v\n%s", x.back, err, faults, out)
	}
	was.Lines, is.Lines, was.Digest, is.Digest = nil, nil, "", ""
	if len(was.AfterCare) == 0 {
		was.AfterCare, is.AfterCare = nil, nil
	}
	if diff := cmp.Diff(was, is, sameDay); diff != "" {
		rt.Fatalf("%#v and %#v (-was +is):\n%s", x.ClinicChange, x.back, diff)
	}
}
