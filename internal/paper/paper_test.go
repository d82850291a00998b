package paper_test

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"graftclock/internal/day"
	"graftclock/internal/drawing"
	"graftclock/internal/paper"
	"graftclock/internal/reference"
)

// plainOptions make A4 pages with nothing at the top.
func plainOptions() paper.Options {
	return paper.Options{Language: "en-GB", Title: "Trial", Created: day.New(2027, time.March, 1)}
}

func write(t testing.TB, s *paper.Sheet) []byte {
	t.Helper()
	var out bytes.Buffer
	if err := s.Write(&out); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// read runs a program of poppler or qpdf over a document; its arguments hold FILE where
// the name of the document belongs.
func read(t testing.TB, pdf []byte, program string, arguments ...string) string {
	t.Helper()
	path := reference.Program(t, program)
	name := filepath.Join(t.TempDir(), "trial.pdf")
	if err := os.WriteFile(name, pdf, 0o600); err != nil {
		t.Fatal(err)
	}
	for i, argument := range arguments {
		arguments[i] = strings.ReplaceAll(argument, "FILE", name)
	}
	out, err := exec.Command(path, arguments...).CombinedOutput()
	if err != nil {
		t.Fatalf("%s: %v\n%s", program, err, out)
	}
	return string(out)
}

func text(t testing.TB, pdf []byte) string { return read(t, pdf, "pdftotext", "-raw", "FILE", "-") }

// words are those of a text, without what parts them.
func words(text string) string { return strings.Join(strings.Fields(text), " ") }

// TestFileIsSound: qpdf finds no fault, neither in the syntax nor in a stream.
func TestFileIsSound(t *testing.T) {
	large := letterOptions()
	large.BodyPT, large.Size, large.Watermark = 18, paper.USLetter, "DRAFT"
	for _, s := range []*paper.Sheet{letter(letterOptions()), letter(large), paper.New(plainOptions())} {
		said := read(t, write(t, s), "qpdf", "--check", "FILE")
		if !strings.Contains(said, "No syntax or stream encoding errors found") || strings.Contains(said, "WARNING") {
			t.Error(said)
		}
	}
}

func TestFontsAreInsideAndCutDown(t *testing.T) {
	pdf := write(t, letter(letterOptions()))
	lines := strings.Split(strings.TrimSpace(read(t, pdf, "pdffonts", "FILE")), "\n")[2:]
	for _, line := range lines {
		if !strings.Contains(line, "CID TrueType") || !strings.Contains(line, "yes yes yes") {
			t.Errorf("font: %s", line)
		}
	}
	if len(lines) != 3 {
		t.Errorf("%d fonts", len(lines))
	}
	const most = 120_000
	if len(pdf) > most {
		t.Errorf("%d bytes", len(pdf))
	}
}

func TestSizesOfPage(t *testing.T) {
	o := plainOptions()
	for size, want := range map[paper.Size]string{paper.A4: "595.28 x 841.89 pts (A4)", paper.USLetter: "612 x 792 pts (letter)"} {
		o.Size = size
		info := read(t, write(t, paper.New(o)), "pdfinfo", "FILE")
		for _, line := range []string{"Page size:       " + want, "Title:           Trial", "Tagged:          yes", "Pages:           1"} {
			if !strings.Contains(info, line) {
				t.Errorf("no %q in\n%s", line, info)
			}
		}
	}
}

func TestSameCallsGiveSameBytes(t *testing.T) {
	want := write(t, letter(letterOptions()))
	var all sync.WaitGroup
	for range 8 {
		all.Go(func() {
			s := letter(letterOptions())
			for range 2 { // writing changes nothing
				var out bytes.Buffer
				if err := s.Write(&out); err != nil || !bytes.Equal(out.Bytes(), want) {
					t.Errorf("another file (%v)", err)
				}
			}
		})
	}
	all.Wait()
	o := letterOptions()
	o.Created = o.Created.AddDays(1)
	if bytes.Equal(write(t, letter(o)), want) {
		t.Error("the day of creation is not in the file")
	}
}

func TestWrongCallsAreErrors(t *testing.T) {
	undated := plainOptions()
	undated.Created = day.Day{}
	crowded := plainOptions()
	for range 60 {
		crowded.Head.Left = append(crowded.Head.Left, []paper.Run{paper.Plain("line")})
	}
	cell := paper.Text(paper.Plain("x"))
	for want, wrong := range map[string]func() *paper.Sheet{
		"no day of creation": func() *paper.Sheet { return paper.New(undated) },
		"leave":              func() *paper.Sheet { return paper.New(crowded) },
		"of level 2 after one of level 0": func() *paper.Sheet {
			s := paper.New(plainOptions())
			s.Heading(2, "First")
			return s
		},
		"of level 3 after one of level 1": func() *paper.Sheet {
			s := paper.New(plainOptions())
			s.Heading(1, "First")
			s.Heading(3, "Second")
			return s
		},
		"row 1 of a table spans 2 columns of 3": func() *paper.Sheet {
			s := paper.New(plainOptions())
			s.Table(paper.Table{Head: []string{"a", "b", "c"}, Rows: [][]paper.Cell{{cell, cell}}})
			return s
		},
		"1 columns of a table with 2 shares": func() *paper.Sheet {
			s := paper.New(plainOptions())
			s.Table(paper.Table{Shares: []float64{1, 1}, Rows: [][]paper.Cell{{cell}}})
			return s
		},
		"beside each other with the shares [1 0]": func() *paper.Sheet {
			s := paper.New(plainOptions())
			s.Beside([]float64{1, 0}, func() {}, func() {})
			return s
		},
		`drawing "d" of 0 mm x 1 mm`: func() *paper.Sheet {
			s := paper.New(plainOptions())
			s.Draw(drawing.Drawing{ID: "d", HeightMM: 1}, 0)
			return s
		},
		"1 blocks beside each other with 2 shares": func() *paper.Sheet {
			s := paper.New(plainOptions())
			s.Beside([]float64{1, 1}, func() {})
			return s
		},
	} {
		var out bytes.Buffer
		if err := wrong().Write(&out); err == nil || !strings.Contains(err.Error(), want) || out.Len() > 0 {
			t.Errorf("%v, and not %q", err, want)
		}
	}
}

func TestNoticeIsTheFontsLicence(t *testing.T) {
	for _, part := range []string{"Bitstream Vera Fonts Copyright", "Arev Fonts Copyright", "DejaVu"} {
		if !strings.Contains(paper.Notice, part) {
			t.Errorf("no %q", part)
		}
	}
}
