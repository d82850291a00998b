package cli

import (
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"graftclock/internal/casefile"
	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/protocol"
)

// clockOptions are the facts of one site given on the command line.
type clockOptions struct {
	sources
	residual, height, offMidline string
	widths                       []string
	implant, window              string
	additive, material, placed   string
	approach, lid                string
	surgery                      dayFlag
}

func newClock() *cobra.Command {
	var o clockOptions
	c := &cobra.Command{
		Use:   "clock",
		Short: "Months to full support of one site, without a record",
		Long: `Clock answers between two patients: months until bone holds one implant, the side
that bone reaches last, the band and, with --surgery, the earliest dates by the
rules, before any diary. It lists every assumption it made.

A width needs its level: --width 14@9 is 14 mm wide 9 mm above the sinus floor.`,
		Example: "  graftclock clock --residual 4 --width 14@9 --implant 10x4.1 --additive none --surgery 2027-01-14",
		Args:    cobra.NoArgs,
		RunE:    func(c *cobra.Command, _ []string) error { return o.run(c.OutOrStdout()) },
	}
	f := c.Flags()
	f.StringVar(&o.residual, "residual", "", "residual bone in mm (needed)")
	f.StringArrayVar(&o.widths, "width", nil, "sinus width in mm @ mm above the floor (needed; more than one for a shaped wall)")
	f.StringVar(&o.implant, "implant", "", "length x diameter in mm, such as 10x4.1 (needed)")
	f.StringVar(&o.additive, "additive", "", "biologic: none, platelet-rich fibrin, rhPDGF-BB, rhBMP-2 (needed)")
	f.StringVar(&o.approach, "approach", "lateral window", "lateral window or transcrestal")
	f.StringVar(&o.lid, "lid", "", "removed or repositioned; repositioned counts as wall")
	f.StringVar(&o.offMidline, "off-midline", "", "axis from the mid-line in mm, + towards the lateral wall")
	f.StringVar(&o.height, "graft-height", "", "top of the graft above the floor in mm")
	f.StringVar(&o.material, "material", "xenograft", "graft material")
	f.StringVar(&o.placed, "placed", "with the graft", "with the graft or later")
	f.Var(&o.surgery, "surgery", "day of the surgery")
	f.StringVar(&o.protocol, "protocol", "", "file with the clinic's own rule values")
	return c
}

// run builds a record of one site and asks the protocol about it, so that the
// quick answer can never differ from the full one.
func (o *clockOptions) run(w io.Writer) error {
	for _, needed := range []struct{ flag, value string }{{"--residual", o.residual}, {"--width", strings.Join(o.widths, "")}, {"--implant", o.implant}, {"--additive", o.additive}} {
		if needed.value == "" {
			return usagef("%s is needed", needed.flag)
		}
	}
	site, assumed, err := o.site()
	if err != nil {
		return usageError{err}
	}
	c, faults := casefile.CaseOf("the flags", site)
	if len(faults) > 0 {
		return faults
	}
	rules, err := readRules(o.protocol)
	if err != nil {
		return err
	}
	dayBefore := c.Surgery.Day.AddDays(-1)
	t, err := protocol.Plan(c.Case, rules, dayBefore)
	if err != nil {
		return err
	}
	return o.print(w, t, c.Surgery.Day, assumed, rules.Own())
}

// site is the record of one implant, with what had to be assumed.
func (o *clockOptions) site() (record map[string]any, assumed []string, err error) {
	length, diameter, ok := strings.Cut(o.implant, "x")
	if !ok {
		return nil, nil, fmt.Errorf("--implant %q: want LENGTHxDIAMETER in mm, such as 10x4.1", o.implant)
	}
	var widths []any
	for _, text := range o.widths {
		width, level, ok := strings.Cut(text, "@")
		if !ok {
			return nil, nil, fmt.Errorf("--width %q: want WIDTH@LEVEL, both in mm, such as 14@9: a width without its level is ambiguous", text)
		}
		widths = append(widths, map[string]any{"mm": width, "above_floor_mm": level})
	}
	if len(widths) == 1 {
		assumed = append(assumed, "one width: parallel walls")
	}
	implant := map[string]any{"tooth": "16", "residual_bone_mm": o.residual, "length_mm": length, "diameter_mm": diameter, "placed": o.placed, "closure": "submerged", "restoration": "the site"}
	if o.placed == string(graft.WithTheGraft) {
		implant["insertion_torque_ncm"], implant["loading"] = "not yet", "protected"
		assumed = append(assumed, "placed with the graft: torque, submerged healing and protection from load as the rules ask")
	}
	if o.offMidline != "" {
		implant["off_midline_mm"] = o.offMidline
	} else {
		assumed = append(assumed, "axis on the mid-line")
	}
	sinus := map[string]any{
		"side": "right", "health": "clear", "approach": o.approach, "outcome": "completed", "perforation": "none", "widths": widths,
		"graft": map[string]any{"material": o.material, "additive": o.additive}, "implants": []any{implant},
	}
	assumed = append(assumed, o.wall(sinus, implant)...)
	assumed = append(assumed, "no septum, front wall out of reach", "sinus clear, membrane intact")
	surgery := o.surgery.or(today)
	return map[string]any{
		"record": "1", "case": "clock", "sinuses": []any{sinus},
		"patient": map[string]any{"name": "-", "language": "en", "print": "normal", "calendar_detail": "neutral"},
		"surgery": map[string]any{"day": surgery.String(), "surgeon": "-", "sutures": "removable"},
	}, assumed, nil
}

// wall adds what is known of window, lid and graft height.
func (o *clockOptions) wall(sinus, implant map[string]any) (assumed []string) {
	if o.height != "" {
		sinus["graft"].(map[string]any)["height_mm"] = o.height
	} else {
		assumed = append(assumed, "walls count to any height: the graft's top was not given")
	}
	switch {
	case o.lid == "repositioned":
		// The lid is wall, so the window's own measures do not matter.
		sinus["window"] = map[string]any{"from_mm": "-1", "to_mm": "1", "lower_edge_above_floor_mm": "1", "height_mm": "1", "lid": "repositioned"}
		implant["at_mm"] = "0"
	case o.approach == string(graft.LateralWindow):
		assumed = append(assumed, "a window of usual size (rule window-size)")
	}
	return assumed
}

// listed are the findings that the list of assumptions says already.
var listed = []graft.RuleID{"axis-on-midline", "torque-not-yet", "graft-height-unknown"}

func (o *clockOptions) print(w io.Writer, t graft.Timeline, surgery day.Day, assumed, own []string) error {
	c := t.Implants[0]
	last := "nothing has to form: residual bone and walls hold the whole implant"
	if c.LastAspect != "" {
		last = fmt.Sprintf("%s, %.1f mm above the floor, waiting for the %s", c.LastAspect, c.LastHeightMM, c.WaitsFor)
	}
	fmt.Fprintf(w, "full support   %.2f months (band %.2f to %.2f)\n", c.ToFull, c.BandLow, c.BandHigh)
	fmt.Fprintf(w, "half held      %.2f months; nine tenths %.2f; at once %s %%\n", c.T50, c.T90, strconv.FormatFloat(c.ResidualShare*100, 'f', 0, 64))
	fmt.Fprintf(w, "last           %s\n", last)
	if !o.surgery.IsZero() {
		o.printGates(w, t, surgery)
	}
	fmt.Fprintln(w, "assumed")
	for _, a := range assumed {
		fmt.Fprintf(w, "  %s\n", a)
	}
	for _, o := range own {
		fmt.Fprintf(w, "rule  %s\n", o)
	}
	for _, f := range t.Findings {
		if !slices.Contains(listed, f.Rule) {
			fmt.Fprintf(w, "%-5s %s: %s\n", f.Severity, f.Rule, f.Says)
		}
	}
	fmt.Fprintf(w, "%s\n", desk.Caution)
	if graft.HasStop(t.Findings) {
		return errStopped
	}
	return nil
}

// printGates adds up the waits without any diary: every day is taken as open.
func (o *clockOptions) printGates(w io.Writer, t graft.Timeline, surgery day.Day) {
	for _, m := range desk.Undisturbed(t, surgery) {
		switch m.Step {
		case graft.Placement, graft.Uncovering, graft.FirstLoading:
			fmt.Fprintf(w, "%-14s not before %s\n", m.Step, withWeekday(m.Window.NotBefore))
		}
	}
}
