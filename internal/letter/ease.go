package letter

import (
	"strings"

	"graftclock/internal/reading"
)

// Reading measures how easy the letter is to read, by the formulas of its language: over
// everything that the patient reads in it but names, addresses and numbers of telephones.
// The words of the language's list of long words are left out of one of the two counts.
func (f Filled) Reading() (reading.Score, error) {
	return reading.Measure(f.sheet.Say.Language, f.sheet.units(), f.sheet.Say.LongWords)
}

// units are the printed pieces of the letter, in their order. The end of each ends a
// sentence.
func (s *sheet) units() []string {
	say := s.Say
	units := append([]string{s.Title}, s.Sittings...)
	units = append(units, say.Surgery.Intro)
	add := func(list ...string) {
		for _, text := range list {
			if strings.TrimSpace(text) != "" {
				units = append(units, text)
			}
		}
	}
	if s.Draft {
		add(say.Draft.Word, say.Draft.Says)
	}
	add(say.Headings.Next)
	if len(s.Visits) == 0 {
		add(say.NoVisits)
	} else {
		v := s.Visits[0]
		add(v.Day, v.Title, v.What, v.Status, v.StatusMeans, v.Bounds)
		add(say.Headings.Dates, say.Status.PlannedMeans, say.Status.BookedMeans, say.Labels.Visit, say.Labels.When)
	}
	for _, v := range s.Visits {
		add(v.Title, v.What, v.Status, v.Day, v.Bounds)
	}
	if s.Path.Title != "" {
		add(say.Path.Heading, say.Path.Heals, say.Path.Months)
	}
	if s.Code != nil {
		add(say.Scan.Heading, s.Holds, say.Scan.Says, s.NoScan)
	}
	add(s.CalendarFile, s.CalendarChanges, say.Headings.Closing)
	add(say.Closing...)
	add(say.Headings.Do)
	add(s.Do...)
	add(say.Headings.DoNot, s.Counted)
	if s.Over {
		add(say.Limits.Over)
	}
	for _, l := range s.Limits {
		add(l.Says, l.LastDay, l.FromOn)
		if l.LastDay == "" {
			add(l.Until)
		}
	}
	add(say.Limits.NoDate...)
	add(say.Headings.Normal)
	add(s.Normal...)
	add(say.Headings.SameDay)
	add(s.SameDay...)
	add(say.Headings.Emergency, say.EmergencyCall)
	add(s.Urgent...)
	return units
}
