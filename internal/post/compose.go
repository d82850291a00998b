package post

import (
	"bytes"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"mime/quotedprintable"
	"strings"
)

// part is one part of the mail (RFC 2046): its header without the empty line, and
// its body in ASCII.
type part struct{ header, body string }

// Bytes returns the mail as it is sent and as an .eml file holds it: ASCII, lines
// that end in CRLF, the same bytes for the same message. A message that cannot be
// written is refused.
//
// Text and calendar are alternatives, so that a mail program shows the one it
// understands best; the letter is attached beside them.
func (m Message) Bytes() ([]byte, error) {
	if err := m.check(); err != nil {
		return nil, err
	}
	whole := bundle("alternative", m.boundary("alternative"), prose(m.Text, ""), m.invitation())
	if m.Letter != nil {
		whole = bundle("mixed", m.boundary("mixed"), whole, prose(string(m.Letter), "letter.txt"))
	}
	var out bytes.Buffer
	field(&out, "Date", m.Date.Format("Mon, 02 Jan 2006 15:04:05 -0700"))
	field(&out, "From", mailbox(m.From)...)
	field(&out, "To", mailbox(m.To)...)
	field(&out, "Subject", unstructured(m.Subject)...)
	field(&out, "Message-ID", "<"+m.ID+">")
	// A program wrote this mail and nobody's mail is answered by it (RFC 3834 5):
	// absence notes and other robots must not answer in turn (RFC 3834 2).
	field(&out, "Auto-Submitted", "auto-generated")
	field(&out, "MIME-Version", "1.0")
	out.WriteString(whole.header + "\r\n" + whole.body)
	return out.Bytes(), nil
}

// boundary is fixed by the Message-ID. No part can hold it: "=_" occurs neither in
// quoted-printable nor in base64 (RFC 2045 6.7).
func (m Message) boundary(kind string) string {
	sum := sha256.Sum256([]byte(kind + " " + m.ID))
	return "=_" + hex.EncodeToString(sum[:12])
}

// bundle makes one part of several.
func bundle(kind, boundary string, parts ...part) part {
	var body strings.Builder
	for _, p := range parts {
		body.WriteString("--" + boundary + "\r\n" + p.header + "\r\n" + p.body + "\r\n")
	}
	body.WriteString("--" + boundary + "--\r\n")
	return part{"Content-Type: multipart/" + kind + "; boundary=\"" + boundary + "\"\r\n", body.String()}
}

// prose is a part of plain text, attached under a file name if it has one. Its
// lines end in CRLF, as in all text in mail (RFC 2046 4.1.1).
func prose(text, name string) part {
	header := "Content-Type: text/plain; charset=utf-8\r\nContent-Transfer-Encoding: quoted-printable\r\n"
	if name != "" {
		header += "Content-Disposition: attachment; filename=" + name + "\r\n"
	}
	var body strings.Builder
	w := quotedprintable.NewWriter(&body)
	_, _ = w.Write([]byte(strings.NewReplacer("\r\n", "\r\n", "\r", "\r\n", "\n", "\r\n").Replace(text)))
	_ = w.Close() // a strings.Builder takes everything
	return part{header, body.String()}
}

// invitation is the calendar's part, in base64 because nothing else brings every
// byte and every line end across.
func (m Message) invitation() part {
	const quantum = 57 // bytes of a line: 76 characters (RFC 2045 6.8)
	var body strings.Builder
	for rest := m.Calendar; len(rest) > 0; rest = rest[min(quantum, len(rest)):] {
		body.WriteString(base64.StdEncoding.EncodeToString(rest[:min(quantum, len(rest))]) + "\r\n")
	}
	return part{"Content-Type: text/calendar; charset=utf-8; method=" + m.Method + "; component=VEVENT\r\n" +
		"Content-Transfer-Encoding: base64\r\n", body.String()}
}
