package web

import (
	"io"
	"maps"
	"mime/multipart"
	"path/filepath"
	"slices"
	"strings"

	"graftclock/internal/graft"
)

// mostKept is how long a chosen file may be, in bytes, to be carried through the sign-in
// page. Records are far shorter; without a limit anybody could have the program pack
// files for them.
const mostKept = 1 << 20

// A file that was chosen in a field is carried as two fields: what it is called and,
// where it is short enough, its bytes, wrapped up.
const (
	namedPrefix = "named."
	keptPrefix  = "kept."
)

// carriedFiles are the files of a form, to be carried.
func carriedFiles(form *multipart.Form) ([]carriedField, error) {
	if form == nil {
		return nil, nil
	}
	var list []carriedField
	for _, field := range slices.Sorted(maps.Keys(form.File)) {
		for _, head := range form.File[field][:1] {
			list = append(list, carriedField{namedPrefix + field, sentName(head)})
			if head.Size > mostKept {
				continue
			}
			data, err := readSent(head)
			if err != nil {
				return nil, err
			}
			text, err := wrapped(data)
			if err != nil {
				return nil, err
			}
			list = append(list, carriedField{keptPrefix + field, text})
		}
	}
	return list, nil
}

// sentName is what a file is called that was sent.
func sentName(head *multipart.FileHeader) string {
	return graft.OneLine(filepath.Base(head.Filename))
}

func readSent(head *multipart.FileHeader) ([]byte, error) {
	file, err := head.Open()
	if err != nil {
		return nil, err
	}
	defer file.Close()
	return io.ReadAll(file)
}

// Typed is what is carried as a person reads it: of a file its name.
func (c carried) Typed() []carriedField {
	var list []carriedField
	for _, f := range c.Fields {
		if strings.HasPrefix(f.Name, keptPrefix) {
			continue
		}
		f.Name = strings.TrimPrefix(f.Name, namedPrefix)
		list = append(list, f)
	}
	return list
}

// Lost are the names of the files that are not carried.
func (c carried) Lost() []string {
	var list []string
	for _, f := range c.Fields {
		field, named := strings.CutPrefix(f.Name, namedPrefix)
		kept := func(k carriedField) bool { return k.Name == keptPrefix+field }
		if named && !slices.ContainsFunc(c.Fields, kept) {
			list = append(list, f.Value)
		}
	}
	return list
}

// carriedFile is the file of a field that came through the sign-in page; no name for none.
// A name alone is that of a file which was too long to keep.
func (q *request) carriedFile(field string) (name string, data []byte, lost bool, err error) {
	name = graft.OneLine(q.PostFormValue(namedPrefix + field))
	text := q.PostFormValue(keptPrefix + field)
	if name == "" || text == "" {
		return name, nil, name != "", nil
	}
	if data, err = unwrapped(text); err != nil {
		err = &graft.Refusal{Kind: graft.Invalid, Message: "the file did not come back whole: choose it again"}
	}
	return name, data, false, err
}
