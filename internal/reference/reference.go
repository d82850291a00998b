// Package reference finds the reference programs that tests compare graftclock
// with: Python, Node and C libraries made by others. Only tests import it.
//
// A test whose reference is absent is skipped under that reference's name. When
// the environment says GRAFTCLOCK_REFERENCES=required it fails instead, so a
// machine that promises to have them all cannot pass by having none.
package reference

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"testing"
)

// Variable is the environment variable that turns a skip into a failure.
const Variable = "GRAFTCLOCK_REFERENCES"

// Missing skips the test with the reference's name, or fails it when references
// are required.
func Missing(t testing.TB, name string, why error) {
	t.Helper()
	message := fmt.Sprintf("reference %s is absent: %v", name, why)
	if os.Getenv(Variable) == "required" {
		t.Fatal(message)
	}
	t.Skip(message)
}

// Root is the top folder of the repository.
func Root() string {
	_, file, _, _ := runtime.Caller(0)
	return filepath.Dir(filepath.Dir(filepath.Dir(file)))
}

// Folder is the folder that holds the reference scripts and, once installed,
// the Node modules they use.
func Folder() string { return filepath.Join(Root(), "testdata", "reference") }

// Program returns the path of a program, or calls Missing.
func Program(t testing.TB, name string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err != nil {
		Missing(t, name, err)
	}
	return path
}

// Python returns a Python interpreter that can import every named module, or
// calls Missing. Debian's own interpreter is tried first, for it is the one
// that sees Debian's packages.
func Python(t testing.TB, modules ...string) string {
	t.Helper()
	var last error = exec.ErrNotFound
	for _, name := range []string{"/usr/bin/python3", "python3"} {
		path, err := exec.LookPath(name)
		if err != nil {
			continue
		}
		program := "import sys"
		for _, module := range modules {
			program += ", " + module
		}
		out, err := exec.Command(path, "-c", program).CombinedOutput()
		if err == nil {
			return path
		}
		last = fmt.Errorf("%s: %w: %s", path, err, out)
	}
	Missing(t, fmt.Sprintf("python3 with %v", modules), last)
	return ""
}

// Node returns the Node interpreter, having seen that every named module is
// installed in Folder, or calls Missing.
func Node(t testing.TB, modules ...string) string {
	t.Helper()
	path := Program(t, "node")
	for _, module := range modules {
		if _, err := os.Stat(filepath.Join(Folder(), "node_modules", module)); err != nil {
			Missing(t, "node module "+module, err)
		}
	}
	return path
}

// Libical compiles the C program source of Folder against libical into a folder
// of the test and returns its path, or calls Missing.
func Libical(t testing.TB, source string) string {
	t.Helper()
	compiler := Program(t, "cc")
	flags, err := exec.Command(Program(t, "pkg-config"), "--cflags", "--libs", "libical").Output()
	if err != nil {
		Missing(t, "libical", err)
	}
	binary := filepath.Join(t.TempDir(), "libical-check")
	script := fmt.Sprintf("exec %q -O2 -o %q %q %s", compiler, binary, filepath.Join(Folder(), source), trimmed(flags))
	if out, err := exec.Command("sh", "-c", script).CombinedOutput(); err != nil {
		t.Fatalf("build %s: %v\n%s", source, err, out)
	}
	return binary
}

func trimmed(flags []byte) string {
	for len(flags) > 0 && flags[len(flags)-1] == '\n' {
		flags = flags[:len(flags)-1]
	}
	return string(flags)
}
