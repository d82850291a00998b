package post_test

import (
	"bufio"
	"bytes"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/json"
	"encoding/pem"
	"math/big"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"graftclock/internal/post"
	"graftclock/internal/reference"
)

const (
	user     = "front.desk@harbour-row.example"
	password = "Pa55 wörd \"quoted\" \\ and long enough"
)

// certificate makes a self-signed one for the loopback address alone, in files.
func certificate(t *testing.T, folder string) (certificate, key string, roots *x509.CertPool) {
	t.Helper()
	secret, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	form := &x509.Certificate{
		SerialNumber: big.NewInt(1), Subject: pkix.Name{CommonName: "mail.invalid"},
		NotBefore: time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC), NotAfter: time.Date(2100, 1, 1, 0, 0, 0, 0, time.UTC),
		IPAddresses: []net.IP{net.IPv4(127, 0, 0, 1)}, IsCA: true, BasicConstraintsValid: true,
	}
	der, err := x509.CreateCertificate(rand.Reader, form, form, secret.Public(), secret)
	if err != nil {
		t.Fatal(err)
	}
	pkcs8, err := x509.MarshalPKCS8PrivateKey(secret)
	if err != nil {
		t.Fatal(err)
	}
	write := func(name, kind string, der []byte) string {
		path := filepath.Join(folder, name)
		if err := os.WriteFile(path, pem.EncodeToMemory(&pem.Block{Type: kind, Bytes: der}), 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	roots = x509.NewCertPool()
	roots.AppendCertsFromPEM(pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: der}))
	return write("certificate.pem", "CERTIFICATE", der), write("key.pem", "PRIVATE KEY", pkcs8), roots
}

// running is the real server: see testdata/reference/smtp_server.py.
type running struct {
	ports  map[string]int
	folder string
	roots  *x509.CertPool
}

// start runs the real server until the test ends.
func start(t *testing.T) running {
	t.Helper()
	python := reference.Python(t, "aiosmtpd")
	cert, key, roots := certificate(t, t.TempDir())
	r := running{folder: t.TempDir(), roots: roots}
	command := exec.Command(python, filepath.Join(reference.Folder(), "smtp_server.py"), r.folder, cert, key)
	command.Env = append(os.Environ(), "LOGIN_USER="+user, "LOGIN_PASSWORD="+password, "PYTHONIOENCODING=utf-8")
	var stderr bytes.Buffer
	command.Stderr = &stderr
	stdin, err := command.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	stdout, err := command.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := command.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		_ = stdin.Close() // it ends by itself, or else by force
		overdue := time.AfterFunc(5*time.Second, func() { _ = command.Process.Kill() })
		defer overdue.Stop()
		if err := command.Wait(); err != nil {
			t.Errorf("the server: %v\n%s", err, stderr.String())
		}
	})
	line, err := bufio.NewReader(stdout).ReadBytes('\n')
	if err != nil {
		t.Fatalf("the server said %q: %v", line, err)
	}
	if err := json.Unmarshal(line, &r.ports); err != nil {
		t.Fatal(err)
	}
	return r
}

// server is how a clinic would set up one of its doors.
func (r running) server(door post.Security) post.Server {
	s := post.Server{Host: "127.0.0.1", Port: r.ports[string(door)], Security: door, Roots: r.roots, Timeout: 20 * time.Second}
	if door != post.None {
		s.User, s.Password = user, password
	}
	return s
}

// envelope is what the server knows of a mail besides its bytes.
type envelope struct {
	Door, Hello, From   string
	Options, To         []string
	LoggedIn, Encrypted bool
}

// taken is all mails that the server took, in order.
func (r running) taken(t *testing.T) (envelopes []envelope, mails [][]byte) {
	t.Helper()
	for n := 1; ; n++ {
		data, err := os.ReadFile(filepath.Join(r.folder, strconv.Itoa(n)+".eml"))
		if os.IsNotExist(err) {
			return envelopes, mails
		}
		if err != nil {
			t.Fatal(err)
		}
		about, err := os.ReadFile(filepath.Join(r.folder, strconv.Itoa(n)+".json"))
		if err != nil {
			t.Fatal(err)
		}
		var e envelope
		if err := json.Unmarshal(about, &e); err != nil {
			t.Fatal(err)
		}
		envelopes, mails = append(envelopes, e), append(mails, data)
	}
}

// recipients counts how often a recipient was named, taken or not.
func (r running) recipients(t *testing.T) int {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(r.folder, "recipients"))
	if err != nil && !os.IsNotExist(err) {
		t.Fatal(err)
	}
	return strings.Count(string(data), "\n")
}

func TestServerTakesTheMailOnce(t *testing.T) {
	r := start(t)
	for i, c := range []struct {
		name   string
		server post.Server
		want   envelope
	}{
		{"STARTTLS and login", r.server(post.StartTLS), envelope{Door: "starttls", LoggedIn: true, Encrypted: true}},
		{"TLS and the other kind of login", r.server(post.TLS), envelope{Door: "tls", LoggedIn: true, Encrypted: true}},
		{"neither, on this machine", r.server(post.None), envelope{Door: "none"}},
		{"login without TLS, on this machine", func() post.Server {
			s := r.server(post.None)
			s.User, s.Password = user, password
			return s
		}(), envelope{Door: "none", LoggedIn: true}},
		{"this machine by name", func() post.Server {
			s := r.server(post.None)
			s.Host = "localhost"
			return s
		}(), envelope{Door: "none"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			m := sample()
			if err := c.server.Send(t.Context(), m); err != nil {
				t.Fatal(err)
			}
			envelopes, mails := r.taken(t)
			if len(mails) != i+1 {
				t.Fatalf("the server has %d mails, want %d", len(mails), i+1)
			}
			if want, _ := m.Bytes(); !bytes.Equal(mails[i], want) {
				t.Errorf("another mail arrived: %s", cmp.Diff(string(want), string(mails[i])))
			}
			c.want.Hello, c.want.From, c.want.To = "[127.0.0.1]", m.From.Address, []string{m.To.Address}
			c.want.Options = []string{"BODY=8BITMIME"} // and no SMTPUTF8, which not every server passes on
			if diff := cmp.Diff(c.want, envelopes[i]); diff != "" {
				t.Error(diff)
			}
			read, err := goReads(mails[i])
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(expected(m), read, sameRead); diff != "" {
				t.Error(diff)
			}
		})
	}
	_, mails := r.taken(t)
	for i, read := range pythonReads(t, mails) {
		if diff := cmp.Diff(expected(sample()), read, sameRead); diff != "" {
			t.Errorf("mail %d: %s", i, diff)
		}
	}
}
