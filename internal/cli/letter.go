package cli

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime/debug"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"graftclock/internal/desk"
	"graftclock/internal/graft"
)

// letterOptions are the flags of graftclock letter.
type letterOptions struct {
	sources
	to, language string
	formats      []string
	large        bool
	all, reading bool
	out          string
	now          func() time.Time
}

// both is the reader who stands for all readers of letters.
const both = "both"

func newLetter(now func() time.Time) *cobra.Command {
	o := letterOptions{now: now}
	c := &cobra.Command{
		Use:   "letter RECORD|FOLDER|CASE",
		Short: "Write the letter to the patient or to the referring dentist",
		Long: `Letter writes the letter that the patient takes home, in the language and the print
of the record, or the short one to the dentist who sent the patient (--to referrer).

Without --out it prints the letter as text or, with --format, as HTML or as PDF into a
file or a pipe. With --out it writes letter.html, letter.txt and letter.pdf, and
timeline.json, which says whose folder it is. --lang and --large make another letter
beside the patient's own, under a name of its own.

With a folder it writes the letters of every record in it, with --all those of every
case of the ledger, each into a folder of its own below --out; a bad record never
stops the rest.

--reading prints instead how easy the letter is to read, by the published formulas of
its language, with the counts behind each score.

A letter is a draft until a surgeon approves the revision of a case in the ledger. While
a stop finding stands, or something booked has to be settled, none is written.

Exit codes: 0 done, 1 fault or refusal, 2 usage, 3 stop finding or faulty file.`,
		Example: "  graftclock letter testdata/demo/fenwick.yaml --on 2027-01-14 --lang es --large --out out",
		Args:    cobra.MaximumNArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			as, err := o.as()
			if err != nil {
				return err
			}
			return o.run(c, args, as)
		},
	}
	o.flags(c)
	c.Flags().StringVar(&o.to, "to", string(desk.ToPatient), "who reads it: patient, referrer or both")
	c.Flags().StringVar(&o.language, "lang", "", "language of the letter, such as es or en-US (default: the patient's)")
	c.Flags().BoolVar(&o.large, "large", false, "in large print, whatever the record says")
	c.Flags().StringSliceVar(&o.formats, "format", nil, "html, text, pdf (default: text; with --out all)")
	c.Flags().BoolVar(&o.all, "all", false, "the letters of every case of the ledger")
	c.Flags().BoolVar(&o.reading, "reading", false, "print how easy the letter is to read")
	c.Flags().StringVar(&o.out, "out", "", "folder to write the files to; without it one letter is printed")
	return c
}

// as reads the flags that say how the letter is wanted.
func (o *letterOptions) as() (desk.LetterAs, error) {
	as := desk.LetterAs{Language: o.language, Large: o.large}
	switch o.to {
	case string(desk.ToPatient), string(desk.ToReferrer):
		as.To = []desk.Reader{desk.Reader(o.to)}
	case both:
		as.To = []desk.Reader{desk.ToPatient, desk.ToReferrer}
	default:
		return as, usagef("--to %q; allowed: %s, %s, %s", o.to, desk.ToPatient, desk.ToReferrer, both)
	}
	for _, name := range o.formats {
		if !slices.Contains(desk.Formats, desk.Format(name)) {
			return as, usagef("--format %q; allowed: html, text, pdf", name)
		}
		as.Formats = append(as.Formats, desk.Format(name))
	}
	return as, nil
}

func (o *letterOptions) run(c *cobra.Command, args []string, as desk.LetterAs) error {
	many := o.all
	if len(args) == 1 {
		info, err := os.Stat(args[0])
		many = many || err == nil && info.IsDir()
	}
	switch {
	case o.all == (len(args) == 1):
		return usagef("name a record, a folder or a case, or say --all for every case of the ledger")
	case many && (o.out == "" || o.reading):
		return usagef("several letters are written with --out")
	case !many && o.out == "" && (len(as.Formats) > 1 || len(as.To) > 1):
		return usagef("several letters are written with --out; without it one is printed")
	case o.all:
		return o.ledger(c, as)
	case many:
		return o.folder(c, args[0], as)
	case namesCase(args[0]):
		return withCase(o.sources, o.now, args[0], func(k *desk.Keeper, live desk.Live) error {
			return o.one(c.OutOrStdout(), k.Desk, live.Plan, as, func(as desk.LetterAs) (desk.Outputs, error) {
				_, out, err := k.GiveLetters(live.Kept.Case, live.Timeline.On, o.now(), as)
				return out, err
			})
		})
	}
	d, p, err := o.planOf(args[0])
	if err != nil {
		return err
	}
	return o.one(c.OutOrStdout(), d, p, as, func(as desk.LetterAs) (desk.Outputs, error) { return d.Letters(p, as) })
}

// one prints or writes the letters of one plan. Printed or written, a letter is given out.
func (o *letterOptions) one(w io.Writer, d *desk.Desk, p desk.Plan, as desk.LetterAs, give func(desk.LetterAs) (desk.Outputs, error)) error {
	if o.reading {
		return printReading(w, d, p, as)
	}
	if o.out == "" && len(as.Formats) == 0 {
		as.Formats = []desk.Format{desk.Text}
	}
	if o.out == "" {
		return printLetter(w, as, give)
	}
	outputs, err := give(as)
	if err != nil {
		return err
	}
	sweep(filepath.Dir(o.out))
	files, err := save(o.out, p.Case.ID, outputs, true)
	if err != nil {
		return err
	}
	printSaved(w, files, outputs.Held)
	if p.Stopped() || len(outputs.Held) > 0 {
		return errStopped
	}
	return nil
}

// printLetter prints one letter in one format.
func printLetter(w io.Writer, as desk.LetterAs, give func(desk.LetterAs) (desk.Outputs, error)) error {
	if as.Formats[0] == desk.PDF && isTerminal(w) {
		return &graft.Refusal{Kind: graft.Invalid, Message: "a PDF is nothing for a terminal", Hint: "name a folder with --out, or send it into a file"}
	}
	outputs, err := give(as)
	if err != nil {
		return err
	}
	if len(outputs.Held) > 0 {
		return &graft.Refusal{Kind: graft.Invalid, Message: "no letter: " + outputs.Held[0].Why}
	}
	_, err = w.Write(outputs.Files[0].Data)
	return err
}

// printReading prints the scores of the patient's letter with the counts behind them.
func printReading(w io.Writer, d *desk.Desk, p desk.Plan, as desk.LetterAs) error {
	filled, why, err := d.FillLetter(p, desk.ToPatient, as)
	if err != nil {
		return err
	}
	if why != "" {
		return &graft.Refusal{Kind: graft.Invalid, Message: "no letter: " + why}
	}
	score, err := filled.Reading()
	if err != nil {
		return err
	}
	fmt.Fprintf(w, "The letter in %s, measured as a whole and without the words it cannot do without.\n\n", score.Language)
	rows := [][]string{{"", "WHOLE", "WITHOUT"}}
	whole, without := score.Whole.Counts, score.Without.Counts
	for _, row := range []struct {
		name           string
		whole, without int
	}{
		{"words", whole.Words, without.Words}, {"sentences", whole.Sentences, without.Sentences},
		{"syllables", whole.Syllables, without.Syllables}, {"words of 3 syllables or more", whole.ThreeSyllables, without.ThreeSyllables},
		{"words of more than 6 letters", whole.LongWords, without.LongWords},
	} {
		rows = append(rows, []string{row.name, fmt.Sprint(row.whole), fmt.Sprint(row.without)})
	}
	for _, r := range score.Whole.Results {
		other, _ := score.Without.Result(r.Name)
		rows = append(rows, []string{r.Name, fmt.Sprintf("%.1f (%s)", r.Value, r.Band), fmt.Sprintf("%.1f (%s)", other.Value, other.Band)})
	}
	printTable(w, rows)
	var met []string
	for _, m := range score.Exempt {
		if m.Times > 0 {
			met = append(met, fmt.Sprintf("%s %d", m.Word, m.Times))
		}
	}
	fmt.Fprintf(w, "\nWords it cannot do without, with how often they stand in it: %s.\n", orElse(strings.Join(met, ", "), "none"))
	verdict := "not met"
	if score.Easy() {
		verdict = "met"
	}
	fmt.Fprintf(w, "Target: %s: %s (%s).\n\n", score.Target.Says(), verdict, score.Target.Why)
	for _, r := range score.Whole.Results {
		fmt.Fprintf(w, "%s: %s\n", r.Name, r.Source)
	}
	return nil
}

// folder writes the letters of every record of a folder.
func (o *letterOptions) folder(c *cobra.Command, folder string, as desk.LetterAs) error {
	paths, err := yamlIn(folder)
	if err != nil {
		return err
	}
	d, err := o.desk(folder)
	if err != nil {
		return err
	}
	records, err := runRecords(c, paths, folderRun{d, o.on.or(today), o.out, true, func(d *desk.Desk, p desk.Plan) (desk.Outputs, error) { return d.Letters(p, as) }})
	if records == 0 && err == nil {
		return noRecord(folder)
	}
	return err
}

// ledger writes the letters of every case of the ledger.
func (o *letterOptions) ledger(c *cobra.Command, as desk.LetterAs) error {
	f := keeperFlags{sources: o.sources, now: o.now}
	return f.with(func(k *desk.Keeper) error {
		all, err := k.All(f.day())
		if err != nil {
			return err
		}
		var ids []string
		for _, live := range all {
			ids = append(ids, string(live.Kept.Case))
		}
		sweep(o.out)
		defer debug.SetGCPercent(debug.SetGCPercent(batchGC))
		b := &batch{out: o.out, letters: true, results: make(chan result)}
		b.one = func(id string) result {
			live, outputs, err := k.GiveLetters(graft.CaseID(id), f.day(), o.now(), as)
			r := result{path: id, plan: live.Plan, planned: err == nil, err: err}
			if err != nil {
				return r
			}
			return b.keep(r, fileName(id), live.Case.ID, outputs)
		}
		go b.run(ids)
		_, err = b.report(c.OutOrStdout(), progressOn(c.ErrOrStderr()), len(ids))
		return err
	})
}

// fileName is a case number as the name of a folder: what a file system may not take, and
// the dots of a name that is not one, are underscores.
func fileName(id string) string {
	name := strings.Map(func(r rune) rune {
		if strings.ContainsRune(`/\:*?"<>|`, r) || r < ' ' {
			return '_'
		}
		return r
	}, id)
	if strings.Trim(name, ".") == "" {
		return strings.Repeat("_", len(name))
	}
	return name
}
