package cli

import (
	"path/filepath"
	"testing"
)

// TestACaseNumberStaysInsideTheFolder wants every case to get a folder below the one that
// was asked for, whatever its number.
func TestACaseNumberStaysInsideTheFolder(t *testing.T) {
	for id, want := range map[string]string{
		"HR-2041": "HR-2041", "..": "__", ".": "_", "": "", "../x": ".._x", `a/b\c:d`: "a_b_c_d", "a\nb": "a_b", "Ö 7.2": "Ö 7.2",
	} {
		got := fileName(id)
		if got != want || got != "" && filepath.Dir(filepath.Join("out", got)) != "out" {
			t.Errorf("%q gives %q, want %q", id, got, want)
		}
	}
}
