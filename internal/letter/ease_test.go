package letter_test

import (
	"fmt"
	"io/fs"
	"maps"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"graftclock/internal/day"
	"graftclock/internal/graft"
	"graftclock/internal/letter"
	"graftclock/templates"
)

// languages lists the languages that come with the program, each by its folder; none is
// left out because it cannot be read.
func languages(t *testing.T) []string {
	t.Helper()
	entries, err := fs.ReadDir(templates.Files, "letter")
	if err != nil {
		t.Fatal(err)
	}
	var all []string
	for _, e := range entries {
		if e.IsDir() {
			all = append(all, e.Name())
		}
	}
	if len(all) < 5 {
		t.Fatalf("%d languages only: %v", len(all), all)
	}
	return all
}

// bothSides has a sinus on each side, and so visits that say which they are for.
func bothSides() letter.Letter {
	l := simultaneous()
	surgery := l.Case.Surgery.Day
	l.Case.Sinuses = append(l.Case.Sinuses, graft.Sinus{
		Side: graft.Left, Approach: graft.Transcrestal, Outcome: graft.Completed,
		Implants: []graft.Implant{{Tooth: 26, LengthMM: 8.5, DiameterMM: 4.1, Placed: graft.Later}},
	})
	placement, uncovering, loading := gate(graft.Placement, surgery, 245, 250), gate(graft.Uncovering, surgery, 186, 187), gate(graft.FirstLoading, surgery, 400, 410)
	placement.For, uncovering.For = string(graft.Left), string(graft.Right)
	l.Timeline.Milestones = append(earlyVisits(surgery), uncovering, placement, gate(graft.Impression, surgery, 390, 395), loading,
		visit(graft.DefinitiveRestoration, surgery, 500, 500, 520, 560), visit(graft.ImagingDecision, surgery, 150, 150, 160, 170))
	return l
}

// inLanguage is a sample for a patient who reads a language.
func inLanguage(l letter.Letter, tag string, large bool) letter.Letter {
	l.Case.Patient.Language, l.Case.Patient.LargePrint = tag, large
	return l
}

// moved is a letter with all its days so many days later.
func moved(l letter.Letter, days int) letter.Letter {
	move := func(d *day.Day) {
		if !d.IsZero() {
			*d = d.AddDays(days)
		}
	}
	move(&l.Case.Surgery.Day)
	move(&l.Timeline.On)
	move(&l.Approval.On)
	milestones := slices.Clone(l.Timeline.Milestones)
	for i := range milestones {
		m := &milestones[i]
		for _, d := range []*day.Day{&m.Window.NotBefore, &m.Window.Earliest, &m.Window.Target, &m.Window.Latest, &m.Placed, &m.Attended} {
			move(d)
		}
	}
	l.Timeline.Milestones = milestones
	booked := map[graft.MilestoneID]letter.Booking{}
	for id, b := range l.Booked {
		move(&b.Day)
		booked[id] = b
	}
	l.Booked = booked
	if l.NextVisit.Entry != nil {
		move(&l.NextVisit.When.Day)
	}
	return l
}

// allSamples are the samples of the goldens and those of these tests.
func allSamples() map[string]func() letter.Letter {
	all := maps.Clone(samples)
	all["both-sides"] = bothSides
	return all
}

// TestLettersAreEasyInEveryLanguage measures each letter by the formula and the target of
// its language; English in both counts, with the words that it cannot do without and
// without them. Its days are moved through the year, for the names of months are long and
// short.
func TestLettersAreEasyInEveryLanguage(t *testing.T) {
	for _, tag := range languages(t) {
		t.Run(tag, func(t *testing.T) {
			met := map[string]int{}
			for name, sample := range allSamples() {
				for n := range 6 {
					l := moved(inLanguage(sample(), tag, n%2 == 1), 60*n)
					wantEasy(t, fmt.Sprintf("%s, %d days later", name, 60*n), l, met)
				}
			}
			for _, region := range letter.BuiltIn().Tags() {
				if base, _, ok := strings.Cut(region, "-"); ok && base == tag {
					wantEasy(t, region, moved(inLanguage(simultaneous(), region, false), 60), met)
				}
			}
			for word, times := range met {
				if times == 0 {
					t.Errorf("%q is a word that the letter cannot do without, and in no letter", word)
				}
			}
		})
	}
}

func wantEasy(t *testing.T, name string, l letter.Letter, met map[string]int) {
	t.Helper()
	f, err := letter.BuiltIn().Fill(l)
	if err != nil {
		t.Fatal(err)
	}
	score, err := f.Reading()
	if err != nil {
		t.Fatal(err)
	}
	without, _ := score.Without.Result(score.Target.Formula)
	whole, _ := score.Whole.Result(score.Target.Formula)
	if !score.Easy() {
		t.Errorf("%s: %s %.2f, want %s", name, score.Target.Formula, without.Value, score.Target.Says())
	}
	if score.Language == "en" && whole.Value > score.Target.Limit {
		t.Errorf("%s: %s %.2f with every word, want %s", name, score.Target.Formula, whole.Value, score.Target.Says())
	}
	for _, word := range score.Exempt {
		met[word.Word] += word.Times
	}
}

// TestTextLinesFitInEveryLanguage holds the text form to 72 characters a line: no word of
// the letters is longer.
func TestTextLinesFitInEveryLanguage(t *testing.T) {
	const widest = 72
	for _, tag := range languages(t) {
		for name, sample := range allSamples() {
			for n := range 4 {
				l := moved(inLanguage(sample(), tag, false), 90*n)
				for line := range strings.Lines(textOf(t, l)) {
					if n := utf8.RuneCountInString(strings.TrimSuffix(line, "\n")); n > widest {
						t.Errorf("%s, %s: %d characters in %q", tag, name, n, line)
					}
				}
			}
		}
	}
}

// TestReadingKnowsAHardLetter shows that the measure can fail: a letter with the words of
// a paper for surgeons is not easy.
func TestReadingKnowsAHardLetter(t *testing.T) {
	const kept = "  - Sleep with your head up for some nights.\n"
	hard := strings.Repeat("  - Postoperatively maintain antigravitational positioning notwithstanding intermittent discomfort, particularly overnight.\n", 60)
	own, faults := letter.BuiltIn().With(spoiledWords(t, "en", kept, kept+hard), "own")
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	f, err := own.Fill(simultaneous())
	if err != nil {
		t.Fatal(err)
	}
	if score, err := f.Reading(); err != nil || score.Easy() {
		t.Errorf("easy: %v, %v", score.Without.Results, err)
	}
}
