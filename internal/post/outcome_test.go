package post_test

import (
	"bytes"
	"context"
	"encoding/base64"
	"errors"
	"net"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"graftclock/internal/post"
)

// outcome is what a caller can tell apart.
func outcome(err error) string {
	var not *post.NotSent
	var unsure *post.Unsure
	switch {
	case err == nil:
		return "taken"
	case errors.As(err, &unsure) && !errors.As(err, &not):
		return "unsure"
	case errors.As(err, &not) && !errors.As(err, &unsure):
		return "not sent"
	}
	return "unknown"
}

type says = map[string]string

// impatience ends the cases in which the server falls silent; all that comes before
// must be done by then, on a busy machine too.
const impatience = time.Second

func TestOutcomeSaysWhetherTheMailCanHaveArrived(t *testing.T) {
	for _, c := range []struct {
		name    string
		answers map[string]string
		half    bool
		want    string
		says    string
		mails   int // whole ones at the server
	}{
		{name: "all well", want: "taken", mails: 1},
		{name: "another kind of yes", answers: says{".": "251 will forward"}, want: "taken", mails: 1},
		{name: "yes over several lines", answers: says{".": "250-taken\r\n250 for you"}, want: "taken", mails: 1},
		{name: "gone after the yes", answers: says{"QUIT": cut}, want: "taken", mails: 1},
		{name: "torn down after the yes", answers: says{"QUIT": reset}, want: "taken", mails: 1},
		{name: "slow to look through the mail", answers: says{".": late}, want: "taken", mails: 1},
		{name: "no good-bye", answers: says{"QUIT": silent}, want: "taken", mails: 1},
		{name: "bad good-bye", answers: says{"QUIT": "500 what"}, want: "taken", mails: 1},

		{name: "cut after the final dot", answers: says{".": cut}, want: "unsure", says: "answer: EOF", mails: 1},
		{name: "torn down after the final dot", answers: says{".": reset}, want: "unsure", says: "answer: ", mails: 1},
		{name: "silent after the final dot", answers: says{".": silent}, want: "unsure", says: "answer: no answer in time", mails: 1},
		{name: "answer that does not end", answers: says{".": "250-taken"}, want: "unsure", says: "answer: ", mails: 1},
		{name: "answer that is none", answers: says{".": "hello"}, want: "unsure", says: "answer: what came is no reply", mails: 1},
		{name: "answer with an unknown code", answers: says{".": "999 hm"}, want: "unsure", says: "answer: 999 hm", mails: 1},
		{name: "answer that wants more", answers: says{".": "354 go on"}, want: "unsure", says: "answer: 354 go on", mails: 1},

		{name: "refused after the final dot", answers: says{".": "554 no"}, want: "not sent", says: "mail: 554 no", mails: 1},
		{name: "closing after the final dot", answers: says{".": "421 closing"}, want: "not sent", says: "mail: 421 closing", mails: 1},
		{name: "torn down in the middle of the mail", half: true, want: "not sent", says: "mail: "},
		{name: "mail refused", answers: says{"DATA": "554 no"}, want: "not sent", says: "mail: 554 no"},
		{name: "cut at DATA", answers: says{"DATA": cut}, want: "not sent", says: "mail: EOF"},
		{name: "silent at DATA", answers: says{"DATA": silent}, want: "not sent", says: "mail: no answer in time"},
		{name: "cut at the recipient", answers: says{"RCPT": cut}, want: "not sent", says: "recipient: EOF"},
		{name: "cut at the sender", answers: says{"MAIL": cut}, want: "not sent", says: "sender: EOF"},
		{name: "sender refused", answers: says{"MAIL": "553-not\r\n553 from you"}, want: "not sent", says: "sender: 553 not from you"},
		{name: "greeting refused", answers: says{"greeting": "554 no service"}, want: "not sent", says: "greeting: 554 no service"},
		{name: "cut before the greeting", answers: says{"greeting": cut}, want: "not sent", says: "greeting: EOF"},
		{name: "silent instead of a greeting", answers: says{"greeting": silent}, want: "not sent", says: "greeting: no answer in time"},
		{name: "no mail server at all", answers: says{"greeting": "HTTP/1.1 400 Bad Request"}, want: "not sent", says: "greeting: what came is no reply of a mail server"},
		{name: "cut at EHLO", answers: says{"EHLO": cut}, want: "not sent", says: "greeting: "},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			f := &fake{answers: c.answers, half: c.half}
			s, m := f.listen(t), sample()
			for _, answer := range c.answers {
				switch answer {
				case silent, "250-taken":
					s.Timeout, s.Patience = impatience, impatience
				case late:
					s.Timeout = impatience
				}
			}
			if c.half { // more than the system takes ahead of the other side
				m.Letter = bytes.Repeat([]byte("rest and cool\n"), 1<<19)
			}
			err := s.Send(t.Context(), m)
			if got := outcome(err); got != c.want {
				t.Fatalf("%s (%v), want %s", got, err, c.want)
			}
			if err != nil && !strings.Contains(err.Error(), c.says) {
				t.Errorf("%v, want %q", err, c.says)
			}
			heard := f.verbs()
			if f.lines != 1 || len(f.mails) != c.mails {
				t.Errorf("%d connections, %d mails, want 1 and %d: %v", f.lines, len(f.mails), c.mails, heard)
			}
			for _, once := range []string{"EHLO", "MAIL", "RCPT", "DATA", "."} {
				if n := count(heard, once); n > 1 {
					t.Errorf("%s was said %d times: %v", once, n, heard)
				}
			}
			if want, _ := m.Bytes(); c.mails == 1 && !bytes.Equal(f.mails[0], want) {
				t.Errorf("another mail arrived: %s", cmp.Diff(string(want), string(f.mails[0])))
			}
		})
	}
}

func count(list []string, one string) int {
	n := 0
	for _, each := range list {
		if each == one {
			n++
		}
	}
	return n
}

func TestNobodyListens(t *testing.T) {
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	port := listener.Addr().(*net.TCPAddr).Port
	_ = listener.Close()
	s := post.Server{Host: "127.0.0.1", Port: port, Security: post.StartTLS}
	if err := s.Send(t.Context(), sample()); outcome(err) != "not sent" || !strings.Contains(err.Error(), "connect: ") {
		t.Errorf("got %v", err)
	}
}

func TestStoppedByTheCaller(t *testing.T) {
	for _, c := range []struct{ verb, want, says string }{
		{"greeting", "not sent", ": stopped"},
		{"RCPT", "not sent", "recipient: stopped"},
		{".", "unsure", "answer: stopped"},
	} {
		ctx, stop := context.WithCancel(t.Context())
		f := fake{answers: says{c.verb: silent}, quiet: stop}
		s := f.listen(t)
		err := s.Send(ctx, sample())
		if outcome(err) != c.want || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: got %v, want %s, %q", c.verb, err, c.want, c.says)
		}
		if c.want == "not sent" && !errors.Is(err, context.Canceled) {
			t.Errorf("%s: %v does not tell that it was stopped", c.verb, err)
		}
	}
	ctx, stop := context.WithCancel(t.Context())
	stop()
	f := fake{}
	s := f.listen(t)
	if err := s.Send(ctx, sample()); outcome(err) != "not sent" || !errors.Is(err, context.Canceled) {
		t.Errorf("stopped before: got %v", err)
	}
	if f.verbs(); f.lines != 0 {
		t.Errorf("stopped before: %d connections", f.lines)
	}
}

// TestServerCannotMakeAnErrorTellTheLogin has the server repeat what it got, in
// every form and at every step it can.
func TestServerCannotMakeAnErrorTellTheLogin(t *testing.T) {
	encode := func(text string) string { return base64.StdEncoding.EncodeToString([]byte(text)) }
	both := encode("\x00" + user + "\x00" + password)
	told := []string{
		password, user, strings.ToUpper(password), strings.ToUpper(user), "<" + user + ">", encode(password), encode(user), both,
		"AUTH PLAIN " + both, both[:40], both[20:], encode(password)[3:20], password[:12], password[4:], "front.desk is unknown",
		"user " + user + " password " + password,
	}
	forms := []string{"554 %", "454 %", "554-a\r\n554-%\r\n554 b", "%", "334 @", "554-a\r\n%\r\n554 b"}
	for _, verb := range []string{"greeting", "EHLO", "AUTH", "MAIL", "RCPT", "DATA", "."} {
		t.Run(verb, func(t *testing.T) {
			t.Parallel()
			for i := range len(told) * len(forms) {
				told, form := told[i%len(told)], forms[i/len(told)]
				answer := strings.NewReplacer("%", told, "@", encode(told)).Replace(form)
				f := fake{answers: says{verb: answer, "HELO": "502 EHLO is enough"}}
				s := f.listen(t)
				s.User, s.Password = user, password
				err := s.Send(t.Context(), sample())
				if got := outcome(err); got != "not sent" && (verb != "." || got != "unsure") {
					t.Fatalf("%q: %s (%v)", answer, got, err)
				}
				keepsSecrets(t, err, s)
				for _, part := range []string{both[:12], both[24:36], encode(password)[4:12], password[:8], password[6:14], "front.desk"} {
					if strings.Contains(strings.ToLower(err.Error()), strings.ToLower(part)) {
						t.Errorf("%q: %v tells %q", answer, err, part)
					}
				}
			}
		})
	}
}

func TestRecipientIsMaskedInTheServersWords(t *testing.T) {
	for _, c := range []struct{ answer, want string }{
		{"550 <nora.fenwick@post.example>: unknown", "550 <***>: unknown"},
		{"550 NORA.FENWICK@Post.Example unknown", "550 *** unknown"},
		{"550 nora.fenwick unknown", "550 *** unknown"},
		{"550 nora.fenwick nora.fenwick", "550 *** ***"},
		{"550 nora.fenwicks unknown", "550 nora.fenwicks unknown"},
		{"550-no nora.fenwick\r\n550 \x1b[2Jhere", "550 no *** [2Jhere"},
		{"550 " + strings.Repeat("x", 1000), "550 " + strings.Repeat("x", 300)},
	} {
		f := fake{answers: says{"RCPT": c.answer}}
		s := f.listen(t)
		err := s.Send(t.Context(), sample())
		if want := "not sent: recipient: " + c.want; err == nil || err.Error() != want {
			t.Errorf("got %v, want %s", err, want)
		}
	}
}
