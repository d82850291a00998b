package cli

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"graftclock/internal/reference"
)

// TestNoPDFGoesToATerminal gives the program one end of a terminal to print to, and
// the device that drops what it gets.
func TestNoPDFGoesToATerminal(t *testing.T) {
	record := filepath.Join(reference.Root(), "testdata", "demo", "doyle.yaml")
	for _, c := range []struct {
		device, says string
		code         int
	}{{"/dev/ptmx", "a PDF is nothing for a terminal", exitFault}, {os.DevNull, "", exitDone}} {
		device, err := os.OpenFile(c.device, os.O_RDWR, 0)
		if err != nil {
			t.Skipf("no %s here: %v", c.device, err)
		}
		defer device.Close()
		var stderr bytes.Buffer
		code := Main([]string{"report", record, "--on", "2027-04-13", "--format", "pdf"}, nil, device, &stderr)
		if code != c.code || !strings.Contains(stderr.String(), c.says) {
			t.Errorf("%s: exit code %d, %q", c.device, code, stderr.String())
		}
	}
}
