package post_test

import (
	"bytes"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"io"
	"mime"
	"mime/multipart"
	"mime/quotedprintable"
	"net/mail"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"graftclock/internal/graft"
	"graftclock/internal/post"
	"graftclock/internal/reference"
)

// mailRead is a mail as some reader of mail understood it.
type mailRead struct {
	ID, Date, Subject, Auto string
	From, To                post.Party
	Names                   []string // of the header fields, lower case, sorted
	Parts                   []partRead
	Defects                 []string
}

type partRead struct {
	Type, Charset, Method, Component, File string
	Body                                   []byte
}

// expected is what every reader must understand of a message.
func expected(m post.Message) mailRead {
	line := func(p post.Party) post.Party { return post.Party{Name: graft.OneLine(p.Name), Address: p.Address} }
	crlf := func(text string) []byte {
		return []byte(strings.ReplaceAll(strings.ReplaceAll(strings.ReplaceAll(text, "\r\n", "\n"), "\r", "\n"), "\n", "\r\n"))
	}
	want := mailRead{
		ID: "<" + m.ID + ">", Date: m.Date.Format(time.RFC3339), Subject: graft.OneLine(m.Subject), Auto: "auto-generated",
		From: line(m.From), To: line(m.To),
		Names: []string{"auto-submitted", "content-type", "date", "from", "message-id", "mime-version", "subject", "to"},
		Parts: []partRead{
			{Type: "multipart/alternative"},
			{Type: "text/plain", Charset: "utf-8", Body: crlf(m.Text)},
			{Type: "text/calendar", Charset: "utf-8", Method: m.Method, Component: "VEVENT", Body: m.Calendar},
		},
	}
	if m.Letter != nil {
		want.Parts = append([]partRead{{Type: "multipart/mixed"}}, want.Parts...)
		want.Parts = append(want.Parts, partRead{Type: "text/plain", Charset: "utf-8", File: "letter.txt", Body: crlf(string(m.Letter))})
	}
	return want
}

// goReads reads a mail with Go's own packages.
func goReads(data []byte) (mailRead, error) {
	m, err := mail.ReadMessage(bytes.NewReader(data))
	if err != nil {
		return mailRead{}, err
	}
	read := mailRead{ID: m.Header.Get("Message-ID"), Auto: m.Header.Get("Auto-Submitted")}
	date, err := m.Header.Date()
	if err != nil {
		return mailRead{}, err
	}
	read.Date = date.Format(time.RFC3339)
	if read.Subject, err = new(mime.WordDecoder).DecodeHeader(m.Header.Get("Subject")); err != nil {
		return mailRead{}, err
	}
	for name, party := range map[string]*post.Party{"From": &read.From, "To": &read.To} {
		a, err := mail.ParseAddress(m.Header.Get(name))
		if err != nil {
			return mailRead{}, fmt.Errorf("%s %q: %w", name, m.Header.Get(name), err)
		}
		*party = post.Party{Name: a.Name, Address: a.Address}
	}
	for name, values := range m.Header {
		for range values {
			read.Names = append(read.Names, strings.ToLower(name))
		}
	}
	slices.Sort(read.Names)
	read.Parts, err = partsOf(m.Header.Get, m.Body)
	return read, err
}

func partsOf(header func(string) string, body io.Reader) ([]partRead, error) {
	kind, parameters, err := mime.ParseMediaType(header("Content-Type"))
	if err != nil {
		return nil, err
	}
	_, disposition, _ := mime.ParseMediaType(header("Content-Disposition"))
	part := partRead{Type: kind, Charset: parameters["charset"], Method: parameters["method"], Component: parameters["component"], File: disposition["filename"]}
	if !strings.HasPrefix(kind, "multipart/") {
		switch header("Content-Transfer-Encoding") {
		case "quoted-printable":
			body = quotedprintable.NewReader(body)
		case "base64":
			body = base64.NewDecoder(base64.StdEncoding, body)
		default:
			return nil, fmt.Errorf("%s in %q", kind, header("Content-Transfer-Encoding"))
		}
		part.Body, err = io.ReadAll(body)
		return []partRead{part}, err
	}
	parts := []partRead{part}
	for inside := multipart.NewReader(body, parameters["boundary"]); ; {
		next, err := inside.NextRawPart()
		if err == io.EOF {
			return parts, nil
		}
		if err != nil {
			return nil, err
		}
		more, err := partsOf(next.Header.Get, next)
		if err != nil {
			return nil, err
		}
		parts = append(parts, more...)
	}
}

// pythonReads reads mails with Python's email package.
func pythonReads(t *testing.T, mails [][]byte) []mailRead {
	t.Helper()
	folder := t.TempDir()
	arguments := []string{"testdata/read_mail.py"}
	for i, data := range mails {
		path := filepath.Join(folder, fmt.Sprint(i)+".eml")
		if err := os.WriteFile(path, data, 0o600); err != nil {
			t.Fatal(err)
		}
		arguments = append(arguments, path)
	}
	command := exec.Command(reference.Python(t, "email"), arguments...)
	command.Stderr = t.Output()
	out, err := command.Output()
	if err != nil {
		t.Fatal(err)
	}
	var all []mailRead
	for decoder := json.NewDecoder(bytes.NewReader(out)); decoder.More(); {
		var read mailRead
		if err := decoder.Decode(&read); err != nil {
			t.Fatal(err)
		}
		for i, name := range read.Names {
			read.Names[i] = strings.ToLower(name)
		}
		slices.Sort(read.Names)
		all = append(all, read)
	}
	if len(all) != len(mails) {
		t.Fatalf("read %d mails of %d", len(all), len(mails))
	}
	return all
}
