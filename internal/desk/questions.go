package desk

import (
	"fmt"
	"math"
	"strconv"

	"graftclock/internal/graft"
)

// How far the questions of the what-if table go. They are the arithmetic of a
// question that anybody might ask of a plan, and no advice: no rule knows them.
const (
	shorterMM = 2.0 // off the implant's length
	asideMM   = 1.0 // off its axis, either way
)

// question is one change to ask about, as a person reads it and as changes of the
// record.
type question struct {
	says string
	set  []string
	left string // why it is not asked; empty: it is
}

// additives are those of the record format.
var additives = []graft.Additive{graft.NoAdditive, graft.PlateletRichFibrin, graft.RhPDGF, graft.RhBMP2}

// sinusQuestions ask about the graft and the window of the sinus at a path of the
// record.
func sinusQuestions(s graft.Sinus, at string) []question {
	var list []question
	for _, a := range additives {
		if a != s.Graft.Additive {
			list = append(list, question{
				says: fmt.Sprintf("additive %s (recorded: %s)", a, s.Graft.Additive),
				set:  []string{fmt.Sprintf("%s.graft.additive=%s", at, a)},
			})
		}
	}
	return append(list, windowQuestions(s, at)...)
}

// windowQuestions ask what the access window costs: without one, with one half as
// long and half as high about the same middle, and with its lid put back.
func windowQuestions(s graft.Sinus, at string) []question {
	const none, half, lid = "no access window: transcrestal approach, lateral wall whole", "access window half as long and half as high", "lid repositioned: the window counts as wall"
	w := s.Window
	switch {
	case s.Approach == graft.Transcrestal:
		why := "the approach is transcrestal, so there is no window"
		return []question{{says: none, left: why}, {says: half, left: why}, {says: lid, left: why}}
	case w == nil:
		why := "no window was measured; the rules assume one"
		return []question{{says: none, set: []string{at + ".approach=transcrestal"}}, {says: half, left: why}, {says: lid, left: why}}
	}
	whole := question{says: none, set: []string{at + ".approach=transcrestal", at + ".window=none"}}
	if w.LidIsRepositioned {
		why := "recorded so: the window counts as wall already"
		return []question{whole, {says: half, left: why}, {says: lid, left: why}}
	}
	return []question{whole, halved(*w, half, at+".window."), {says: lid, set: []string{at + ".window.lid=repositioned"}}}
}

// halved asks about a window of half the length and half the height.
func halved(w graft.AccessWindow, says, at string) question {
	const half, quarter = 2, 4
	long := w.ToMM - w.FromMM
	from, to := w.FromMM+long/quarter, w.ToMM-long/quarter
	lower, height := w.LowerEdgeMM+w.HeightMM/quarter, w.HeightMM/half
	return question{
		says: fmt.Sprintf("%s: %s to %s mm along the arch, %s to %s mm above the floor", says, mm(from), mm(to), mm(lower), mm(lower+height)),
		set:  []string{at + "from_mm=" + mm(from), at + "to_mm=" + mm(to), at + "lower_edge_above_floor_mm=" + mm(lower), at + "height_mm=" + mm(height)},
	}
}

// implantQuestions ask about the length and the axis of the implant at a path of
// the record.
func implantQuestions(i graft.Implant, at string) []question {
	short := i.LengthMM - shorterMM
	shorter := question{
		says: fmt.Sprintf("implant %s mm long, %s mm shorter", mm(short), mm(shorterMM)),
		set:  []string{at + ".length_mm=" + mm(short)},
	}
	if short <= i.ResidualMM {
		shorter.left = fmt.Sprintf("it would not reach past its %s mm of residual bone", mm(i.ResidualMM))
	}
	list := []question{shorter}
	if i.OffMidlineMM != 0 {
		list = append(list, axis("axis on the mid-line", at, i.OffMidlineMM, 0))
	}
	return append(list,
		axis(fmt.Sprintf("axis %s mm towards the palatal wall", mm(asideMM)), at, i.OffMidlineMM, i.OffMidlineMM-asideMM),
		axis(fmt.Sprintf("axis %s mm towards the lateral wall", mm(asideMM)), at, i.OffMidlineMM, i.OffMidlineMM+asideMM))
}

// axis asks about another place of the axis, in mm from the mid-line.
func axis(says, at string, was, is float64) question {
	return question{
		says: fmt.Sprintf("%s (recorded: %s)", says, offText(was)),
		set:  []string{at + ".off_midline_mm=" + mm(is)},
	}
}

// offText says where an axis stands.
func offText(off float64) string {
	switch {
	case off > 0:
		return mm(off) + " mm lateral of the mid-line"
	case off < 0:
		return mm(-off) + " mm palatal of the mid-line"
	}
	return "on the mid-line"
}

// mm writes a length for people and for the record, without the dust of binary
// fractions.
func mm(v float64) string {
	const dust = 1e6
	return strconv.FormatFloat(math.Round(v*dust)/dust, 'f', -1, 64)
}
