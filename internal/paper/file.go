package paper

import (
	"bytes"
	"compress/zlib"
	"crypto/sha256"
	"fmt"
	"sync"
	"unicode/utf16"
)

// file is a PDF: objects that refer to each other by number, from 1 on.
type file struct {
	objects [][]byte
}

// reserve gives out numbers for objects and returns the first.
func (f *file) reserve(count int) int {
	first := len(f.objects) + 1
	f.objects = append(f.objects, make([][]byte, count)...)
	return first
}

func (f *file) set(number int, format string, values ...any) {
	f.objects[number-1] = fmt.Appendf(nil, format, values...)
}

func (f *file) add(format string, values ...any) int {
	number := f.reserve(1)
	f.set(number, format, values...)
	return number
}

// packers are kept for the next document, as each takes much room. A level that packs
// a tenth better takes twice as long.
var packers = sync.Pool{New: func() any {
	packer, _ := zlib.NewWriterLevel(nil, zlib.BestSpeed) // fails for a level that there is not
	return packer
}}

// stream adds data, packed, with further entries for its dictionary.
func (f *file) stream(data []byte, entries string) int {
	var packed bytes.Buffer
	packer := packers.Get().(*zlib.Writer)
	defer packers.Put(packer)
	packer.Reset(&packed)
	packer.Write(data) // a buffer takes all that is written
	packer.Close()
	return f.add("<</Filter /FlateDecode /Length %d%s>>\nstream\n%s\nendstream", packed.Len(), entries, packed.Bytes())
}

// bytes puts the file together (ISO 32000-1, 7.5). Its name is made of what it holds.
func (f *file) bytes(catalog, info int) []byte {
	var out bytes.Buffer
	out.WriteString("%PDF-1.7\n%\xe2\xe3\xcf\xd3\n")
	offsets := make([]int, len(f.objects))
	for i, object := range f.objects {
		offsets[i] = out.Len()
		fmt.Fprintf(&out, "%d 0 obj\n%s\nendobj\n", i+1, object)
	}
	start, name := out.Len(), sha256.Sum256(out.Bytes())
	fmt.Fprintf(&out, "xref\n0 %d\n0000000000 65535 f \n", len(f.objects)+1)
	for _, offset := range offsets {
		fmt.Fprintf(&out, "%010d 00000 n \n", offset)
	}
	const half = len(name) / 2
	fmt.Fprintf(&out, "trailer\n<</Size %d /Root %d 0 R /Info %d 0 R /ID [<%X> <%X>]>>\nstartxref\n%d\n%%%%EOF\n",
		len(f.objects)+1, catalog, info, name[:half], name[:half], start)
	return out.Bytes()
}

// textString is text of any language (7.9.2.2).
func textString(text string) string {
	out := []byte("<FEFF")
	for _, unit := range utf16.Encode([]rune(text)) {
		out = fmt.Appendf(out, "%04X", unit)
	}
	return string(append(out, '>'))
}

// byteString is text in ASCII.
func byteString(text string) string { return fmt.Sprintf("<%X>", text) }
