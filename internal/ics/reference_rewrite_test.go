package ics

import (
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"graftclock/internal/reference"
)

// rewriters read files and write them again, each in its own way: other folds, another
// order, other forms of the same length. Each takes paths in and returns paths out.
var rewriters = map[string]func(t *testing.T, files []string) []string{
	"python-icalendar": func(t *testing.T, files []string) []string { return rewritten(t, "icalendar", files) },
	"vobject":          func(t *testing.T, files []string) []string { return rewritten(t, "vobject", files) },
	"libical": func(t *testing.T, files []string) []string {
		program, folder := reference.Libical(t, "ical_libical_speed.c"), t.TempDir()
		var all []string
		for i, file := range files {
			data, err := exec.Command(program, file, "text").Output()
			if err != nil {
				t.Fatal(err)
			}
			all = append(all, write(t, folder, i, data))
		}
		return all
	},
}

// rewritten has a Python library write the files again.
func rewritten(t *testing.T, library string, files []string) []string {
	t.Helper()
	folder := t.TempDir()
	arguments := []string{filepath.Join(reference.Folder(), "ical_rewrite.py"), library}
	var all []string
	for _, file := range files {
		all = append(all, filepath.Join(folder, filepath.Base(file)))
		arguments = append(arguments, file, all[len(all)-1])
	}
	if out, err := exec.Command(reference.Python(t, library), arguments...).CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	return all
}

// manyCalendars are calendars of all kinds, with the zone that each is read in.
func manyCalendars(t *testing.T) (cals []Calendar, zones []string) {
	t.Helper()
	r := rand.New(rand.NewPCG(6, 28))
	add := func(cal Calendar, zone string) { cals, zones = append(cals, cal), append(zones, zone) }
	add(patient(), "Europe/Dublin")
	add(desk(), "Europe/Berlin")
	add(busy(50), "Europe/Dublin")
	for i, name := range slices.Concat(steadyZones, transitionZones) {
		zone := mustZone(t, name)
		cal := Calendar{Name: "Harbour Row, desk", Zone: name, Stamp: stamp, Refresh: time.Hour}
		for n := range 5 {
			e, _ := randomVisit(r, zone, UID(nil, name, fmt.Sprint(n)))
			cal.Events = append(cal.Events, e)
		}
		add(cal, name)
		asks, _ := randomMessage(r, zone, UID(nil, "message", fmt.Sprint(i)))
		add(asks, name)
	}
	return cals, zones
}

// What others make of a sound file is sound, and says the same: Lint finds no fault in
// it, and Read sees the same events.
func TestRewrittenFilesAreSoundAndSayTheSame(t *testing.T) {
	cals, zones := manyCalendars(t)
	folder := t.TempDir()
	var files []string
	for i, cal := range cals {
		files = append(files, write(t, folder, i, encode(t, cal)))
	}
	for name, rewrite := range rewriters {
		t.Run(name, func(t *testing.T) {
			for i, file := range rewrite(t, files) {
				data, err := os.ReadFile(file)
				if err != nil {
					t.Fatal(err)
				}
				complaints := slices.DeleteFunc(Lint(data), func(c Complaint) bool {
					return name == "vobject" && strings.Contains(c.Says, "75 at most") // its folds count characters
				})
				if len(complaints) > 0 {
					t.Errorf("file %d: %v\n%s", i, complaints, data)
				}
				want, err := Read(encode(t, cals[i]), zones[i])
				got, err2 := Read(data, zones[i])
				if diff := cmp.Diff(want, got); diff != "" || err != nil || err2 != nil {
					t.Errorf("file %d: %v, %v (-want +got):\n%s", i, err, err2, diff)
				}
			}
			t.Logf("%d files", len(files))
		})
	}
}
