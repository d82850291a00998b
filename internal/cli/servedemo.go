package cli

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"graftclock/internal/demo"
	"graftclock/internal/sqlite"
)

// demoSeed makes every demonstration of one day the same.
const demoSeed = 2041

// demonstrate serves an invented clinic in a folder of its own, which is thrown away
// at the end.
func (s *serving) demonstrate(ctx context.Context, stdout, stderr io.Writer) (err error) {
	folder, err := os.MkdirTemp("", "graftclock-demo-")
	if err != nil {
		return fmt.Errorf("the demonstration's folder: %w", err)
	}
	defer func() { err = errors.Join(err, os.RemoveAll(folder)) }()
	fmt.Fprintln(stdout, "Making a year of an invented clinic, which takes some seconds ...")
	made, err := demo.Make(folder, s.now(), demoSeed, demoPassword())
	if err != nil {
		return err
	}
	s.clinic, s.protocol = made.Clinic, ""
	store, err := sqlite.Open(made.Ledger)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, store.Close()) }()
	says := demoWords(made)
	for _, line := range says {
		fmt.Fprintln(stdout, line)
	}
	return s.open(ctx, &houseFiles{sources: &s.sources}, store, says, stdout, stderr)
}

// demoPassword is one of its own for each demonstration, short enough to type.
func demoPassword() string {
	const letters, group = 12, 4
	text := strings.ToLower(rand.Text()[:letters])
	return text[:group] + " " + text[group:2*group] + " " + text[2*group:]
}

// demoWords tell who may sign in. The password is no secret: only this machine reaches
// the demonstration, and everybody in it is invented.
func demoWords(made *demo.Made) []string {
	var people []string
	for _, p := range made.People {
		people = append(people, p.Name+" ("+p.Role+")")
	}
	says := []string{
		"A demonstration: everybody in it is invented, and it is thrown away at the end.",
		"Sign in as one of: " + strings.Join(people, ", ") + ".",
		"The password of all of them: " + made.Password,
	}
	return says
}
