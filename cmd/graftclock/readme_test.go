package main

import (
	"bytes"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"graftclock/internal/cli"
	"graftclock/internal/reference"
)

// TestReadmeSessions runs the commands of the README's terminal sessions and wants
// what they show; a line of three dots stands for lines left out. With -update the
// lines between a command and its three dots are written anew. The first session
// runs where the README stands, the others in a copy of the demo folder.
func TestReadmeSessions(t *testing.T) {
	t.Chdir(reference.Root())
	data, err := os.ReadFile("README.md")
	if err != nil {
		t.Fatal(err)
	}
	readme := string(data)
	blocks := regexp.MustCompile("(?s)```console\n(.*?)```\n").FindAllStringSubmatchIndex(readme, -1)
	if len(blocks) != 3 {
		t.Fatalf("%d sessions", len(blocks))
	}
	fresh, copied := "", 0
	for n, block := range blocks {
		if n > 0 {
			demo := t.TempDir()
			if err := os.CopyFS(demo, os.DirFS(filepath.Join(reference.Root(), "testdata", "demo"))); err != nil {
				t.Fatal(err)
			}
			t.Chdir(demo)
		}
		fresh += readme[copied:block[2]] + session(t, readme[block[2]:block[3]])
		copied = block[3]
	}
	fresh += readme[copied:]
	if *update {
		if err := os.WriteFile(filepath.Join(reference.Root(), "README.md"), []byte(fresh), 0o644); err != nil {
			t.Fatal(err)
		}
	} else if fresh != readme {
		t.Errorf("the README does not show what its sessions print now: %s", cmp.Diff(readme, fresh))
	}
}

// session runs the commands of one session and returns it as it is now.
func session(t *testing.T, shown string) string {
	t.Helper()
	morning := func() time.Time { return time.Date(2027, time.January, 26, 8, 30, 0, 0, time.UTC) }
	var fresh strings.Builder
	for _, part := range strings.Split(shown, "$ ")[1:] {
		command, output, _ := strings.Cut(part, "\n")
		var stdout, stderr bytes.Buffer
		args := words(command)
		if code := cli.MainAt(morning, args[1:], strings.NewReader(""), &stdout, &stderr); args[0] != "graftclock" || code != 0 {
			t.Errorf("%s: exit code %d, %s", command, code, stderr.String())
		}
		fresh.WriteString("$ " + command + "\n" + abridged(stdout.String(), output))
	}
	return fresh.String()
}

// words splits a command as a shell does, so far as the README needs it.
func words(command string) []string {
	var list []string
	for _, m := range regexp.MustCompile(`"([^"]*)"|(\S+)`).FindAllStringSubmatch(command, -1) {
		list = append(list, m[1]+m[2])
	}
	return list
}

// shownLines is how much of a long output the README shows.
const shownLines = 14

func abridged(output, shown string) string {
	lines := strings.SplitAfter(output, "\n")
	keep := strings.Count(shown, "\n")
	if i := strings.Index(shown, "...\n"); i >= 0 {
		keep = strings.Count(shown[:i], "\n")
	} else if shown == "" {
		keep = shownLines
	}
	if len(lines)-1 <= keep {
		return output
	}
	return strings.Join(lines[:keep], "") + "...\n"
}

// TestReadmeHasTwoSetUpCommands holds the README to its promise, and CI to the
// second of the two.
func TestReadmeHasTwoSetUpCommands(t *testing.T) {
	readme, err := os.ReadFile(filepath.Join(reference.Root(), "README.md"))
	if err != nil {
		t.Fatal(err)
	}
	blocks := regexp.MustCompile("(?s)```sh\n(.*?)```").FindAllStringSubmatch(string(readme), -1)
	if len(blocks) != 2 || strings.Count(blocks[0][1], "\n") != 1 || strings.Count(blocks[1][1], "\n") != 1 {
		t.Fatalf("want two blocks of one command each, got %q", blocks)
	}
	ci, err := os.ReadFile(filepath.Join(reference.Root(), ".ci", "run"))
	if err != nil {
		t.Fatal(err)
	}
	if want := "#!/bin/sh\n" + blocks[1][1]; string(ci) != want {
		t.Errorf(".ci/run is %q, want %q", ci, want)
	}
	root := t.TempDir()
	t.Chdir(reference.Root())
	args := strings.Fields(strings.Replace(blocks[0][1], "--out out", "--out "+filepath.Join(root, "out"), 1))
	var stdout, stderr bytes.Buffer
	if code := cli.Main(args[3:], strings.NewReader(""), &stdout, &stderr); strings.Join(args[:3], " ") != "go run ./cmd/graftclock" || code != 0 {
		t.Errorf("%s: exit code %d, %s", blocks[0][1], code, stderr.String())
	}
}
