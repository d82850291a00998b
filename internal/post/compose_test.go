package post_test

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"graftclock/internal/post"
	"graftclock/internal/reference/smtpd"
)

// written returns the mail's bytes, having looked at every one of them.
func written(t interface {
	Helper()
	Errorf(string, ...any)
	Fatal(...any)
}, m post.Message) []byte {
	t.Helper()
	data, err := m.Bytes()
	if err != nil {
		t.Fatal(err)
	}
	again, _ := m.Bytes()
	if !bytes.Equal(data, again) {
		t.Errorf("the same message has two forms")
	}
	if !bytes.HasSuffix(data, []byte("\r\n")) {
		t.Errorf("the last line does not end in CRLF")
	}
	for i, line := range strings.Split(strings.TrimSuffix(string(data), "\r\n"), "\r\n") {
		if at := strings.IndexFunc(line, func(r rune) bool { return r != '\t' && (r < ' ' || r > '~') }); at >= 0 {
			t.Errorf("line %d holds %q: %q", i+1, line[at], line)
		}
		if len(line) > 76 && !strings.Contains(line, m.To.Address) && !strings.Contains(line, m.From.Address) && !strings.Contains(line, m.ID) {
			t.Errorf("line %d has %d characters: %q", i+1, len(line), line)
		}
		if len(line) > 998 {
			t.Errorf("line %d has %d characters", i+1, len(line))
		}
	}
	return data
}

var sameRead = cmpopts.EquateEmpty()

func TestMailReadsLikeThis(t *testing.T) {
	m := with(func(m *post.Message) {
		m.Subject, m.Text, m.Letter = "Ваш визит", "Bis bald – Ida\n", []byte("Brief\n")
	})
	m.Calendar = []byte("BEGIN:VCALENDAR\r\nMETHOD:REQUEST\r\nBEGIN:VEVENT\r\nEND:VEVENT\r\nEND:VCALENDAR\r\n")
	want := strings.ReplaceAll(`Date: Mon, 02 Mar 2026 09:05:07 +0100
From: Harbour Row <desk@harbour-row.example>
To: Nora Fenwick <nora.fenwick@post.example>
Subject: =?utf-8?B?0JLQsNGIINCy0LjQt9C40YI=?=
Message-ID: <00112233445566778899aabbccddeeff@harbour-row.example>
Auto-Submitted: auto-generated
MIME-Version: 1.0
Content-Type: multipart/mixed; boundary="=_MIXED"

--=_MIXED
Content-Type: multipart/alternative; boundary="=_ALTERNATIVE"

--=_ALTERNATIVE
Content-Type: text/plain; charset=utf-8
Content-Transfer-Encoding: quoted-printable

Bis bald =E2=80=93 Ida

--=_ALTERNATIVE
Content-Type: text/calendar; charset=utf-8; method=REQUEST; component=VEVENT
Content-Transfer-Encoding: base64

QkVHSU46VkNBTEVOREFSDQpNRVRIT0Q6UkVRVUVTVA0KQkVHSU46VkVWRU5UDQpFTkQ6VkVWRU5U
DQpFTkQ6VkNBTEVOREFSDQo=

--=_ALTERNATIVE--

--=_MIXED
Content-Type: text/plain; charset=utf-8
Content-Transfer-Encoding: quoted-printable
Content-Disposition: attachment; filename=letter.txt

Brief

--=_MIXED--
`, "\n", "\r\n")
	got := string(written(t, m))
	boundaries := strings.NewReplacer(boundary(t, got, "mixed"), "=_MIXED", boundary(t, got, "alternative"), "=_ALTERNATIVE")
	if diff := cmp.Diff(want, boundaries.Replace(got)); diff != "" {
		t.Error(diff)
	}
}

func boundary(t *testing.T, data, kind string) string {
	t.Helper()
	_, rest, found := strings.Cut(data, "multipart/"+kind+`; boundary="`)
	if !found {
		t.Fatalf("no multipart/%s", kind)
	}
	name, _, _ := strings.Cut(rest, `"`)
	return name
}

func TestBoundariesAreOfTheMessageIDAlone(t *testing.T) {
	first := string(written(t, sample()))
	other := string(written(t, with(func(m *post.Message) { m.Text, m.Subject = "Other text", "Other" })))
	apart := string(written(t, with(func(m *post.Message) { m.ID = post.NewID(make([]byte, 16), "harbour-row.example") })))
	for _, kind := range []string{"mixed", "alternative"} {
		if boundary(t, first, kind) != boundary(t, other, kind) {
			t.Errorf("%s: the text changes the boundary", kind)
		}
		if boundary(t, first, kind) == boundary(t, apart, kind) {
			t.Errorf("%s: two mails have one boundary", kind)
		}
	}
	if boundary(t, first, "mixed") == boundary(t, first, "alternative") {
		t.Error("both levels have one boundary")
	}
}

// names and subjects in many scripts, and such as try to be more than that.
var lines = map[string]string{
	"Latin":              "Zoë Ångström-Ødegård",
	"Greek":              "Νόρα Παπαδοπούλου",
	"Cyrillic":           "Нора Фенвик",
	"Arabic":             "نورا فنويك",
	"Hebrew":             "נורה פנוויק",
	"Devanagari":         "नोरा फेनविक",
	"Chinese":            "诺拉·芬威克",
	"Japanese":           "ノラ・フェンウィック",
	"emoji":              "Nora 👩🏽‍⚕️🦷 Fenwick",
	"combining":          "Nora\u0308\u0301 Fenwick",
	"quotes":             `Nora "the \ captain" Fenwick`,
	"quote at the end":   `Nora \`,
	"comma":              "Fenwick, Nora",
	"dots":               "Dr. N. O. Fenwick-O'Hara Jr.",
	"semicolons":         "Fenwick: Nora; <x@y.example>, (Teni)",
	"another address":    "desk@harbour-row.example",
	"line break":         "Nora\r\nBcc: teni@post.example",
	"empty line":         "Nora\r\n\r\n--x\r\nContent-Type: text/html",
	"bare CR":            "Nora\rBcc: teni@post.example",
	"other line breaks":  "Nora\u2028Bcc:\u0085x\vy\fz",
	"NUL":                "Nora\x00Fenwick",
	"escape sequence":    "Nora \x1b[31mFenwick",
	"turned around":      "Nora \u202eknarF\u202c",
	"encoded word":       "=?utf-8?Q?Nora=0D=0ABcc:_x?=",
	"encoded word in it": "Nora =?us-ascii?B?RmVud2ljaw==?= Fenwick",
	"half encoded word":  "Nora =?",
	"bytes not in UTF-8": "Nora \xff\xfeFenwick",
	"spaces":             "  Nora \t  Fenwick ",
	"long":               strings.Repeat("Nora Fenwick of Harbour Row ", 20),
	"long word":          strings.Repeat("Norafenwick", 100),
	"long and Greek":     strings.Repeat("Νόρα Παπαδοπούλου ", 40),
	"long and emoji":     strings.Repeat("🦷", 300),
	"percent":            "100%s %d Nora",
}

// samples are messages with all lines in all places, both with and without letter.
func samples() (names []string, messages []post.Message) {
	for name, line := range lines {
		names = append(names, name, name+", without letter")
		m := sample()
		m.From.Name, m.To.Name, m.Subject = "Harbour Row "+line, line, line
		messages = append(messages, m)
		m.Letter, m.From.Name = nil, ""
		messages = append(messages, m)
	}
	for i := range 60 {
		m := drawn(func(g *rapid.Generator[string], label string) string { return g.Example(i + 1000*len(label)) })
		names, messages = append(names, fmt.Sprint("random ", i)), append(messages, m)
	}
	return names, messages
}

// drawn is a message made of whatever strings draw returns.
func drawn(draw func(g *rapid.Generator[string], label string) string) post.Message {
	line, word := rapid.String(), rapid.StringMatching(`[A-Za-z0-9'+_-]{1,30}(\.[a-z]{1,9}){0,3}@[a-z0-9]{1,30}(\.[a-z]{2,9}){0,3}`)
	text := rapid.StringMatching(`[\n\r\t .=\-a-zäßΩЖجا漢🦷]{0,300}`)
	m := sample()
	m.ID, m.From.Address, m.To.Address = draw(word, "id"), draw(word, "from"), draw(word, "to")
	m.From.Name, m.To.Name, m.Subject = draw(line, "sender"), draw(line, "recipient"), "S"+draw(line, "subject")
	m.Text, m.Letter = "T"+draw(text, "text"), []byte(draw(text, "letter"))
	return m
}

func TestGoUnderstandsTheMail(t *testing.T) {
	names, messages := samples()
	for i, m := range messages {
		t.Run(names[i], func(t *testing.T) {
			read, err := goReads(written(t, m))
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(expected(m), read, sameRead); diff != "" {
				t.Error(diff)
			}
		})
	}
}

func TestPythonUnderstandsTheMail(t *testing.T) {
	names, messages := samples()
	var mails [][]byte
	for _, m := range messages {
		mails = append(mails, written(t, m))
	}
	for i, read := range smtpd.Read(t, mails...) {
		if diff := cmp.Diff(expected(messages[i]), read, sameRead); diff != "" {
			t.Errorf("%s: %s\n%s", names[i], diff, mails[i])
		}
	}
	t.Logf("%d mails", len(mails))
}

func TestAnyMessageIsUnderstood(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := drawn(func(g *rapid.Generator[string], label string) string { return g.Draw(t, label) })
		read, err := goReads(written(t, m))
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(expected(m), read, sameRead); diff != "" {
			t.Error(diff)
		}
	})
}
