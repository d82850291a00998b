// Package templates holds the text and layout of what graftclock hands out, as
// files. It decides nothing and reads nothing: the packages that write letters
// and pages do.
package templates

import "embed"

// Files holds the layouts of the letters, letter/*.html, *.txt and style.css, and the
// words of each language, letter/LANGUAGE/words.yaml; and the page of a desk list,
// desk/sheet.html and desk/style.css; and the surgeon's page, report/report.html and
// report/style.css; and the pages of the desk in the browser, web/*.html, with their
// style.css and script.js.
//
//go:embed letter desk report web
var Files embed.FS
