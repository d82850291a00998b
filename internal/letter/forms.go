package letter

import (
	"errors"
	"fmt"
	"html/template"
	"io"
	"io/fs"
	"regexp"
	"slices"
	"strconv"
	"strings"
	texttemplate "text/template"
	"unicode/utf8"

	"golang.org/x/text/language"

	"graftclock/internal/table"
	"graftclock/templates"
)

// forms are the words and the layouts of one language, ready to fill.
type forms struct {
	words   *wording
	regions map[string]*wording // the words with the dates of a region, by its code
	style   template.CSS
	pages   *template.Template     // letter.html and referrer.html
	texts   *texttemplate.Template // letter.txt and referrer.txt
}

// The files of a language. The words are its own; a layout may be, and is otherwise the
// one that all languages share. The style is everybody's.
const (
	wordsFile = "words.yaml"
	styleFile = "style.css"
)

var layoutFiles = []string{"letter.html", "letter.txt", "referrer.html", "referrer.txt"}

// program returns the folder of templates that comes with the program.
func program() fs.FS {
	files, err := fs.Sub(templates.Files, "letter")
	if err != nil {
		panic(err) // the folder is part of the program
	}
	return files
}

// layered are folders of templates; a file of an earlier one hides those of later ones.
type layered []fs.FS

// ReadFile reads a file of the first folder that has it.
func (l layered) ReadFile(name string) (data []byte, err error) {
	for _, files := range l {
		if data, err = fs.ReadFile(files, name); !errors.Is(err, fs.ErrNotExist) {
			return data, err
		}
	}
	return data, err
}

// foldersIn lists the languages of a folder of templates, and complains of every file in
// it that is no template.
func foldersIn(files fs.FS, shown string) (folders []string, faults table.Faults) {
	err := fs.WalkDir(files, ".", func(path string, e fs.DirEntry, err error) error {
		folder, name, below := strings.Cut(path, "/")
		switch {
		case err != nil || path == ".":
			return err
		case e.IsDir() && !below:
			folders = append(folders, folder)
			if _, err := language.ParseBase(folder); err != nil {
				faults = append(faults, table.Fault{File: shown + "/" + path, Found: "a folder", Allowed: "a language, such as en or pl"})
			}
		case !isTemplate(folder, name, below):
			faults = append(faults, table.Fault{File: shown + "/" + path, Found: "no file of the letters", Allowed: strings.Join(append([]string{styleFile, "LANGUAGE/" + wordsFile}, layoutFiles...), ", "), Hint: table.DidYouMean(name, layoutFiles)})
		}
		return nil
	})
	if err != nil {
		faults = append(faults, table.Fault{File: shown, Found: err.Error()})
	}
	return folders, faults
}

func isTemplate(first, rest string, below bool) bool {
	if !below {
		return first == styleFile || slices.Contains(layoutFiles, first)
	}
	return rest == wordsFile || slices.Contains(layoutFiles, rest)
}

// whole returns faults as an error.
func whole(f *forms, faults table.Faults) (*forms, error) {
	if len(faults) > 0 {
		return nil, faults
	}
	return f, nil
}

// readForms reads a language and tries its layouts on a letter. Faults name its files as
// shown.
func readForms(files layered, shown, folder string) (*forms, table.Faults) {
	r := formsReader{files: files, shown: shown, folder: folder}
	f := &forms{regions: map[string]*wording{}, style: template.CSS(r.file(styleFile)), pages: template.New(""), texts: texttemplate.New("")}
	name := folder + "/" + wordsFile
	words, faults := readWords(shown+"/"+name, []byte(r.file(name)), model())
	r.faults = append(r.faults, faults...)
	for _, layout := range layoutFiles {
		r.layout(f, layout)
	}
	if len(r.faults) > 0 {
		return nil, r.faults
	}
	if words.Language != folder {
		return nil, table.Faults{{File: shown + "/" + name, Line: 1, Column: 1, Path: "language", Found: words.Language, Allowed: folder}}
	}
	f.words = words
	for region, differs := range words.Regions {
		f.regions[region] = words.inRegion(differs)
	}
	r.try(f)
	return f, r.faults
}

// formsReader gathers the faults of one language's files.
type formsReader struct {
	files         layered
	shown, folder string
	faults        table.Faults
}

func (r *formsReader) file(name string) string {
	data, err := r.files.ReadFile(name)
	if err != nil {
		r.faults = append(r.faults, table.Fault{File: r.shown + "/" + name, Found: cause(err)})
	}
	return string(data)
}

func cause(err error) string {
	var path *fs.PathError
	if errors.As(err, &path) {
		return path.Err.Error()
	}
	return err.Error()
}

// place is where a language's layout is read from: its own folder, or the shared one.
func (r *formsReader) place(layout string) string {
	if _, err := r.files.ReadFile(r.folder + "/" + layout); err == nil {
		return r.folder + "/" + layout
	}
	return layout
}

func (r *formsReader) layout(f *forms, layout string) {
	place := r.place(layout)
	text := r.file(place)
	var err error
	if strings.HasSuffix(layout, ".html") {
		_, err = f.pages.New(layout).Parse(text)
	} else {
		_, err = f.texts.New(layout).Funcs(texttemplate.FuncMap{"heading": heading}).Parse(text)
	}
	r.complain(place, err)
}

// try fills the layouts with a letter, for a name that a layout gets wrong shows only then.
func (r *formsReader) try(f *forms) {
	for _, l := range trials() {
		filled, err := fillAll(l, f, f.words)
		if err != nil {
			r.complain(wordsFile, err)
			continue
		}
		for _, layout := range layoutFiles {
			var err error
			if strings.HasSuffix(layout, ".html") {
				err = f.pages.ExecuteTemplate(io.Discard, layout, filled)
			} else {
				err = f.texts.ExecuteTemplate(io.Discard, layout, filled)
			}
			r.complain(r.place(layout), err)
		}
	}
}

// templateError is how the template packages begin an error: name, line and column.
var templateError = regexp.MustCompile(`^(?:html/)?template: ?[^:]*:(\d+)(?::(\d+))?: `)

// complain turns an error of a layout into a fault with its line.
func (r *formsReader) complain(place string, err error) {
	if err == nil {
		return
	}
	fault := table.Fault{File: r.shown + "/" + place, Line: 1, Column: 1, Found: err.Error()}
	if at := templateError.FindStringSubmatch(err.Error()); at != nil {
		fault.Found = strings.TrimPrefix(err.Error(), at[0])
		fault.Line, _ = strconv.Atoi(at[1])
		if column, err := strconv.Atoi(at[2]); err == nil {
			fault.Column = column
		}
	}
	if !slices.Contains(r.faults, fault) {
		r.faults = append(r.faults, fault)
	}
}

// heading underlines a heading of the text form.
func heading(text string) string {
	return text + "\n" + strings.Repeat("-", min(textWidth, utf8.RuneCountInString(text)))
}

// must panics on an error: of something that is part of the program.
func mustFolders(files fs.FS) []string {
	folders, faults := foldersIn(files, "templates/letter")
	if len(faults) > 0 {
		panic(fmt.Sprint(faults))
	}
	return folders
}
