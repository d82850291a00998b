package letter_test

import (
	"bytes"
	"errors"
	"flag"
	"io"
	"os"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"

	"graftclock/internal/letter"
)

var update = flag.Bool("update", false, "write the golden files anew")

// write fills a patient's letter and writes it in one form.
func write(w io.Writer, l letter.Letter, form func(letter.Filled, io.Writer) error) error {
	f, err := letter.BuiltIn().Fill(l)
	if err != nil {
		return err
	}
	return form(f, w)
}

func htmlOf(t testing.TB, l letter.Letter) string {
	t.Helper()
	var out bytes.Buffer
	if err := write(&out, l, letter.Filled.WriteHTML); err != nil {
		t.Fatal(err)
	}
	return out.String()
}

func textOf(t testing.TB, l letter.Letter) string {
	t.Helper()
	var out bytes.Buffer
	if err := write(&out, l, letter.Filled.WriteText); err != nil {
		t.Fatal(err)
	}
	return out.String()
}

func TestGoldens(t *testing.T) {
	for name, sample := range samples {
		t.Run(name, func(t *testing.T) {
			golden(t, name+".html", htmlOf(t, sample()))
			golden(t, name+".txt", textOf(t, sample()))
		})
	}
}

func golden(t *testing.T, name, got string) {
	t.Helper()
	path := filepath.Join("testdata", name)
	if *update {
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(want), got); diff != "" {
		t.Errorf("%s differs (-want +got):\n%s", name, diff)
	}
}

func TestSameLetterSameBytes(t *testing.T) {
	for name, sample := range samples {
		if htmlOf(t, sample()) != htmlOf(t, sample()) || textOf(t, sample()) != textOf(t, sample()) {
			t.Errorf("%s: two runs differ", name)
		}
	}
}

func BenchmarkLetter(b *testing.B) {
	l := simultaneous()
	var out bytes.Buffer
	for b.Loop() {
		out.Reset()
		f, err := letter.BuiltIn().Fill(l)
		if err := errors.Join(err, f.WriteHTML(&out), f.WriteText(&out)); err != nil {
			b.Fatal(err)
		}
	}
}
