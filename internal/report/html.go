package report

import (
	"bytes"
	"html/template"
	"io"
	"sync"

	"graftclock/templates"
)

// form is the layout of the page with its style.
type form struct {
	layout *template.Template
	style  template.CSS
}

// pageForm parses the embedded layout once.
var pageForm = sync.OnceValues(func() (form, error) {
	style, err := templates.Files.ReadFile("report/style.css")
	if err != nil {
		return form{}, err
	}
	layout, err := template.New("report.html").Option("missingkey=error").ParseFS(templates.Files, "report/report.html")
	return form{layout, template.CSS(style)}, err
})

// WriteHTML writes the page as one file that needs nothing from outside and runs no
// script. Reasons can be folded on a screen and are open on paper.
func (f Filled) WriteHTML(w io.Writer) error {
	form, err := pageForm()
	if err != nil {
		return err
	}
	var b bytes.Buffer
	err = form.layout.Execute(&b, struct {
		page
		Style template.CSS
	}{f.page, form.style})
	if err != nil {
		return err
	}
	_, err = w.Write(b.Bytes())
	return err
}
