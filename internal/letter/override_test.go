package letter_test

import (
	"bytes"
	"fmt"
	"strings"
	"testing"
	"testing/fstest"

	"graftclock/internal/letter"
	"graftclock/templates"
)

// builtInFile is a file of the program's templates.
func builtInFile(t *testing.T, name string) string {
	t.Helper()
	data, err := templates.Files.ReadFile("letter/" + name)
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}

// spoiledWords is a clinic's folder with the words of a language, one text of them replaced.
func spoiledWords(t *testing.T, folder, from, to string) fstest.MapFS {
	t.Helper()
	return fstest.MapFS{folder + "/words.yaml": replaced(t, folder+"/words.yaml", from, to)}
}

// replaced is a file of the program with one text replaced.
func replaced(t *testing.T, name, from, to string) *fstest.MapFile {
	t.Helper()
	text := builtInFile(t, name)
	if strings.Count(text, from) < 1 {
		t.Fatalf("%s has no %q", name, from)
	}
	return &fstest.MapFile{Data: []byte(strings.Replace(text, from, to, 1))}
}

// lineOf is the line of a file on which a text begins, and the column.
func lineOf(t *testing.T, name, text string) string {
	t.Helper()
	before, _, found := strings.Cut(builtInFile(t, name), text)
	if !found {
		t.Fatalf("%s has no %q", name, text)
	}
	return fmt.Sprintf(":%d:", strings.Count(before, "\n")+1)
}

func pageFrom(t *testing.T, from *letter.Templates, l letter.Letter) string {
	t.Helper()
	f, err := from.Fill(l)
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	if err := f.WriteHTML(&out); err != nil {
		t.Fatal(err)
	}
	return out.String()
}

func TestAClinicsOwnFilesHideThoseOfTheProgram(t *testing.T) {
	const sentence = "Duerma unas noches con la cabeza muy alta, sobre dos almohadas."
	words := builtInFile(t, "es/words.yaml")
	_, list, _ := strings.Cut(words, "\ndo:\n")
	first, _, _ := strings.Cut(list, "\n")
	own := spoiledWords(t, "es", "\ndo:\n"+first+"\n", "\ndo:\n  - "+sentence+"\n")
	own["style.css"] = &fstest.MapFile{Data: []byte("body { color: #000; }\n")}
	own["de/letter.html"] = replaced(t, "letter.html", "<main>", "<main>\n<p>Harbour Row</p>")
	with, faults := letter.BuiltIn().With(own, "own")
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	before := map[string]string{}
	for _, tag := range languages(t) {
		l := inLanguage(simultaneous(), tag, false)
		before[tag] = htmlOf(t, l)
		page := pageFrom(t, with, l)
		if !strings.Contains(page, "<style>\nbody { color: #000; }\n") {
			t.Errorf("%s: not the clinic's style", tag)
		}
		if got := strings.Contains(page, sentence); got != (tag == "es") {
			t.Errorf("%s: the clinic's sentence is there: %v", tag, got)
		}
		if got := strings.Contains(page, "<p>Harbour Row</p>"); got != (tag == "de") {
			t.Errorf("%s: the clinic's layout is used: %v", tag, got)
		}
	}
	own["es/words.yaml"].Data = nil // nothing is read a second time
	if page := pageFrom(t, with, inLanguage(simultaneous(), "es", false)); !strings.Contains(page, sentence) {
		t.Error("the templates read the clinic's folder again")
	}
	for tag, page := range before {
		if htmlOf(t, inLanguage(simultaneous(), tag, false)) != page || strings.Contains(page, sentence) || strings.Contains(page, "color: #000") {
			t.Errorf("%s: the program's own templates have changed", tag)
		}
	}
}

func TestABrokenOwnFileIsNamedWithItsLine(t *testing.T) {
	const es, page, text = "es/words.yaml", "letter.html", "letter.txt"
	sign := "  - id: C1.18\n"
	for _, c := range []struct{ name, file, of, from, to, says string }{
		{"braces that are not closed", page, page, "<h1>{{.Title}}</h1>", "<h1>{{.Title</h1>", "own/letter.html" + lineOf(t, page, "<h1>{{.Title")},
		{"a range without its end", text, text, "{{range .Sittings}}{{.}}\n{{end}}", "{{range .Sittings}}{{.}}\n", "own/letter.txt:"},
		{"a field that is none", page, page, "{{.Counted}}", "{{.Kounted}}", "own/letter.html" + lineOf(t, page, "{{.Counted}}")},
		{"a field that is none, in a language's layout", "es/letter.txt", text, "{{.Counted}}", "{{.Kounted}}", "own/es/letter.txt" + lineOf(t, text, "{{.Counted}}")},
		{"a field that is none, in the letter to the dentist", "referrer.html", "referrer.html", "{{.Referrer.To}}", "{{.Referrer.Whom}}", "own/referrer.html" + lineOf(t, "referrer.html", "{{.Referrer.To}}")},
		{"a function that is none", text, text, "{{heading .Title}}", "{{shout .Title}}", "own/letter.txt" + lineOf(t, text, "{{heading .Title}}")},
		{"an unknown key", es, es, "no_visits:", "no_visit:", "own/es/words.yaml" + lineOf(t, es, "no_visits:")},
		{"a missing key", es, es, "emergency_call:", "# ", "own/es/words.yaml" + lineOf(t, es, "language:") + "1: emergency_call: missing"},
		{"a missing sign", es, es, sign, "", "own/es/words.yaml" + lineOf(t, es, "  - id: C1.1\n") + "3: signs: C1.18 is missing"},
		{"a number to call that is lost", es, es, "{phone}", "555", "{phone}"},
		{"a language other than that of the folder", es, es, "language: es", "language: pt", "own/es/words.yaml:1:1: language: pt; allowed: es"},
	} {
		t.Run(c.name, func(t *testing.T) {
			from, to := c.from, c.to
			if c.from == sign {
				_, last, _ := strings.Cut(builtInFile(t, es), sign)
				last, _, _ = strings.Cut(last, "\n\n")
				from = sign + last
			}
			_, faults := letter.BuiltIn().With(fstest.MapFS{c.file: replaced(t, c.of, from, to)}, "own")
			if len(faults) == 0 || !strings.Contains(faults.Error(), c.says) {
				t.Errorf("got\n%v\nwant a fault that says %q", faults, c.says)
			}
			for _, fault := range faults {
				if fault.Line == 0 || !strings.HasPrefix(fault.File, "own/"+c.file) {
					t.Errorf("a fault without its file and line: %v", fault)
				}
			}
		})
	}
}

func TestAFileThatIsNoTemplateIsTold(t *testing.T) {
	for name, says := range map[string]string{
		"leter.html":         "own/leter.html: no file of the letters; allowed: style.css, LANGUAGE/words.yaml, letter.html",
		"notes.txt":          "own/notes.txt: no file of the letters",
		"es/style.css":       "own/es/style.css: no file of the letters",
		"words.yaml":         "own/words.yaml: no file of the letters",
		"es/old/letter.html": "own/es/old/letter.html: no file of the letters",
		"klingon/words.yaml": "own/klingon: a folder; allowed: a language, such as en or pl",
	} {
		_, faults := letter.BuiltIn().With(fstest.MapFS{name: {Data: []byte("x")}}, "own")
		if !strings.Contains(faults.Error(), says) {
			t.Errorf("%s: got\n%v\nwant %q", name, faults, says)
		}
	}
}

func TestANewLanguageNeedsAllItsWords(t *testing.T) {
	english := builtInFile(t, "en/words.yaml")
	whole := strings.Replace(english, "language: en", "language: nl", 1)
	with, faults := letter.BuiltIn().With(fstest.MapFS{"nl/words.yaml": {Data: []byte(whole)}}, "own")
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	if page := pageFrom(t, with, inLanguage(simultaneous(), "nl", false)); !strings.Contains(page, `<html lang="nl">`) {
		t.Error("no letter in the new language")
	}
	if _, err := letter.BuiltIn().Fill(inLanguage(simultaneous(), "nl", false)); err == nil {
		t.Error("the program's own templates have the clinic's language")
	}
	for name, own := range map[string]fstest.MapFS{
		"a word less": {"nl/words.yaml": {Data: []byte(strings.Replace(whole, "no_visits:", "# ", 1))}},
		"no words":    {"nl/letter.html": {Data: []byte(builtInFile(t, "letter.html"))}},
	} {
		if with, faults := letter.BuiltIn().With(own, "own"); len(faults) == 0 || with != nil || !strings.Contains(faults.Error(), "own/nl/words.yaml") {
			t.Errorf("%s: %v", name, faults)
		}
	}
}
