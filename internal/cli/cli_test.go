package cli

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"go.yaml.in/yaml/v3"

	"graftclock/internal/graft"
	"graftclock/internal/reference"
	"graftclock/internal/table"
)

// TestSchemaAcceptsTheFormats has a JSON Schema validator of others compile the
// schema and look at files of each format; it must also refuse what is wrong.
func TestSchemaAcceptsTheFormats(t *testing.T) {
	data, err := Schema()
	if err != nil {
		t.Fatal(err)
	}
	document, err := jsonschema.UnmarshalJSON(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	compiler := jsonschema.NewCompiler()
	if err := compiler.AddResource("graftclock.json", document); err != nil {
		t.Fatal(err)
	}
	schema, err := compiler.Compile("graftclock.json")
	if err != nil {
		t.Fatal(err)
	}
	demos, err := filepath.Glob(filepath.Join(reference.Root(), "testdata", "demo", "*.yaml"))
	if err != nil || len(demos) < 7 {
		t.Fatalf("%d demo files, %v", len(demos), err)
	}
	for _, path := range demos {
		data, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if err := schema.Validate(plain(t, data)); err != nil {
			t.Errorf("%s: %v", path, err)
		}
	}
	own := "rules: 1\nadopted_by: Dr Alba Quill\nadopted_on: 2026-12-01\nchanges: [{id: staged-uncovering, value: 3mo, reason: test}]\n"
	if err := schema.Validate(plain(t, []byte(own))); err != nil {
		t.Errorf("rule values: %v", err)
	}
	for _, bad := range []string{"record: 1\n", "clinic: 1\n", "rules: 1\n", "nothing: 1\n", strings.Replace(own, "adopted_by", "adoptd_by", 1)} {
		if schema.Validate(plain(t, []byte(bad))) == nil {
			t.Errorf("the schema accepts %q", bad)
		}
	}
}

// plain decodes YAML as an editor hands it to a validator: days stay text.
func plain(t *testing.T, data []byte) any {
	t.Helper()
	var v any
	if err := yaml.Unmarshal(data, &v); err != nil {
		t.Fatal(err)
	}
	text, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	text = bytes.ReplaceAll(text, []byte("T00:00:00Z"), nil)
	v, err = jsonschema.UnmarshalJSON(bytes.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func TestExitCodes(t *testing.T) {
	faults := table.Faults{{File: "a.yaml", Line: 1, Column: 2, Found: "nothing"}}
	refusal := &graft.Refusal{Kind: graft.NotFound, Message: "no rule", Hint: "look"}
	for _, c := range []struct {
		name string
		err  error
		code int
		says string
	}{
		{"done", nil, 0, ""},
		{"fault", io.ErrUnexpectedEOF, 1, "graftclock: error: unexpected EOF\n"},
		{"refusal", fmt.Errorf("rules: %w", refusal), 1, "graftclock: error: rules: no rule\ngraftclock: hint: look\n"},
		{"usage", usagef("what?"), 2, "graftclock: error: what?\ngraftclock: hint: graftclock help tells the commands and flags\n"},
		{"stop finding, printed already", errStopped, 3, ""},
		{"faulty file", faults, 3, "a.yaml:1:2: nothing\n"},
	} {
		t.Run(c.name, func(t *testing.T) {
			var stderr bytes.Buffer
			if code := exitCode(c.err, &stderr); code != c.code || stderr.String() != c.says {
				t.Errorf("exit code %d and %q, want %d and %q", code, stderr.String(), c.code, c.says)
			}
		})
	}
}

func TestProgressIsShownOnATerminalOnly(t *testing.T) {
	b := &batch{results: make(chan result)}
	go func() {
		b.results <- result{path: "a", planned: true}
		b.results <- result{path: "b", err: table.Faults{{File: "b", Found: "a slip"}}}
		b.results <- result{path: "c", err: errors.New("disk")}
		close(b.results)
	}()
	var out, progress bytes.Buffer
	records, err := b.report(&out, &progress, 3)
	if got := progress.String(); records != 3 || got != "\r1 of 3 files\r2 of 3 files\r3 of 3 files\n" {
		t.Errorf("progress %q", got)
	}
	if err == nil || !strings.Contains(out.String(), "3 records: 1 planned (0 with a stop finding), 1 faulty, 1 failed") {
		t.Errorf("%v, %s", err, out.String())
	}
	file, err := os.Create(filepath.Join(t.TempDir(), "log"))
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	if progressOn(file) != io.Discard || progressOn(&out) != io.Discard {
		t.Error("progress would be written to a file")
	}
}

// TestEveryCommandThatATextNamesIsThere looks through all strings of the program
// for "graftclock COMMAND" and wants the command to exist: a hint that names one
// that is not there helps nobody.
func TestEveryCommandThatATextNamesIsThere(t *testing.T) {
	commands := map[string]bool{"help": true, "completion": true}
	for _, c := range newRoot(time.Now).Commands() {
		commands[c.Name()] = true
	}
	named := regexp.MustCompile("(?:\"|`|: |; |, | by |until |first )graftclock ([a-z]+)")
	prose := map[string]bool{"calendar": true, "plans": true} // sentences that begin with the name
	seen := 0
	err := filepath.WalkDir(filepath.Join(reference.Root(), "internal"), func(path string, d fs.DirEntry, err error) error {
		if err != nil || filepath.Ext(path) != ".go" || strings.HasSuffix(path, "_test.go") {
			return err
		}
		file, err := parser.ParseFile(token.NewFileSet(), path, nil, 0)
		if err != nil {
			return err
		}
		ast.Inspect(file, func(n ast.Node) bool {
			text, ok := n.(*ast.BasicLit)
			if !ok || text.Kind != token.STRING {
				return true
			}
			for _, m := range named.FindAllStringSubmatch(text.Value, -1) {
				seen++
				if !commands[m[1]] && !prose[m[1]] {
					t.Errorf("%s: %s names no command", path, m[0])
				}
			}
			return true
		})
		return nil
	})
	if err != nil || seen < 20 {
		t.Errorf("%d places, %v", seen, err)
	}
}
