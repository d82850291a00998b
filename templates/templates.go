// Package templates holds the text and layout of what graftclock hands out, as
// files. It decides nothing and reads nothing: the packages that write letters
// and pages do.
package templates

import "embed"

// Files holds letter/style.css and, by language, letter/LANGUAGE/letter.html,
// letter.txt and words.yaml.
//
//go:embed letter
var Files embed.FS
