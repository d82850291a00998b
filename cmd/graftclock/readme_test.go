package main

import (
	"bytes"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"graftclock/internal/cli"
	"graftclock/internal/reference"
)

// TestReadmeSession runs the commands of the README's terminal session and wants
// what it shows; a line of three dots stands for lines left out. With -update
// the lines between a command and its three dots are written anew.
func TestReadmeSession(t *testing.T) {
	t.Chdir(reference.Root())
	data, err := os.ReadFile("README.md")
	if err != nil {
		t.Fatal(err)
	}
	readme := string(data)
	const open, shut = "```console\n", "```\n"
	start := strings.Index(readme, open) + len(open)
	length := strings.Index(readme[start:], shut)
	session := readme[start : start+length]
	var fresh strings.Builder
	for _, part := range strings.Split(session, "$ ")[1:] {
		command, shown, _ := strings.Cut(part, "\n")
		var stdout, stderr bytes.Buffer
		args := strings.Fields(command)
		if code := cli.Main(args[1:], strings.NewReader(""), &stdout, &stderr); args[0] != "graftclock" || code != 0 {
			t.Errorf("%s: exit code %d, %s", command, code, stderr.String())
		}
		fresh.WriteString("$ " + command + "\n" + abridged(stdout.String(), shown))
	}
	if *update {
		if err := os.WriteFile("README.md", []byte(readme[:start]+fresh.String()+readme[start+length:]), 0o644); err != nil {
			t.Fatal(err)
		}
	} else if got := fresh.String(); got != session {
		t.Errorf("the session is now\n%s\nand the README shows\n%s", got, session)
	}
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
