package casefile

import (
	"fmt"
	"slices"
	"strings"

	"graftclock/internal/table"
)

// Record reads the form as the reader of a file would, and puts each fault at its
// part. The text is canonical; with faults there is none.
func (f *Form) Record(name string) (text []byte, c Case, faultless bool) {
	text, c, faults := kept(name, f.value())
	f.place(faults)
	if len(f.Faults()) > 0 {
		return nil, c, false
	}
	return text, c, true
}

// Findings tells the findings that ride along, one line each.
func (f *Form) Findings() []string {
	list, _ := f.findings.([]any)
	shape, _ := fieldOf(record, "findings")
	lines := make([]string, len(list))
	for n, finding := range list {
		lines[n] = strings.Trim(entryOf(shape.Shape).Line(finding), "{}")
	}
	return lines
}

// Faults lists all faults that were put at parts, in the order of the form, and
// before them those of no part.
func (f *Form) Faults() []Told {
	all := slices.Clone(f.Stray)
	var walk func([]*Part)
	walk = func(parts []*Part) {
		for _, p := range parts {
			all = append(all, p.Told...)
			walk(p.Parts)
		}
	}
	walk(f.Parts)
	return all
}

// Overlook drops the faults of what is merely missing: the form is not done yet.
func (f *Form) Overlook() {
	missing := func(t Told) bool { return t.Missing }
	var walk func([]*Part)
	walk = func(parts []*Part) {
		for _, p := range parts {
			p.Told = slices.DeleteFunc(p.Told, missing)
			walk(p.Parts)
		}
	}
	walk(f.Parts)
	f.Stray = slices.DeleteFunc(f.Stray, missing)
}

// Find returns the part at a path; nil for none.
func (f *Form) Find(path string) *Part {
	parts := f.Parts
	for len(parts) > 0 {
		p := parts[0]
		switch {
		case p.Path == path:
			return p
		case strings.HasPrefix(path, p.Path+".") || strings.HasPrefix(path, p.Path+"["):
			parts = p.Parts
		default:
			parts = parts[1:]
		}
	}
	return nil
}

// Value returns what was typed, and what rides along, as maps, lists and words.
func (f *Form) Value() any { return f.value() }

// value returns what was typed as maps, lists and words, and notes the part of each
// path in it.
func (f *Form) value() map[string]any {
	f.places = map[string]*Part{}
	root := map[string]any{}
	for _, p := range f.Parts {
		if v := f.valueOf(p, p.Key); v != nil {
			root[p.Key] = v
		}
	}
	if f.findings != nil {
		root["findings"] = f.findings
	}
	return root
}

// valueOf is the value of a part at a path; nil where nothing was typed and nothing
// is needed.
func (f *Form) valueOf(p *Part, at string) any {
	f.places[at] = p
	switch p.Control {
	case Group:
		m := f.mapOf(p, at)
		if len(m) == 0 && !p.Needed {
			return nil
		}
		return m
	case List:
		return f.listOf(p, at)
	case Ticks:
		var list []any
		for _, word := range p.Typed {
			list = append(list, word)
		}
		if list == nil {
			return nil
		}
		return list
	case Either:
		if m := f.mapOf(p, at); p.Text() == "" && len(m) > 0 {
			return m
		}
	}
	if p.Text() == "" {
		return nil
	}
	return p.Text()
}

func (f *Form) mapOf(p *Part, at string) map[string]any {
	m := map[string]any{}
	for _, below := range p.Parts {
		if v := f.valueOf(below, at+"."+below.Key); v != nil {
			m[below.Key] = v
		}
	}
	return m
}

// listOf leaves out the entries into which nothing was typed, save the first of a
// list that must have one, whose keys are then missed one by one.
func (f *Form) listOf(p *Part, at string) any {
	var list []any
	for n, entry := range p.Parts {
		wanted := p.Needed && p.shape.Least > 0 && n == len(p.Parts)-1 && len(list) == 0
		if entry.Blank() && !wanted {
			continue
		}
		v := f.valueOf(entry, fmt.Sprintf("%s[%d]", at, len(list)))
		if v == nil {
			v = map[string]any{}
		}
		list = append(list, v)
	}
	if list == nil {
		return nil
	}
	return list
}

// place puts faults at their parts, in place of those that stood there.
func (f *Form) place(faults table.Faults) {
	f.Stray = nil
	f.clear(f.Parts)
	for _, t := range slices.Concat(f.own, f.torn(f.Parts), f.told(faults)) {
		if t.Part == nil {
			f.Stray = append(f.Stray, t)
		} else {
			t.Part.Told = append(t.Part.Told, t)
		}
	}
}

func (f *Form) clear(parts []*Part) {
	for _, p := range parts {
		p.Told = nil
		f.clear(p.Parts)
	}
}

// torn tells of a value that is both a word and what stands beside it.
func (f *Form) torn(parts []*Part) []Told {
	var all []Told
	for _, p := range parts {
		all = append(all, f.torn(p.Parts)...)
		if p.Control != Either || p.Text() == "" {
			continue
		}
		for _, below := range p.Parts {
			if !below.Blank() {
				says := fmt.Sprintf("%s, though %s says %s; allowed: one of the two", below.Text(), p.Path, p.Text())
				all = append(all, Told{Part: below, Path: below.Path, Says: says})
			}
		}
	}
	return all
}

// told gives faults of the value their parts.
func (f *Form) told(faults table.Faults) []Told {
	var all []Told
	for _, fault := range faults {
		all = append(all, Told{Part: f.PartOf(fault.Path), Path: fault.Path, Says: says(fault), Missing: fault.Found == "missing"})
	}
	return all
}

// PartOf returns the part of a path in the record that was read, else the nearest above
// it; nil for none.
func (f *Form) PartOf(path string) *Part {
	for ; path != ""; path = path[:max(0, strings.LastIndexAny(path, ".["))] {
		if p := f.places[path]; p != nil {
			return p
		}
	}
	return nil
}
