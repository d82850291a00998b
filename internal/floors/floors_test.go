// Package floors holds the import policy of the house. This is policy: it is not
// edited to make a build pass.
package floors_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"graftclock/internal/reference"
)

// floors places every package; a package imports only lower floors. Rooms on
// one floor never import each other.
var floors = map[string]int{
	"internal/day":       0,
	"templates":          0,
	"internal/graft":     1,
	"internal/table":     1,
	"internal/drawing":   1,
	"internal/reading":   1,
	"internal/password":  1,
	"internal/names":     1,
	"internal/growth":    2,
	"internal/paper":     2,
	"internal/clinic":    2,
	"internal/evidence":  2,
	"internal/ledger":    2,
	"internal/protocol":  3,
	"internal/diary":     3,
	"internal/casefile":  4,
	"internal/ics":       4,
	"internal/letter":    4,
	"internal/report":    4,
	"internal/sqlite":    4,
	"internal/sheet":     4,
	"internal/post":      4,
	"internal/caldav":    4,
	"internal/desk":      5,
	"internal/web":       6,
	"internal/demo":      6,
	"internal/cli":       7,
	"cmd/graftclock":     8,
	"internal/floors":    9, // tests only
	"internal/reference": 9, // imported by tests only

	"internal/desk/storetest":        9,  // imported by tests only
	"internal/reference/axe":         10, // imported by tests only
	"internal/reference/icalread":    10, // imported by tests only
	"internal/reference/thunderbird": 10, // imported by tests only
	"internal/reference/radicale":    10, // imported by tests only
	"internal/reference/smtpd":       10, // imported by tests only
	ownModule:                        10, // tests only
}

// ownModule is a package of tests that has libraries which the program's module does
// not have. It may import whatever stands below it; nothing imports it.
const ownModule = "internal/browser"

// third are the libraries a package may use besides the standard library.
var third = map[string][]string{
	"internal/table":    {"go.yaml.in/yaml/v3"},
	"internal/evidence": {"go.yaml.in/yaml/v3"},
	"internal/casefile": {"go.yaml.in/yaml/v3"},
	"internal/letter":   {"go.yaml.in/yaml/v3", "github.com/boombuler/barcode", "golang.org/x/text"},
	"internal/paper":    {"codeberg.org/go-pdf/fpdf", "github.com/go-fonts/dejavu", "golang.org/x/text"},
	"internal/clinic":   {"github.com/rickar/cal/v2", "github.com/arran4/golang-ical", "github.com/teambition/rrule-go"},
	"internal/post":     {"github.com/wneessen/go-mail"},
	"internal/ics":      {"github.com/arran4/golang-ical"},
	"internal/sqlite":   {"modernc.org/sqlite"},
	"internal/password": {"golang.org/x/crypto"},
	"internal/names":    {"golang.org/x/text"},
	"internal/web":      {"github.com/alexedwards/scs/v2", "golang.org/x/time"},
	"internal/cli":      {"github.com/spf13/cobra", "go.yaml.in/yaml/v3", "golang.org/x/sys"},

	ownModule:                     {"github.com/chromedp/chromedp", "github.com/chromedp/cdproto"},
	"internal/desk/storetest":     {"github.com/google/go-cmp"},
	"internal/reference/icalread": {"github.com/google/go-cmp", "github.com/arran4/golang-ical", "github.com/teambition/rrule-go"},
}

// clockFloor is the first floor that may ask the machine's clock: command line
// and web.
const clockFloor = 6

// source is one parsed Go file of the repository.
type source struct {
	path, pkg string
	test      bool
	file      *ast.File
	set       *token.FileSet
}

// sources parses every Go file that belongs to a package. Walking and parsing
// here, instead of asking the go command, keeps the test's cached result honest:
// the files it opened are known to the cache.
func sources(t *testing.T) []source {
	t.Helper()
	root := reference.Root()
	var all []source
	err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() {
			if name := d.Name(); path != root && (strings.HasPrefix(name, ".") || name == "testdata" || name == "node_modules") {
				return filepath.SkipDir
			}
			return nil
		}
		if filepath.Ext(path) != ".go" {
			return nil
		}
		set := token.NewFileSet()
		file, err := parser.ParseFile(set, path, nil, parser.ParseComments)
		if err != nil {
			return err
		}
		for _, group := range file.Comments {
			if group.Pos() < file.Package && strings.HasPrefix(group.List[0].Text, "//go:build ignore") {
				return nil // a generator: no package of the program
			}
		}
		relative, _ := filepath.Rel(root, path)
		pkg := filepath.ToSlash(filepath.Dir(relative))
		all = append(all, source{filepath.ToSlash(relative), pkg, strings.HasSuffix(path, "_test.go"), file, set})
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if len(all) < len(floors) {
		t.Fatalf("found %d files only", len(all))
	}
	return all
}

func TestPackagesImportOnlyLowerFloors(t *testing.T) {
	seen := map[string]bool{}
	for _, s := range sources(t) {
		floor, placed := floors[s.pkg]
		if !placed {
			t.Errorf("%s: package %s stands on no floor", s.path, s.pkg)
			continue
		}
		seen[s.pkg] = true
		if s.test && s.pkg != ownModule {
			continue
		}
		for _, spec := range s.file.Imports {
			path, _ := strconv.Unquote(spec.Path.Value)
			if inside, ours := strings.CutPrefix(path, "graftclock/"); ours {
				if below, known := floors[inside]; !known || below >= floor {
					t.Errorf("%s: %s (floor %d) imports %s (floor %d)", s.path, s.pkg, floor, inside, below)
				}
			} else if strings.Contains(strings.Split(path, "/")[0], ".") && !allowed(s.pkg, path) {
				t.Errorf("%s: %s imports %s, which is not agreed for it", s.path, s.pkg, path)
			}
		}
	}
	for pkg := range floors {
		if !seen[pkg] {
			t.Errorf("the floor of %s is kept for a package that is not there", pkg)
		}
	}
}

func allowed(pkg, path string) bool {
	return slices.ContainsFunc(third[pkg], func(module string) bool { return path == module || strings.HasPrefix(path, module+"/") })
}

func TestOnlyTheFacesAskTheClock(t *testing.T) {
	for _, s := range sources(t) {
		if s.test || floors[s.pkg] >= clockFloor {
			continue
		}
		ast.Inspect(s.file, func(n ast.Node) bool {
			if sel, ok := n.(*ast.SelectorExpr); ok {
				if x, ok := sel.X.(*ast.Ident); ok && x.Name == "time" && slices.Contains([]string{"Now", "Since", "Until", "Local"}, sel.Sel.Name) {
					t.Errorf("%s: time.%s: the day of planning is an argument", s.set.Position(n.Pos()), sel.Sel.Name)
				}
			}
			return true
		})
	}
}

func TestLibraryPackagesNeitherPrintNorExit(t *testing.T) {
	forbidden := map[string][]string{"fmt": {"Print", "Println", "Printf"}, "os": {"Exit", "Stdout", "Stderr", "Stdin"}, "log": {"Print", "Println", "Printf", "Fatal", "Fatalf"}}
	for _, s := range sources(t) {
		if s.test || floors[s.pkg] > floors["internal/desk"] {
			continue
		}
		ast.Inspect(s.file, func(n ast.Node) bool {
			if sel, ok := n.(*ast.SelectorExpr); ok {
				if x, ok := sel.X.(*ast.Ident); ok && slices.Contains(forbidden[x.Name], sel.Sel.Name) {
					t.Errorf("%s: %s.%s in a library package", s.set.Position(n.Pos()), x.Name, sel.Sel.Name)
				}
			}
			return true
		})
	}
}

// doors are the packages that may reach a network, each only where somebody asks
// for it: to mail a patient, to look at or fill a calendar on a server. The
// libraries they use must not be reached any other way.
var doors = []string{"internal/post", "internal/caldav"}

// answering are the packages that answer browsers of the clinic. They may take what
// comes in, and reach nobody by themselves.
var answering = []string{"internal/web", "internal/cli"}

// reaching are the names by which a program of net or net/http goes out.
var reaching = map[string]*regexp.Regexp{
	"net":  regexp.MustCompile(`^(Dial|Dialer$|Resolver$|DefaultResolver$|Lookup)`),
	"http": regexp.MustCompile(`^(Get|Head|Post|PostForm|Client|DefaultClient|Transport|DefaultTransport|NewRequest|NewRequestWithContext)$`),
}

// doorWay reports whether an import opens a network.
func doorWay(path string) bool {
	return path == "net" || strings.HasPrefix(path, "net/") && path != "net/url" || strings.HasPrefix(path, "github.com/wneessen/go-mail")
}

// TestNothingElseLeavesTheMachine holds the README to its word: no other package of
// the program can reach a network by itself.
func TestNothingElseLeavesTheMachine(t *testing.T) {
	open := map[string]bool{}
	for _, s := range sources(t) {
		for _, spec := range s.file.Imports {
			path, _ := strconv.Unquote(spec.Path.Value)
			if s.test || !doorWay(path) {
				continue
			}
			if open[s.pkg] = true; !slices.Contains(doors, s.pkg) && !slices.Contains(answering, s.pkg) {
				t.Errorf("%s imports %s", s.path, path)
			}
		}
		if !s.test && slices.Contains(answering, s.pkg) {
			reachesOut(t, s)
		}
	}
	for _, door := range doors {
		if !open[door] {
			t.Errorf("%s may reach a network and does not", door)
		}
	}
}

// reachesOut complains of a package that answers browsers and calls somebody too.
func reachesOut(t *testing.T, s source) {
	t.Helper()
	ast.Inspect(s.file, func(n ast.Node) bool {
		if sel, ok := n.(*ast.SelectorExpr); ok {
			if x, ok := sel.X.(*ast.Ident); ok && reaching[x.Name] != nil && reaching[x.Name].MatchString(sel.Sel.Name) {
				t.Errorf("%s: %s.%s reaches out", s.set.Position(sel.Pos()), x.Name, sel.Sel.Name)
			}
		}
		return true
	})
}

// TestNoClinicalNumberInCode fails on a number in the packages that compute:
// a clinical number belongs into the rules, with its source. Numbers up to 2,
// and the named constants of a file tolerance.go, are arithmetic.
func TestNoClinicalNumberInCode(t *testing.T) {
	arithmetic := map[string]string{
		"10":  "nine tenths, the name of a share in the timeline format",
		"9.0": "nine tenths, the name of a share in the timeline format",
		"64":  "bits of a floating-point number",
		"12":  "hexadecimal digits of the rules' hash",
		"1e4": "bound of what can be a number of a rule at all",
	}
	used := map[string]bool{}
	for _, s := range sources(t) {
		if s.test || s.pkg != "internal/growth" && s.pkg != "internal/protocol" || filepath.Base(s.path) == "tolerance.go" {
			continue
		}
		ast.Inspect(s.file, func(n ast.Node) bool {
			literal, ok := n.(*ast.BasicLit)
			if !ok || literal.Kind != token.INT && literal.Kind != token.FLOAT {
				return true
			}
			value, err := strconv.ParseFloat(literal.Value, 64)
			if _, ours := arithmetic[literal.Value]; ours && s.pkg == "internal/protocol" {
				used[literal.Value] = true
			} else if err != nil || value > 2 || value != float64(int(value)) {
				t.Errorf("%s: the number %s: put it into the rules, or into tolerance.go if it is arithmetic", s.set.Position(n.Pos()), literal.Value)
			}
			return true
		})
	}
	for number, why := range arithmetic {
		if !used[number] {
			t.Errorf("the exception %s (%s) is not needed any more", number, why)
		}
	}
}

func TestEveryPackageAndExportedNameIsDocumented(t *testing.T) {
	documented := map[string]bool{}
	for _, s := range sources(t) {
		if s.test {
			continue
		}
		if s.file.Doc != nil {
			documented[s.pkg] = true
		} else if !documented[s.pkg] {
			documented[s.pkg] = false
		}
		for _, d := range s.file.Decls {
			undocumented(t, s, d)
		}
	}
	for pkg, ok := range documented {
		if !ok {
			t.Errorf("package %s has no comment", pkg)
		}
	}
}

func undocumented(t *testing.T, s source, d ast.Decl) {
	t.Helper()
	switch d := d.(type) {
	case *ast.FuncDecl:
		if d.Name.IsExported() && d.Doc == nil && exportedReceiver(d) {
			t.Errorf("%s: %s has no comment", s.set.Position(d.Pos()), d.Name.Name)
		}
	case *ast.GenDecl:
		for _, spec := range d.Specs {
			switch spec := spec.(type) {
			case *ast.TypeSpec:
				if spec.Name.IsExported() && d.Doc == nil && spec.Doc == nil {
					t.Errorf("%s: %s has no comment", s.set.Position(spec.Pos()), spec.Name.Name)
				}
			case *ast.ValueSpec:
				if spec.Names[0].IsExported() && d.Doc == nil && spec.Doc == nil && spec.Comment == nil {
					t.Errorf("%s: %s has no comment", s.set.Position(spec.Pos()), spec.Names[0].Name)
				}
			}
		}
	}
}

// exportedReceiver reports whether a function is no method, or one of an
// exported type.
func exportedReceiver(d *ast.FuncDecl) bool {
	if d.Recv == nil {
		return true
	}
	receiver := d.Recv.List[0].Type
	if star, ok := receiver.(*ast.StarExpr); ok {
		receiver = star.X
	}
	name, ok := receiver.(*ast.Ident)
	return ok && name.IsExported()
}

// TestTopLevelHoldsOnlyWhatTheLayoutNames keeps the first thing a newcomer sees
// small.
func TestTopLevelHoldsOnlyWhatTheLayoutNames(t *testing.T) {
	layout := []string{"cmd", "internal", "templates", "testdata", "README.md", "DEVELOPERS.md", "go.mod", "go.sum", "out"}
	entries, err := os.ReadDir(reference.Root())
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		if !strings.HasPrefix(e.Name(), ".") && !slices.Contains(layout, e.Name()) {
			t.Errorf("%s does not belong to the top level", e.Name())
		}
	}
}
