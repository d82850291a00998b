package evidence

import (
	"strconv"
	"strings"
)

// Reference returns the source as one line of a bibliography: where it was
// published, its title, its numbers and what was seen of it. What is not known
// is left out.
func (s Source) Reference() string {
	parts := []string{s.published(), s.Title, s.numbers(), s.seen()}
	var line []string
	for _, part := range parts {
		if part != "" {
			line = append(line, stopped(part))
		}
	}
	return strings.Join(line, " ")
}

// Status says in words how far the source was read: "read", "read in a
// secondary page", "from memory" or "no source".
func (s Source) Status() string {
	switch s.Read {
	case Abstract, Passage:
		return "read"
	case Secondary:
		return "read in a secondary page"
	case Memory:
		return "from memory"
	default:
		return "no source"
	}
}

// published is "Journal 2017;28:109-115" as far as it is known.
func (s Source) published() string {
	text := s.Journal
	if s.Year != 0 {
		text = strings.TrimSpace(text + " " + strconv.Itoa(s.Year))
	}
	if s.Volume == "" {
		return text
	}
	if s.Year != 0 {
		return text + ";" + s.Volume
	}
	return strings.TrimSpace(text + " " + s.Volume)
}

// numbers lists what finds the source in an index.
func (s Source) numbers() string {
	var list []string
	if s.DOI != "" {
		list = append(list, "doi:"+s.DOI)
	}
	if s.PMID != "" {
		list = append(list, "PMID "+s.PMID)
	}
	if s.PMC != "" {
		list = append(list, s.PMC)
	}
	return strings.Join(list, ", ")
}

// seen is the closing sentence of a reference.
func (s Source) seen() string {
	switch s.Read {
	case Abstract:
		return "Abstract read " + s.ReadOn
	case Passage:
		return "Passage read " + s.ReadOn
	case Secondary:
		return "Read in a secondary page " + s.ReadOn
	case Memory:
		return "From memory, not seen"
	default:
		return "No published source"
	}
}

// stopped ends a part with one full stop, unless it ends a sentence already.
func stopped(part string) string {
	if strings.HasSuffix(part, ".") || strings.HasSuffix(part, "?") {
		return part
	}
	return part + "."
}
