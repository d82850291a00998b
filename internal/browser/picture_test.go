package browser_test

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"

	"github.com/chromedp/chromedp"

	"graftclock/internal/reference"
)

// pictures is where every page is kept as it looked, to be looked at by a person.
func pictures() string { return filepath.Join(os.TempDir(), "graftclock-pages") }

// picture keeps the whole page as it looks in the window of a width.
func (p *page) picture(name string, width int64) {
	p.t.Helper()
	p.size(width)
	const lossless = 100
	p.keep(fmt.Sprintf("%s-%d.png", name, width), run(p, chromedp.FullScreenshot(lossless)))
}

// printed keeps the first sheet of the page as a printer sets it.
func (p *page) printed(name string) {
	p.t.Helper()
	rasterer := reference.Program(p.t, "pdftoppm")
	p.keep(name+".pdf", run(p, chromedp.PrintToPDF(chromedp.PDFPreferCSSPageSize(), chromedp.PDFPaper(chromedp.PaperA4))))
	file := filepath.Join(pictures(), name)
	if out, err := exec.Command(rasterer, "-png", "-r", "60", "-singlefile", file+".pdf", file+"-print").CombinedOutput(); err != nil {
		p.t.Fatalf("%v\n%s", err, out)
	}
	os.Remove(file + ".pdf")
}

func (p *page) keep(name string, data []byte) {
	p.t.Helper()
	if err := os.MkdirAll(pictures(), 0o700); err != nil {
		p.t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(pictures(), name), data, 0o600); err != nil {
		p.t.Fatal(err)
	}
}
