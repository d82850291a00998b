package web

import (
	"bytes"
	"fmt"
	"html/template"
	"sync/atomic"

	"graftclock/internal/desk"
)

// written are the rows of Morning as they were last written for somebody. A row of the
// board never changes once made, and most of a morning's rows are the same at every
// look, so they are laid out once and not for each of those who look.
type written struct {
	rows atomic.Pointer[map[writtenKey]template.HTML]
}

// writtenKey is what the text of a row depends on.
type writtenKey struct {
	layout string
	row    *desk.Row
	stale  bool
}

// rowWriter writes the rows of one page.
type rowWriter struct {
	layouts *template.Template
	known   map[writtenKey]template.HTML
	used    map[writtenKey]template.HTML
	err     error // the first that came up
}

func (w *written) writer(layouts *template.Template) *rowWriter {
	r := &rowWriter{layouts: layouts, used: map[writtenKey]template.HTML{}}
	if known := w.rows.Load(); known != nil {
		r.known = *known
	}
	return r
}

// keep remembers what a page has used, and forgets the rest.
func (w *written) keep(r *rowWriter) { w.rows.Store(&r.used) }

// write lays out a line as a row of the page.
func (r *rowWriter) write(layout string, line desk.Line, row func(desk.Line) morningRow) template.HTML {
	key := writtenKey{layout, line.Row, line.Stale}
	text, ok := r.known[key]
	if !ok {
		var b bytes.Buffer
		if err := r.layouts.ExecuteTemplate(&b, layout, row(line)); err != nil && r.err == nil {
			r.err = fmt.Errorf("web: morning: %w", err)
		}
		text = template.HTML(b.String()) // written by the same engine, with its escapes
	}
	r.used[key] = text
	return text
}
