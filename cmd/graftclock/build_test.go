package main

import (
	"debug/elf"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"strings"
	"testing"

	"graftclock/internal/reference"
)

// TestBuildsForEveryClinic builds the program without cgo for the machines that
// clinics run. The Linux one must be static: it names no loader.
func TestBuildsForEveryClinic(t *testing.T) {
	if testing.Short() {
		t.Skip("builds the program six times")
	}
	for _, target := range []string{"windows/amd64", "windows/arm64", "darwin/amd64", "darwin/arm64", "linux/amd64", "linux/arm64"} {
		t.Run(target, func(t *testing.T) {
			system, machine, _ := strings.Cut(target, "/")
			binary := filepath.Join(t.TempDir(), "graftclock")
			c := exec.Command("go", "build", "-trimpath", "-ldflags=-s -w", "-o", binary, "./cmd/graftclock")
			c.Dir = reference.Root()
			c.Env = append(os.Environ(), "CGO_ENABLED=0", "GOOS="+system, "GOARCH="+machine)
			if out, err := c.CombinedOutput(); err != nil {
				t.Fatalf("%v\n%s", err, out)
			}
			if system == "linux" {
				static(t, binary)
			}
			if system == runtime.GOOS && machine == runtime.GOARCH {
				hasZones(t, binary)
			}
		})
	}
}

func static(t *testing.T, binary string) {
	t.Helper()
	file, err := elf.Open(binary)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	for _, p := range file.Progs {
		if p.Type == elf.PT_INTERP {
			t.Error("the binary is not static")
		}
	}
}

// hasZones runs the binary where there is no zone data but its own.
func hasZones(t *testing.T, binary string) {
	t.Helper()
	c := exec.Command(binary, "plan", "testdata/demo/fenwick.yaml", "--on", "2027-01-14")
	c.Dir = reference.Root()
	c.Env = []string{"ZONEINFO=/nowhere", "GOROOT=/nowhere"}
	if out, err := c.CombinedOutput(); err != nil {
		t.Errorf("without zone data on the machine: %v\n%s", err, out)
	}
}

// TestVersionNamesTheZoneDataInside compares the release that --version names
// with the one that the Go release ships, which is the one that is embedded.
func TestVersionNamesTheZoneDataInside(t *testing.T) {
	root, err := exec.Command("go", "env", "GOROOT").Output()
	if err != nil {
		t.Fatal(err)
	}
	script, err := os.ReadFile(filepath.Join(strings.TrimSpace(string(root)), "lib", "time", "update.bash"))
	if err != nil {
		t.Skipf("this Go release does not say which zone data it ships: %v", err)
	}
	shipped := regexp.MustCompile(`(?m)^DATA=(\w+)`).FindSubmatch(script)
	if shipped == nil {
		t.Fatal("update.bash names no release")
	}
	out, err := command(t, "--version").Output()
	if err != nil || !strings.Contains(string(out), fmt.Sprintf("zone data  %s (", shipped[1])) {
		t.Errorf("the version is\n%s\nand this Go release ships %s (%v)", out, shipped[1], err)
	}
}
