package main

import (
	"errors"
	"flag"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"

	"graftclock/internal/cli"
	"graftclock/internal/reference"
)

var update = flag.Bool("update", false, "rewrite the expected output of scripts and goldens")

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){
		"graftclock": func() { os.Exit(cli.MainAt(scriptClock, os.Args[1:], os.Stdin, os.Stdout, os.Stderr)) },
	})
}

// scriptClock is the clock of a script: what its CLOCK variable says, or the
// machine's.
func scriptClock() time.Time {
	if at, err := time.Parse(time.RFC3339, os.Getenv("CLOCK")); err == nil {
		return at
	}
	return time.Now()
}

func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:                 filepath.Join(reference.Root(), "testdata", "script"),
		UpdateScripts:       *update,
		RequireExplicitExec: true,
		RequireUniqueNames:  true,
		Setup: func(env *testscript.Env) error {
			return os.CopyFS(filepath.Join(env.WorkDir, "demo"), os.DirFS(filepath.Join(reference.Root(), "testdata", "demo")))
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){"exits": exits, "ours": ours},
	})
}

// exits runs a command and wants exactly the given exit code.
func exits(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: exits CODE COMMAND...")
	}
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	got := 0
	var exit *exec.ExitError
	if err := ts.Exec(args[1], args[2:]...); errors.As(err, &exit) {
		got = exit.ExitCode()
	} else if err != nil {
		ts.Fatalf("%v", err)
	}
	if got != want {
		ts.Fatalf("exit code %d, want %d", got, want)
	}
}

// ours wants every named file to be readable by its owner alone.
func ours(ts *testscript.TestScript, neg bool, args []string) {
	for _, name := range args {
		info, err := os.Stat(ts.MkAbs(name))
		ts.Check(err)
		if (info.Mode().Perm()&0o077 == 0) == neg {
			ts.Fatalf("%s has mode %s", name, info.Mode())
		}
	}
}
