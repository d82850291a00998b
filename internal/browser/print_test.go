package browser_test

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"

	"github.com/chromedp/chromedp"

	"graftclock/internal/reference"
)

// printsEveryRow prints a page of lists and wants every row that it holds on the paper,
// also those that are folded away on the screen.
func (p *page) printsEveryRow(path string) {
	p.t.Helper()
	reader := reference.Program(p.t, "pdftotext")
	p.goTo(path)
	rows := run(p, chromedp.Evaluate[[]string](`[...document.querySelectorAll(".lines > li")].map((row) => row.querySelector("a").textContent)`))
	folded := run(p, chromedp.Evaluate[int](`document.querySelectorAll("details:not([open]) .lines > li").length`))
	if len(rows) == 0 || folded == 0 {
		p.t.Fatalf("%d rows, %d of them folded away: nothing is shown by this", len(rows), folded)
	}
	file := filepath.Join(p.t.TempDir(), "printed.pdf")
	data := run(p, chromedp.PrintToPDF(chromedp.PDFPreferCSSPageSize(), chromedp.PDFPaper(chromedp.PaperA4)))
	if err := os.WriteFile(file, data, 0o600); err != nil {
		p.t.Fatal(err)
	}
	text, err := exec.Command(reader, file, "-").Output()
	if err != nil {
		p.t.Fatal(err)
	}
	printed := strings.Join(strings.Fields(string(text)), " ")
	wanted := map[string]int{}
	for _, row := range rows {
		words := strings.Join(strings.Fields(strings.Split(row, ", what settling")[0]), " ")
		if wanted[words]++; strings.Count(printed, words) < wanted[words] {
			p.t.Errorf("%s is printed %d times, and stands on the page more often", words, strings.Count(printed, words))
		}
	}
}
