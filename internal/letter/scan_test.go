package letter_test

import (
	"bytes"
	"fmt"
	"image"
	"image/png"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"graftclock/internal/letter"
	"graftclock/internal/reference"
)

// dotsPerInch is the resolution at which the printed pages are read: that of a
// plain office scanner.
const dotsPerInch = "150"

// press prints a page as a browser does, and returns the path of the PDF file.
func press(t *testing.T, page string) string {
	t.Helper()
	return browse(t, page, "page.pdf", "--no-pdf-header-footer", "--print-to-pdf=")
}

// browse has a browser make a file of a page, in a folder that only the owner can
// enter, and returns its path; that ends the last of the settings.
func browse(t *testing.T, page, name string, settings ...string) string {
	t.Helper()
	chromium := reference.Program(t, "chromium")
	folder := t.TempDir()
	if err := os.Chmod(folder, 0o700); err != nil {
		t.Fatal(err)
	}
	html, made := filepath.Join(folder, "page.html"), filepath.Join(folder, name)
	if err := os.WriteFile(html, []byte(page), 0o600); err != nil {
		t.Fatal(err)
	}
	settings[len(settings)-1] += made
	arguments := append([]string{"--headless", "--no-sandbox", "--disable-gpu", "--user-data-dir=" + filepath.Join(folder, "user")}, settings...)
	run(t, exec.CommandContext(t.Context(), chromium, append(arguments, "file://"+html)...))
	return made
}

// sheetsOf counts the sheets that were printed.
func sheetsOf(t *testing.T, pdf string) string {
	t.Helper()
	info := run(t, exec.CommandContext(t.Context(), reference.Program(t, "pdfinfo"), pdf))
	return string(regexp.MustCompile(`(?m)^Pages:.*$`).Find(info))
}

func run(t *testing.T, command *exec.Cmd) []byte {
	t.Helper()
	var out, complaints bytes.Buffer
	command.Stdout, command.Stderr = &out, &complaints
	if err := command.Run(); err != nil {
		t.Fatalf("%s: %v\n%s", command.Path, err, complaints.Bytes())
	}
	return out.Bytes()
}

// entries reads the codes on the sheets up to the last asked for.
func entries(t *testing.T, pdf string, last int) map[string]bool {
	t.Helper()
	stem := strings.TrimSuffix(pdf, ".pdf")
	run(t, exec.CommandContext(t.Context(), reference.Program(t, "pdftoppm"), "-r", dotsPerInch, "-l", strconv.Itoa(last), "-gray", "-png", pdf, stem))
	sheets, err := filepath.Glob(stem + "-*.png")
	if err != nil || len(sheets) != last {
		t.Fatalf("%d sheets, want %d: %v", len(sheets), last, err)
	}
	return scan(t, sheets)
}

// scan reads the codes in images, byte by byte: left to itself the reader guesses the
// script. Each entry is a calendar, so each ends where the next begins.
func scan(t *testing.T, images []string) map[string]bool {
	t.Helper()
	arguments := append([]string{"--nodbus", "--quiet", "--raw", "-Sdisable", "-Sqrcode.enable", "-Sqrcode.binary"}, images...)
	read := string(run(t, exec.CommandContext(t.Context(), reference.Program(t, "zbarimg"), arguments...)))
	found := map[string]bool{}
	for entry := range strings.SplitAfterSeq(read, "END:VCALENDAR\r\n\n") {
		if entry != "" {
			found[strings.TrimSuffix(entry, "\n")] = true
		}
	}
	return found
}

// tight is a letter that fills its first page: a draft with twelve dates.
func tight() letter.Letter {
	l := simultaneous()
	l.Approval = letter.Approval{}
	l.Timeline.Milestones = append(l.Timeline.Milestones, recall("18 months", l.Case.Surgery.Day, 770), recall("24 months", l.Case.Surgery.Day, 950))
	return l
}

func TestPrintedLettersScan(t *testing.T) {
	if testing.Short() {
		t.Skip("starts a browser")
	}
	reference.Program(t, "zbarimg")
	withCode, withoutCode := tight(), tight()
	withCode.NextVisit = scanned().NextVisit
	printed := press(t, htmlOf(t, withCode))
	if diff := cmp.Diff(sheetsOf(t, press(t, htmlOf(t, withoutCode))), sheetsOf(t, printed)); diff != "" {
		t.Errorf("sheets (-without +with the code):\n%s", diff)
	}
	if diff := cmp.Diff(map[string]bool{string(withCode.NextVisit.Entry): true}, entries(t, printed, 1)); diff != "" {
		t.Errorf("usual print (-given +read):\n%s", diff)
	}
	large := largePrint()
	large.NextVisit.Entry = randomEntry(rand.New(rand.NewPCG(4, 300)), 300)
	if diff := cmp.Diff(map[string]bool{string(large.NextVisit.Entry): true}, entries(t, press(t, htmlOf(t, large)), 1)); diff != "" {
		t.Errorf("large print (-given +read):\n%s", diff)
	}
}

// TestLettersOnAScreenScan reads a code as a screen shows it, wide and narrow. A camera
// needs three pixels for each of its 69 modules, as a program does not.
func TestLettersOnAScreenScan(t *testing.T) {
	if testing.Short() {
		t.Skip("starts a browser")
	}
	reference.Program(t, "zbarimg")
	l := scanned()
	l.NextVisit.Entry = randomEntry(rand.New(rand.NewPCG(4, 300)), 300)
	for _, size := range []string{"1200,900", "500,1200"} {
		shown := browse(t, htmlOf(t, l), "screen.png", "--hide-scrollbars", "--window-size="+size, "--screenshot=")
		if diff := cmp.Diff(map[string]bool{string(l.NextVisit.Entry): true}, scan(t, []string{shown})); diff != "" {
			t.Errorf("window of %s (-given +read):\n%s", size, diff)
		}
		if got := black(t, shown); got.Dx() != 69*3 || got.Dy() != 69*3 {
			t.Errorf("window of %s: the code is %v, want 207 pixels each way", size, got)
		}
	}
}

// black returns the smallest rectangle round all that is quite black: nothing but the
// modules of a code is.
func black(t *testing.T, path string) (all image.Rectangle) {
	t.Helper()
	file, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	shown, err := png.Decode(file)
	if err != nil {
		t.Fatal(err)
	}
	for y := range shown.Bounds().Dy() {
		for x := range shown.Bounds().Dx() {
			if r, g, b, _ := shown.At(x, y).RGBA(); r+g+b == 0 {
				all = all.Union(image.Rect(x, y, x+1, y+1))
			}
		}
	}
	return all
}

var (
	drawing = regexp.MustCompile(`(?s)<svg .*?</svg>`)
	styles  = regexp.MustCompile(`(?s)<style>.*?</style>`)
)

// TestRandomEntriesScan cuts the codes out of many letters and prints each on a
// small sheet of its own, at the size it has in the letter.
func TestRandomEntriesScan(t *testing.T) {
	if testing.Short() {
		t.Skip("starts a browser")
	}
	reference.Program(t, "zbarimg")
	random := rand.New(rand.NewPCG(4, 2027))
	given := map[string]bool{}
	var codes strings.Builder
	l := scanned()
	for size := 120; size <= 300; size += 4 {
		l.NextVisit.Entry = randomEntry(random, size)
		given[string(l.NextVisit.Entry)] = true
		codes.WriteString("<div class=\"scan sheet\">" + drawing.FindString(htmlOf(t, l)) + "</div>")
	}
	page := "<!DOCTYPE html><meta charset=\"utf-8\"><title>Codes</title>" + styles.FindString(htmlOf(t, l)) +
		"<style>@page { size: 50mm 50mm; margin: 5mm } .sheet { break-after: page }</style>" + codes.String()
	if diff := cmp.Diff(given, entries(t, press(t, page), len(given))); diff != "" {
		t.Errorf("%d entries (-given +read):\n%s", len(given), diff)
	}
}

// letters are drawn from several scripts, and from what calendars escape.
var letters = []rune("abcdefghijklmnopqrstuvwxyz ABCDEFGHIJ 0123456789 ;,\\:\"'-/&<>éøßžńΑλφάЖщєאבעربيةم歯科医院東京서울ไทย🦷🏥")

// randomEntry makes a calendar of one event that has exactly so many bytes.
func randomEntry(random *rand.Rand, size int) []byte {
	head := fmt.Sprintf("BEGIN:VCALENDAR\r\nVERSION:2.0\r\nBEGIN:VEVENT\r\nDTSTART:2027%02d%02dT%02d3000Z\r\nSUMMARY:",
		1+random.IntN(12), 1+random.IntN(28), 7+random.IntN(10))
	const tail = "\r\nEND:VEVENT\r\nEND:VCALENDAR\r\n"
	entry := []byte(head)
	for room := size - len(head) - len(tail); room > 0; {
		next := letters[random.IntN(len(letters))]
		if text := string(next); len(text) <= room {
			entry, room = append(entry, text...), room-len(text)
		}
	}
	return append(entry, tail...)
}
