package paper_test

import (
	"strings"
	"time"

	"graftclock/internal/day"
	"graftclock/internal/drawing"
	"graftclock/internal/paper"
)

// letterOptions are those of a letter of the invented clinic.
func letterOptions() paper.Options {
	contact := [][]paper.Run{
		{paper.Plain("Clinic"), {Text: "0131 555 0142", Bold: true, Link: "tel:+441315550142"}},
		{paper.Plain("Evenings and weekends"), {Text: "0131 555 0199", Bold: true, Link: "tel:+441315550199"}},
		{paper.Plain("Emergency"), {Text: "999", Bold: true, Link: "tel:999"}},
	}
	return paper.Options{
		Language: "en-GB", Title: "Your visits after the operation", Created: day.New(2027, time.March, 1), LineGap: 1.2, MarginMM: 12,
		Head: paper.Running{
			Left:  [][]paper.Run{{{Text: "Harbour Row", Bold: true, Size: 1.2}}, {paper.Plain("4 Harbour Row")}, {paper.Plain("Leith EH6 0ZZ")}},
			Right: contact,
		},
		Foot: paper.Running{Left: [][]paper.Run{{paper.Strong("Harbour Row"), paper.Plain("  Rules of 1 March 2027")}}},
	}
}

// code is a square of squares, like a square code.
func code() drawing.Drawing {
	d := drawing.Drawing{ID: "code", Title: "Square code", Says: "The next visit for a phone.", WidthMM: 34, HeightMM: 34}
	d.Add(drawing.Path{Points: drawing.Rectangle(0, 0, 34, 34), Closed: true, Fill: drawing.White})
	const side, module = 69, 0.44
	dark := func(x, y int) bool { return x < side && (x*x*7+y*y*13+x*y*5)%11 < 5 }
	for y := range side {
		for x := 0; x < side; x++ {
			from := x
			for dark(x, y) {
				x++
			}
			if x > from {
				d.Add(drawing.Path{Points: drawing.Rectangle(1.8+float64(from)*module, 1.8+float64(y)*module, float64(x-from)*module, module), Closed: true, Fill: drawing.Ink})
			}
		}
	}
	return d
}

func timeline() drawing.Drawing {
	d := drawing.Drawing{ID: "timeline", Title: "Timeline", Says: "From the operation in January to the implant in July.", WidthMM: 180, HeightMM: 24}
	d.Add(drawing.Path{Points: drawing.Rectangle(10, 8, 100, 5), Closed: true, Fill: drawing.Hair})
	d.Add(drawing.Path{Points: drawing.Straight(5, 13, 175, 13), Line: drawing.Line{Tone: drawing.Ink, WidthMM: 0.4}})
	d.Add(drawing.Path{Points: drawing.Straight(60, 4, 60, 16), Line: drawing.Line{Tone: drawing.Accent, WidthMM: 0.5, Dash: []float64{1.2, 0.8}}})
	for i, month := range []string{"January", "March", "May", "July"} {
		d.Add(drawing.Label{At: drawing.Point{X: 10 + float64(i)*50, Y: 20}, Text: month, SizeMM: 3.4, Anchor: drawing.Middle})
	}
	d.Add(drawing.Label{At: drawing.Point{X: 60, Y: 3.4}, Text: "today", SizeMM: 3.2, Anchor: drawing.Middle, Bold: true, Tone: drawing.Accent})
	return d
}

// letter composes two pages much like a patient's letter.
func letter(o paper.Options) *paper.Sheet {
	s := paper.New(o)
	large := o.BodyPT > 14
	s.Heading(1, "Your visits after the operation")
	s.Paragraph(paper.Plain("For "), paper.Strong("Ida Marlow"), paper.Plain("\u00a0\u00a0 Surgeon: Dr Alba Quill\u00a0\u00a0 Written on Monday 1 March 2027"))
	next := func() {
		s.Boxed(paper.Box{Fill: drawing.Wash, BarMM: 2.2}, func() {
			s.Heading(2, "Your next visit")
			s.Large("Thursday 11 March 2027, 9:30")
			s.Paragraph(paper.Strong("Stitches out. "), paper.Plain("Nurse Wyn Tate takes your stitches out. It takes 20 minutes. "), paper.Strong("Booked. "), paper.Plain("We keep this time for you."))
		})
	}
	scan := func() {
		s.Beside([]float64{34, 50}, func() { s.Draw(code(), 34) }, func() {
			s.Heading(2, "Put it in your phone")
			s.Paragraph(paper.Plain("Point the camera of your phone at the square. Or open the file that came with this letter."))
		})
	}
	if large {
		next()
		scan()
	} else {
		s.Beside([]float64{1, 1}, next, scan)
	}
	s.Draw(timeline(), 0)
	s.Heading(2, "All dates")
	rows := [][]paper.Cell{}
	for _, r := range [][3]string{
		{"Stitches out", "Nurse Wyn Tate takes your stitches out.", "Booked. |Thursday 11 March 2027, 9:30"},
		{"Check", "We look at how the bone heals.", "Planned. |in the week of Monday 5 April 2027"},
		{"Picture of the bone", "We take an X-ray picture.", "Planned. |in the week of Monday 28 June 2027"},
		{"Implant", "Dr Alba Quill puts the implant in.", "Planned. |in the week of Monday 12 July 2027"},
		{"Crown", "You get the crown.", "Planned. |in the week of Monday 11 October 2027"},
	} {
		status, when, _ := strings.Cut(r[2], "|")
		rows = append(rows, []paper.Cell{paper.Text(paper.Strong(r[0]), paper.Plain("\n"+r[1])), paper.Text(paper.Plain(status), paper.Strong(when))})
	}
	s.Table(paper.Table{Head: []string{"Visit", "When"}, Shares: []float64{45, 55}, Rows: rows, RowHeads: true, Stacked: large})
	s.Heading(2, "What you can do")
	s.List(paper.Items("Cool your cheek for the first two days.", "Sleep with your head high.", "Eat soft food and chew on the other side.", "Brush your other teeth as always.", "Rinse gently from the second day on.", "Take your medicine as we wrote it down for you.", "Drink enough water."), 2)
	s.Heading(2, "What you must not do yet")
	limits := [][]paper.Cell{}
	for _, r := range [][3]string{{"Blow your nose", "Sunday 28 March 2027", "Monday 29 March 2027"}, {"Fly, dive, play a wind instrument", "Sunday 11 April 2027", "Monday 12 April 2027"}, {"Smoke", "Ask your surgeon.", ""}, {"Lift more than 10 kg", "Sunday 14 March 2027", "Monday 15 March 2027"}, {"Wear your denture", "Ask your surgeon.", ""}} {
		row := []paper.Cell{paper.Text(paper.Plain(r[0])), paper.Text(paper.Plain(r[1])), paper.Text(paper.Plain(r[2]))}
		if r[2] == "" {
			row = row[:2]
			row[1].Span = 2
		}
		limits = append(limits, row)
	}
	s.Table(paper.Table{Head: []string{"Do not", "Last day", "Allowed again from"}, Shares: []float64{37, 32.5, 30.5}, Rows: limits, RowHeads: true, Stacked: large})
	s.Heading(2, "This is normal")
	s.List(paper.Items("A swollen cheek for up to one week.", "A little blood from the nose on the first day.", "Some bruising that moves down.", "A feeling of fullness under the eye."), 2)
	s.Gap(1)
	s.Boxed(paper.Box{Line: drawing.Accent, LineMM: 0.42}, func() {
		s.Heading(2, "Call us on the same day")
		s.List(paper.Items("Fever of 38 °C or more.", "Bleeding that does not stop after 20 minutes of pressure.", "Pain that gets worse after day three.", "Bad taste or pus.", "Grains in the nose.", "Fluid from the nose when you drink."), 2)
	})
	s.Gap(1)
	s.Boxed(paper.Box{Line: drawing.Ink, LineMM: 1.06}, func() {
		s.Heading(2, "Emergency")
		s.Paragraph(paper.Plain("Call "), paper.Run{Text: "999", Bold: true, Size: 1.25, Link: "tel:999"}, paper.Plain(" at once:"))
		s.List(paper.Items("You cannot breathe or swallow well.", "You see double or less.", "A stiff neck with fever.", "Heavy bleeding."), 2)
	})
	return s
}
