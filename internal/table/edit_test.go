package table_test

import (
	"strings"
	"testing"

	"graftclock/internal/table"
)

// shelfFile is a small format to change texts of.
var shelfFile = table.Map("",
	table.Must("shelf", table.Text("")),
	table.May("open", table.Bool("")),
	table.May("note", table.Text("")),
	table.May("books", table.List("", 0, table.Map("",
		table.Must("title", table.Text("")),
		table.May("pages", table.Whole("", "pages", 1, 900)),
		table.May("kinds", table.List("", 0, table.Text("")))))),
	table.May("days", table.Map("", table.May("lent", table.Whole("", "days", 1, 90)), table.May("kept", table.Whole("", "days", 1, 90)))),
	table.May("last", table.Text("")))

func book(title string) map[string]any { return map[string]any{"title": title} }

func TestChangesOfATextTouchNothingElse(t *testing.T) {
	put := func(path string, value any) func([]byte) ([]byte, error) {
		return func(data []byte) ([]byte, error) { return shelfFile.Put(data, path, value) }
	}
	add := func(path string, value any) func([]byte) ([]byte, error) {
		return func(data []byte) ([]byte, error) { return shelfFile.Append(data, path, value) }
	}
	remove := func(path string) func([]byte) ([]byte, error) {
		return func(data []byte) ([]byte, error) { return shelfFile.Remove(data, path) }
	}
	for _, c := range []struct {
		name     string
		was      string
		change   func([]byte) ([]byte, error)
		want     string
		refusing string // instead of want
	}{
		{name: "append on one line", was: "shelf: a\nbooks: [{title: x}] # mine\n", change: add("books", book("u")), want: "shelf: a\nbooks: [{title: x}, {title: u}] # mine\n"},
		{name: "append to an empty list", was: "shelf: a\nbooks: [] # none\n", change: add("books", book("u")), want: "shelf: a\nbooks: [{title: u}] # none\n"},
		{name: "append to an empty list with a comment in it", was: "shelf: a\nbooks: [\n  # none yet\n]\n", change: add("books", book("u")), want: "shelf: a\nbooks: [{title: u}\n  # none yet\n]\n"},
		{name: "append before a comma that ends the list", was: "shelf: a\nbooks: [{title: x}, ]\n", change: add("books", book("u")), want: "shelf: a\nbooks: [{title: x}, {title: u} ]\n"},
		{name: "append, one a line between brackets", was: "shelf: a\nbooks: [\n  {title: x}, # first\n  {title: y}  # second\n]\n", change: add("books", book("z")),
			want: "shelf: a\nbooks: [\n  {title: x}, # first\n  {title: y},  # second\n  {title: z}\n]\n"},
		{name: "append, one a line, the last with its comma", was: "shelf: a\nbooks: [\n  {title: x}, # first\n]\n", change: add("books", book("z")),
			want: "shelf: a\nbooks: [\n  {title: x}, # first\n  {title: z},\n]\n"},
		{name: "append a block entry", was: "shelf: a\nbooks:\n  - title: x\n    pages: 3 # or four\n# the end\nlast: b\n", change: add("books", book("u")),
			want: "shelf: a\nbooks:\n  - title: x\n    pages: 3 # or four\n  - title: u\n# the end\nlast: b\n"},
		{name: "append after a flow entry on a line", was: "shelf: a\nbooks:\n- {title: x}\nlast: b\n", change: add("books", book("u")), want: "shelf: a\nbooks:\n- {title: x}\n- {title: u}\nlast: b\n"},
		{name: "append at an end without a break", was: "shelf: a\nbooks:\n- {title: x}", change: add("books", book("u")), want: "shelf: a\nbooks:\n- {title: x}\n- {title: u}"},
		{name: "append with another computer's breaks", was: "shelf: a\r\nbooks:\r\n- {title: x}\r\nlast: b\r\n", change: add("books", book("u")), want: "shelf: a\r\nbooks:\r\n- {title: x}\r\n- {title: u}\r\nlast: b\r\n"},
		{name: "append after a text that spans lines", was: "shelf: a\nbooks:\n  - title: >-\n      long\n      text\n\nlast: b\n", change: add("books", book("u")),
			want: "shelf: a\nbooks:\n  - title: >-\n      long\n      text\n  - title: u\n\nlast: b\n"},
		{name: "append after a plain text that spans lines", was: "shelf: a\nbooks:\n  - title: long\n      text\nlast: b\n", change: add("books", book("u")),
			want: "shelf: a\nbooks:\n  - title: long\n      text\n  - title: u\nlast: b\n"},
		{name: "begin a list", was: "shelf: a # name\n\n# lending\ndays: {lent: 3}\n", change: add("books", book("u")), want: "shelf: a # name\nbooks:\n  - {title: u}\n\n# lending\ndays: {lent: 3}\n"},
		{name: "begin a list in an entry on one line", was: "shelf: a\nbooks: [{title: x, pages: 3}]\n", change: add("books[0].kinds", "old"), want: "shelf: a\nbooks: [{title: x, pages: 3, kinds: [old]}]\n"},
		{name: "begin a list in a block entry", was: "shelf: a\nbooks:\n  - title: x\n    pages: 3\n", change: add("books[0].kinds", "old"), want: "shelf: a\nbooks:\n  - title: x\n    pages: 3\n    kinds: [old]\n"},
		{name: "a text that closes a bracket", was: "shelf: a\nbooks: [{title: 'it''s ] here, # not'}]\n", change: add("books", book("u")), want: "shelf: a\nbooks: [{title: 'it''s ] here, # not'}, {title: u}]\n"},
		{name: "a text with quotation marks", was: "shelf: a\nbooks: [{title: \"a \\\" ] b\"}]\n", change: add("books", book("u")), want: "shelf: a\nbooks: [{title: \"a \\\" ] b\"}, {title: u}]\n"},
		{name: "letters beyond ASCII before the place", was: "shelf: ä\nbooks: [{title: Größe}, {title: 本}]\n", change: add("books", book("u")), want: "shelf: ä\nbooks: [{title: Größe}, {title: 本}, {title: u}]\n"},
		{name: "a mark at the file's start", was: "\ufeffshelf: a\nbooks: [{title: x}]\n", change: put("shelf", "b"), want: "\ufeffshelf: b\nbooks: [{title: x}]\n"},
		{name: "a strange break in a comment", was: "shelf: a # x\u2028last: b\nbooks: [{title: x}]\n", change: add("books", book("u")), want: "shelf: a # x\u2028last: b\nbooks: [{title: x}, {title: u}]\n"},
		{name: "a file between brackets", was: "{\"shelf\": \"a\", \"last\": \"b\"}\n", change: add("books", book("u")), want: "{\"shelf\": \"a\", books: [{title: u}], \"last\": \"b\"}\n"},

		{name: "remove the first on one line", was: "shelf: a\nbooks: [{title: x}, {title: y}] # mine\n", change: remove("books[0]"), want: "shelf: a\nbooks: [{title: y}] # mine\n"},
		{name: "remove the last on one line", was: "shelf: a\nbooks: [{title: x}, {title: y}]\n", change: remove("books[1]"), want: "shelf: a\nbooks: [{title: x}]\n"},
		{name: "remove the only one", was: "shelf: a\nbooks: [{title: x}] # mine\n", change: remove("books[0]"), want: "shelf: a\nbooks: [] # mine\n"},
		{name: "remove the last before a comma", was: "shelf: a\nbooks: [{title: x}, {title: y}, ]\n", change: remove("books[1]"), want: "shelf: a\nbooks: [{title: x}, ]\n"},
		{name: "remove a line between brackets with its comment", was: "shelf: a\nbooks: [\n  {title: x}, # first\n  {title: y}, # second\n  {title: z}  # third\n]\n", change: remove("books[1]"),
			want: "shelf: a\nbooks: [\n  {title: x}, # first\n  {title: z}  # third\n]\n"},
		{name: "remove the last line between brackets", was: "shelf: a\nbooks: [\n  {title: x}, # first\n  {title: y}  # second\n]\n", change: remove("books[1]"),
			want: "shelf: a\nbooks: [\n  {title: x} # first\n]\n"},
		{name: "remove the first before a comment", was: "shelf: a\nbooks: [{title: x}, # first\n  {title: y}]\n", change: remove("books[0]"), want: "shelf: a\nbooks: [ # first\n  {title: y}]\n"},
		{name: "remove a block entry", was: "shelf: a\nbooks:\n  # of old\n  - title: x\n    pages: 3 # or so\n  - title: y # new\nlast: b\n", change: remove("books[0]"),
			want: "shelf: a\nbooks:\n  # of old\n  - title: y # new\nlast: b\n"},
		{name: "remove a block entry with its dash alone", was: "shelf: a\nbooks:\n  -\n    title: x\n  - # a-b\n    title: y\nlast: b\n", change: remove("books[1]"),
			want: "shelf: a\nbooks:\n  -\n    title: x\nlast: b\n"},
		{name: "remove the only block entry", was: "shelf: a\nbooks: # mine\n  # of old\n  - title: x\nlast: b\n", change: remove("books[0]"), want: "shelf: a\nbooks: [] # mine\n  # of old\nlast: b\n"},
		{name: "remove a key", was: "shelf: a\nnote: b # why\n# on\nlast: c\n", change: remove("note"), want: "shelf: a\n# on\nlast: c\n"},
		{name: "remove a key between brackets", was: "shelf: a\ndays: {lent: 3, kept: 4}\n", change: remove("days.lent"), want: "shelf: a\ndays: {kept: 4}\n"},
		{name: "remove the last key between brackets", was: "shelf: a\ndays: {lent: 3, kept: 4}\n", change: remove("days.kept"), want: "shelf: a\ndays: {lent: 3}\n"},
		{name: "remove the only key of a map", was: "shelf: a\ndays: # of lending\n  lent: 3\nlast: b\n", change: remove("days.lent"), want: "shelf: a\ndays: {} # of lending\nlast: b\n"},
		{name: "remove what is not there", was: "shelf: a\n", change: remove("note"), refusing: "it is not there"},
		{name: "remove an entry that is not there", was: "shelf: a\nbooks: [{title: x}]\n", change: remove("books[1]"), refusing: "books[1] is not there"},
		{name: "remove the key that leads its entry", was: "shelf: a\nbooks:\n  - pages: 3\n    title: x\n", change: remove("books[0].pages"), refusing: "something else stands first"},

		{name: "put another text", was: "shelf: 'a' # name\nlast: b\n", change: put("shelf", "c"), want: "shelf: c # name\nlast: b\n"},
		{name: "put the same", was: "shelf: 'a' # name\nlast: b\n", change: put("shelf", "a"), want: "shelf: 'a' # name\nlast: b\n"},
		{name: "put a list in place of lines", was: "shelf: a\nbooks:\n  - title: x\n    kinds: # of book\n      - old\n      - torn\n    # so far\nlast: b\n", change: put("books[0].kinds", []any{"new"}),
			want: "shelf: a\nbooks:\n  - title: x\n    kinds: [new] # of book\n    # so far\nlast: b\n"},
		{name: "put a key in its place", was: "shelf: a\nlast: b\n", change: put("note", "c"), want: "shelf: a\nnote: c\nlast: b\n"},
		{name: "put a key before all", was: "# mine\nlast: b\n", change: put("shelf", "c"), want: "# mine\nshelf: c\nlast: b\n"},
		{name: "put a key of a map that is not there", was: "shelf: a\nlast: b\n", change: put("days.lent", "3"), want: "shelf: a\ndays:\n  lent: 3\nlast: b\n"},
		{name: "put a key of an empty map", was: "shelf: a\ndays: {} # none\n", change: put("days.lent", "3"), want: "shelf: a\ndays: {lent: 3} # none\n"},
		{name: "behind a text that counts its empty lines", was: "shelf: a\nnote: |+\n  b\n\nlast: c\n", change: add("books", book("u")), refusing: "change it by hand"},
		{name: "anchors", was: "shelf: &a b\nlast: *a\n", change: put("note", "c"), refusing: "anchors"},
		{name: "no YAML", was: "shelf: [\n", change: put("note", "c"), refusing: "no YAML"},
		{name: "a key of what is no map", was: "shelf: a\ndays: 3\n", change: put("days.lent", "4"), refusing: "days has no keys"},
		{name: "a key of a file that is none", was: "a\n", change: put("shelf", "4"), refusing: "the file has no keys"},
		{name: "no path", was: "shelf: a\n", change: put("days[", "c"), refusing: "is no path"},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, err := c.change([]byte(c.was))
			switch {
			case c.refusing != "" && (err == nil || !strings.Contains(err.Error(), c.refusing)):
				t.Errorf("got %q, %v; want a refusal that says %q", got, err, c.refusing)
			case c.refusing == "" && (err != nil || string(got) != c.want):
				t.Errorf("%v\ngot\n%s\nwant\n%s", err, got, c.want)
			}
		})
	}
}
