// Package templates holds the text and layout of what graftclock hands out, as
// files. It decides nothing and reads nothing: the packages that write letters
// and pages do.
package templates

import "embed"

// Files holds letter/style.css and, by language, letter/LANGUAGE/letter.html,
// letter.txt and words.yaml; and the page of a desk list, desk/sheet.html and
// desk/style.css.
//
//go:embed letter desk
var Files embed.FS
