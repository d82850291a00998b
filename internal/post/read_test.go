package post_test

import (
	"bytes"
	"encoding/base64"
	"fmt"
	"io"
	"mime"
	"mime/multipart"
	"mime/quotedprintable"
	"net/mail"
	"slices"
	"strings"
	"time"

	"graftclock/internal/graft"
	"graftclock/internal/post"
	"graftclock/internal/reference/smtpd"
)

// expected is what every reader must understand of a message.
func expected(m post.Message) smtpd.Mail {
	line := func(p post.Party) smtpd.Party { return smtpd.Party{Name: graft.OneLine(p.Name), Address: p.Address} }
	crlf := func(text string) []byte {
		return []byte(strings.ReplaceAll(strings.ReplaceAll(strings.ReplaceAll(text, "\r\n", "\n"), "\r", "\n"), "\n", "\r\n"))
	}
	want := smtpd.Mail{
		ID: "<" + m.ID + ">", Date: m.Date.Format(time.RFC3339), Subject: graft.OneLine(m.Subject), Auto: "auto-generated",
		From: line(m.From), To: line(m.To),
		Names: []string{"auto-submitted", "content-type", "date", "from", "message-id", "mime-version", "subject", "to"},
		Parts: []smtpd.Part{
			{Type: "multipart/alternative"},
			{Type: "text/plain", Charset: "utf-8", Body: crlf(m.Text)},
			{Type: "text/calendar", Charset: "utf-8", Method: m.Method, Component: "VEVENT", Body: m.Calendar},
		},
	}
	if m.Letter != nil {
		want.Parts = append([]smtpd.Part{{Type: "multipart/mixed"}}, want.Parts...)
		want.Parts = append(want.Parts, smtpd.Part{Type: "text/plain", Charset: "utf-8", File: "letter.txt", Body: crlf(string(m.Letter))})
	}
	return want
}

// goReads reads a mail with Go's own packages.
func goReads(data []byte) (smtpd.Mail, error) {
	m, err := mail.ReadMessage(bytes.NewReader(data))
	if err != nil {
		return smtpd.Mail{}, err
	}
	read := smtpd.Mail{ID: m.Header.Get("Message-ID"), Auto: m.Header.Get("Auto-Submitted")}
	date, err := m.Header.Date()
	if err != nil {
		return smtpd.Mail{}, err
	}
	read.Date = date.Format(time.RFC3339)
	if read.Subject, err = new(mime.WordDecoder).DecodeHeader(m.Header.Get("Subject")); err != nil {
		return smtpd.Mail{}, err
	}
	for name, party := range map[string]*smtpd.Party{"From": &read.From, "To": &read.To} {
		a, err := mail.ParseAddress(m.Header.Get(name))
		if err != nil {
			return smtpd.Mail{}, fmt.Errorf("%s %q: %w", name, m.Header.Get(name), err)
		}
		*party = smtpd.Party{Name: a.Name, Address: a.Address}
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

func partsOf(header func(string) string, body io.Reader) ([]smtpd.Part, error) {
	kind, parameters, err := mime.ParseMediaType(header("Content-Type"))
	if err != nil {
		return nil, err
	}
	_, disposition, _ := mime.ParseMediaType(header("Content-Disposition"))
	part := smtpd.Part{Type: kind, Charset: parameters["charset"], Method: parameters["method"], Component: parameters["component"], File: disposition["filename"]}
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
		return []smtpd.Part{part}, err
	}
	parts := []smtpd.Part{part}
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
