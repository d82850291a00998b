package web

import (
	"bytes"
	"fmt"
	"html/template"
	"io/fs"
	"path"
	"strings"

	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/templates"
)

// pages are the layouts by name. Each is the common frame with its own content.
type pages map[string]*template.Template

// partPrefix begins the names of the files whose definitions every page may use.
const partPrefix = "part-"

// view is what the common frame shows round the content.
type view struct {
	Title  string
	Clinic string
	Phone  string // of the clinic: the same help at the same place on every page
	Who    string
	Role   string
	Here   string // which of the main pages this is
	On     day.Day
	Flash  string   // what was just done
	Banner []string // what is wrong with the clinic's files
	Demo   bool
	Body   any
}

// Caution stands at the foot of every page.
func (view) Caution() string { return desk.Caution }

func parsePages(a assets) (pages, error) {
	files, err := fs.Sub(templates.Files, "web")
	if err != nil {
		return nil, err
	}
	names, err := fs.Glob(files, "*.html")
	if err != nil {
		return nil, err
	}
	frame := template.New("frame").Funcs(helpers(a))
	for _, name := range names {
		if name == "frame.html" || strings.HasPrefix(name, partPrefix) {
			if frame, err = frame.ParseFS(files, name); err != nil {
				return nil, err
			}
		}
	}
	all := pages{}
	for _, name := range names {
		if name == "frame.html" || strings.HasPrefix(name, partPrefix) {
			continue
		}
		page, err := template.Must(frame.Clone()).ParseFS(files, name)
		if err != nil {
			return nil, err
		}
		all[strings.TrimSuffix(path.Base(name), ".html")] = page
	}
	return all, nil
}

// helpers are what a layout may call.
func helpers(a assets) template.FuncMap {
	return template.FuncMap{
		"asset":  func(name string) string { return a[name].address },
		"long":   longDay,
		"span":   longSpan,
		"words":  func(s any) string { return strings.ReplaceAll(fmt.Sprint(s), "-", " ") },
		"title":  func(id graft.MilestoneID) string { return id.Title() },
		"plural": plural,
	}
}

// longDay writes a day with its weekday and the name of its month.
func longDay(d day.Day) string {
	if d.IsZero() {
		return "no day"
	}
	return d.Time().Format("Mon 2 January 2006")
}

// longSpan writes the days from one to another.
func longSpan(from, to day.Day) string {
	if from == to {
		return longDay(from)
	}
	return longDay(from) + " to " + longDay(to)
}

// plural writes a count with its noun.
func plural(n int, one, more string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, more)
}

// show writes a page inside the common frame, whole or not at all.
func (q *request) show(status int, name, title string, body any) error {
	clinic := q.keeper.Clinic
	v := view{
		Title: title, Clinic: clinic.ShortName, Phone: clinic.Phone, Who: q.who.Name, Role: q.who.Role, Here: q.here(), On: q.on,
		Banner: banner(q.rooms), Demo: len(q.s.Demo) > 0, Body: body,
	}
	if q.session {
		v.Flash = q.s.present.told(q.s.sessions.Token(q.Context()))
	}
	return q.write(status, name, "frame.html", v)
}

// part writes a piece of a page alone, for the script to put in place.
func (q *request) part(page, name string, body any) error { return q.write(200, page, name, body) }

func (q *request) write(status int, page, name string, v any) error {
	layout, ok := q.s.pages[page]
	if !ok {
		return fmt.Errorf("web: no page %q", page)
	}
	var text bytes.Buffer
	if err := layout.ExecuteTemplate(&text, name, v); err != nil {
		return fmt.Errorf("web: %s: %w", page, err)
	}
	q.w.Header().Set("Content-Type", "text/html; charset=utf-8")
	q.w.WriteHeader(status)
	q.w.Write(bytes.ToValidUTF8(text.Bytes(), []byte("\ufffd"))) // a form may hold anything; a browser may be gone
	return nil
}

// here is the main page that an address belongs to, for the way round the program.
func (q *request) here() string {
	first, _, _ := strings.Cut(strings.TrimPrefix(q.URL.Path, "/"), "/")
	if first == "" {
		return "morning"
	}
	return first
}

// banner says what is wrong with the clinic's files and since when the pages show
// them as they were.
func banner(r rooms) []string {
	if r.fault == nil {
		return nil
	}
	lines := []string{"The clinic's files have faults. These pages show the clinic as it was read at " + r.since.Format("15:04") + "."}
	return append(lines, strings.Split(r.fault.Error(), "\n")...)
}
