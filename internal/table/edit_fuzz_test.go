package table_test

import (
	"bytes"
	"testing"

	"graftclock/internal/table"
)

// FuzzChangesOfAText changes texts of all kinds, YAML or not: what comes back says what
// was asked for to a reader who knows nothing of the change, and putting what is there
// already changes nothing.
func FuzzChangesOfAText(f *testing.F) {
	for _, seed := range []string{
		"shelf: a\nbooks: [{title: x}] # mine\n", "shelf: a\nbooks:\n  - title: x\n    kinds:\n    - old\n", "{\"shelf\": \"a\", \"books\": []}",
		"shelf: >-\n  a\n  b\nbooks: [\n  {title: x}, # first\n]\n", "\ufeffshelf: 'a''b'\r\nbooks:\r\n-\r\n  title: \"x\\\"\"\r\n", "? shelf\n: a\n", "shelf: &a b\nlast: *a\n", "shelf: a\u2028books: [ ]\u0085", "0", "[a, {b: c}]", "days: 3\nbooks: {a: b}\n",
	} {
		f.Add([]byte(seed), "it's: \"a\" #b")
	}
	f.Fuzz(func(t *testing.T, data []byte, text string) {
		read := func(data []byte) *table.Value { return table.Read("f", data, shelfFile) }
		before := read(data)
		faulty := len(before.Faults()) > 0
		if out, err := shelfFile.Put(data, "shelf", text); err == nil && !faulty {
			if v := read(out); len(v.Faults()) == 0 && v.Get("shelf").Text() != text {
				t.Errorf("put %q, got %q", text, v.Get("shelf").Text())
			}
		}
		if out, err := shelfFile.Append(data, "books", map[string]any{"title": text, "kinds": []any{text, "b"}}); err == nil && !faulty {
			books := read(out).Get("books").Items()
			if v := read(out); len(v.Faults()) == 0 && (len(books) != len(before.Get("books").Items())+1 || books[len(books)-1].Get("title").Text() != text) {
				t.Errorf("appended %q to\n%q\ngot\n%q", text, data, out)
			}
			if n := len(books); n > 0 && len(read(out).Faults()) == 0 {
				if _, err := shelfFile.Remove(out, "books[0]"); err == nil {
					shelfFile.Remove(out, "books[0].kinds[0]")
				}
			}
		}
		if out, err := shelfFile.Put(data, "shelf", before.Get("shelf").Text()); err == nil && !faulty && !bytes.Equal(out, data) {
			t.Errorf("put what is there already:\n%q\nbecame\n%q", data, out)
		}
		for _, path := range []string{"note", "books[0]", "books[0].pages", "books[1]", "days.lent", "last", "shelf"} {
			shelfFile.Remove(data, path)
			shelfFile.Put(data, path, text)
			shelfFile.PutAfter(data, path, "shelf", text)
			shelfFile.Rename(data, path, text)
		}
	})
}
