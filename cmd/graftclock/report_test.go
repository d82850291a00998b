package main

import (
	"bytes"
	"path/filepath"
	"testing"

	"graftclock/internal/cli"
	"graftclock/internal/reference"
)

// TestTheSurgeonsPageIsAsApproved compares the page of one demo case with its golden.
func TestTheSurgeonsPageIsAsApproved(t *testing.T) {
	t.Chdir(reference.Root())
	var page, stderr bytes.Buffer
	if code := cli.Main([]string{"report", "testdata/demo/fenwick.yaml", "--on", "2027-01-14"}, nil, &page, &stderr); code != 0 {
		t.Fatalf("exit code %d\n%s", code, stderr.String())
	}
	same(t, filepath.Join("testdata", "golden", "fenwick", "report.html"), withoutVersion(page.Bytes()))
}
