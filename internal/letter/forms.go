package letter

import (
	"fmt"
	"html/template"
	"strings"
	"sync"
	texttemplate "text/template"
	"unicode/utf8"

	"graftclock/internal/graft"
	"graftclock/templates"
)

// forms are the words and the two templates of one language, ready to fill.
type forms struct {
	words *wording
	style template.CSS
	html  *template.Template
	text  *texttemplate.Template
}

// folders are the languages that have templates, by BCP 47 tag in lower case.
// Another language needs a folder of its own: nobody gets English by accident.
var folders = map[string]string{"en": "en", "en-gb": "en", "en-ie": "en", "en-us": "en"}

// read holds the forms of each folder, read and parsed when first asked for.
var read = map[string]func() (*forms, error){
	"en": sync.OnceValues(func() (*forms, error) { return readForms("en") }),
}

func formsFor(language string) (*forms, error) {
	folder, ok := folders[strings.ToLower(language)]
	if !ok {
		return nil, &graft.Refusal{
			Kind:    graft.Invalid,
			Message: fmt.Sprintf("the letter has no templates for the language %q", language),
			Hint:    "there are templates for en, en-GB, en-IE and en-US",
		}
	}
	return read[folder]()
}

func readForms(folder string) (*forms, error) {
	var parts [4]string
	for i, name := range []string{"style.css", folder + "/words.yaml", folder + "/letter.html", folder + "/letter.txt"} {
		file, err := templates.Files.ReadFile("letter/" + name)
		if err != nil {
			return nil, fmt.Errorf("read template: %w", err)
		}
		parts[i] = string(file)
	}
	words, err := readWords([]byte(parts[1]))
	if err != nil {
		return nil, fmt.Errorf("read words of %s: %w", folder, err)
	}
	html, err := template.New("letter.html").Parse(parts[2])
	if err != nil {
		return nil, fmt.Errorf("read template: %w", err)
	}
	text, err := texttemplate.New("letter.txt").Funcs(texttemplate.FuncMap{"heading": heading}).Parse(parts[3])
	if err != nil {
		return nil, fmt.Errorf("read template: %w", err)
	}
	return &forms{words: words, style: template.CSS(parts[0]), html: html, text: text}, nil
}

// heading underlines a heading of the text form.
func heading(text string) string {
	return text + "\n" + strings.Repeat("-", min(textWidth, utf8.RuneCountInString(text)))
}
