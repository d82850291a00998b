package caldav

import "strings"

// tag writes an entity tag (RFC 9110 8.8.3) in one way; see Client. What cannot be
// one is "", as if none had been given.
func tag(text string) string {
	text = strings.TrimSpace(text)
	text = strings.TrimPrefix(strings.TrimPrefix(text, "W/"), "w/")
	if inner, ok := strings.CutPrefix(text, `"`); ok {
		text = strings.TrimSuffix(inner, `"`)
	}
	if text == "" || strings.ContainsFunc(text, notOfTag) {
		return ""
	}
	return `"` + text + `"`
}

func notOfTag(r rune) bool { return r <= ' ' || r == '"' || r == 0x7f }
