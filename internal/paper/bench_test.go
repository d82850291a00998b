package paper_test

import (
	"bytes"
	"compress/zlib"
	"io"
	"testing"
)

// BenchmarkLetter writes a letter of two pages with a square code. Its reference packs
// as many bytes as the letter has, which is part of that work.
func BenchmarkLetter(b *testing.B) {
	size := 0
	b.Run("write", func(b *testing.B) {
		for b.Loop() {
			size = len(write(b, letter(letterOptions())))
		}
		b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "letters/s")
	})
	b.Run("reference", func(b *testing.B) {
		data := bytes.Repeat([]byte("0123456789 Tj\n"), size/10)
		for b.Loop() {
			packer := zlib.NewWriter(io.Discard)
			packer.Write(data)
			packer.Close()
		}
	})
}
