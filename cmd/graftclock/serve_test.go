package main

import (
	"bufio"
	"bytes"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"encoding/pem"
	"fmt"
	"io"
	"math/big"
	"net"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"syscall"
	"testing"
	"time"

	"graftclock/internal/reference"
)

const servePassword = "nine quiet herons at dusk"

// clinicWithDesk is a folder with the demo clinic, the case fenwick and a sign-in of
// Ida Marlow.
func clinicWithDesk(t *testing.T) (clinic string) {
	t.Helper()
	folder := t.TempDir()
	if err := os.CopyFS(folder, os.DirFS(filepath.Join(reference.Root(), "testdata", "demo"))); err != nil {
		t.Fatal(err)
	}
	clinic = filepath.Join(folder, "clinic.yaml")
	admit := command(t, "admit", filepath.Join(folder, "fenwick.yaml"), "--clinic", clinic, "--as", "Ida Marlow")
	people := command(t, "people", "add", "Ida Marlow", "--clinic", clinic, "--password-stdin")
	people.Stdin = strings.NewReader(servePassword + "\n")
	for _, c := range []*exec.Cmd{admit, people} {
		if out, err := c.CombinedOutput(); err != nil {
			t.Fatalf("%v: %s", err, out)
		}
	}
	return clinic
}

// serving starts serve and returns its process, the address that it prints and what it
// printed before.
func serving(t *testing.T, args ...string) (c *exec.Cmd, address, before string) {
	t.Helper()
	c = command(t, append([]string{"serve", "--listen", "127.0.0.1:0"}, args...)...)
	var errs bytes.Buffer
	c.Stderr = &errs
	c.Env = append(os.Environ(), "TMPDIR="+t.TempDir())
	out, err := c.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		c.Process.Kill()
		c.Wait()
	})
	lines := bufio.NewReader(out)
	for {
		line, err := lines.ReadString('\n')
		if err != nil {
			t.Fatalf("%v before an address; it said %s%s", err, before, errs.String())
		}
		if m := regexp.MustCompile(`^The desk is open at (https?://[^/]+)/`).FindStringSubmatch(line); m != nil {
			go io.Copy(io.Discard, lines)
			return c, m[1], before
		}
		before += line
	}
}

// signedIn is a browser in which somebody of the clinic is signed in.
func signedIn(t *testing.T, address, name, password string) *http.Client {
	t.Helper()
	jar, err := cookiejar.New(nil)
	if err != nil {
		t.Fatal(err)
	}
	client := &http.Client{Jar: jar}
	r, err := client.PostForm(address+"/sign-in", url.Values{"name": {name}, "password": {password}, "to": {"/find"}})
	if err != nil {
		t.Fatal(err)
	}
	r.Body.Close()
	if r.Request.URL.Path != "/find" || r.StatusCode != http.StatusOK {
		t.Fatalf("not signed in: %d %s", r.StatusCode, r.Request.URL)
	}
	return client
}

// TestServeRefusesToBeOverheard listens to others only over https or behind a proxy
// that speaks it, and to nobody while nobody can sign in.
func TestServeRefusesToBeOverheard(t *testing.T) {
	t.Parallel()
	clinic := clinicWithDesk(t)
	alone := t.TempDir()
	if err := os.CopyFS(alone, os.DirFS(filepath.Join(reference.Root(), "testdata", "demo"))); err != nil {
		t.Fatal(err)
	}
	for _, tc := range []struct {
		args []string
		code int
		says string
	}{
		{[]string{"--listen", "0.0.0.0:0"}, 1, "without https they could read passwords"},
		{[]string{"--listen", ":0"}, 1, "without https"},
		{[]string{"--listen", "192.168.1.10:8441"}, 1, "--behind-proxy"},
		{[]string{"--listen", "desk.example:8441"}, 1, "without https"},
		{[]string{"--listen", "here"}, 2, "ADDRESS:PORT"},
		{[]string{"--cert", "desk.crt"}, 2, "go together"},
		{[]string{"--cert", "desk.crt", "--key", "desk.key", "--behind-proxy"}, 2, "the proxy has the certificate"},
		{[]string{"--demo", "--listen", "0.0.0.0:0", "--behind-proxy"}, 2, "this machine alone"},
		{[]string{"--cert", "none.crt", "--key", "none.key", "--listen", "127.0.0.1:0"}, 1, "certificate"},
		{[]string{"--clinic", filepath.Join(alone, "clinic.yaml"), "--listen", "127.0.0.1:0"}, 1, "nobody can sign in yet"},
	} {
		c := command(t, append([]string{"serve", "--clinic", clinic}, tc.args...)...)
		out, _ := c.CombinedOutput()
		if code := c.ProcessState.ExitCode(); code != tc.code || !strings.Contains(string(out), tc.says) {
			t.Errorf("%v: code %d, %s", tc.args, code, out)
		}
	}
}

// certified writes a certificate of this machine and its key.
func certified(t *testing.T) (cert, key string, pool *x509.CertPool) {
	t.Helper()
	private, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	template := &x509.Certificate{SerialNumber: big.NewInt(1), NotBefore: time.Now().Add(-time.Hour), NotAfter: time.Now().Add(time.Hour), IPAddresses: []net.IP{net.IPv4(127, 0, 0, 1)}, IsCA: true, BasicConstraintsValid: true}
	der, err := x509.CreateCertificate(rand.Reader, template, template, &private.PublicKey, private)
	if err != nil {
		t.Fatal(err)
	}
	secret, err := x509.MarshalECPrivateKey(private)
	if err != nil {
		t.Fatal(err)
	}
	folder := t.TempDir()
	cert, key = filepath.Join(folder, "desk.crt"), filepath.Join(folder, "desk.key")
	public := pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: der})
	if err := os.WriteFile(cert, public, 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(key, pem.EncodeToMemory(&pem.Block{Type: "EC PRIVATE KEY", Bytes: secret}), 0o600); err != nil {
		t.Fatal(err)
	}
	pool = x509.NewCertPool()
	pool.AppendCertsFromPEM(public)
	return cert, key, pool
}

// TestServeSpeaksHTTPS serves with the clinic's certificate, by TLS 1.2 or later, and
// nothing unsealed on that port.
func TestServeSpeaksHTTPS(t *testing.T) {
	t.Parallel()
	cert, key, pool := certified(t)
	_, address, _ := serving(t, "--clinic", clinicWithDesk(t), "--cert", cert, "--key", key)
	for version, ok := range map[uint16]bool{tls.VersionTLS11: false, tls.VersionTLS12: true, tls.VersionTLS13: true} {
		client := &http.Client{Transport: &http.Transport{TLSClientConfig: &tls.Config{RootCAs: pool, MinVersion: tls.VersionTLS10, MaxVersion: version}}}
		r, err := client.PostForm(address+"/sign-in", url.Values{"name": {"Ida Marlow"}, "password": {servePassword}, "to": {"/find"}})
		if (err == nil) != ok {
			t.Errorf("TLS version %x: %v", version, err)
		}
		if err == nil {
			r.Body.Close()
			if r.Header.Get("Strict-Transport-Security") == "" {
				t.Errorf("TLS version %x: no word that it stays so", version)
			}
		}
	}
	r, err := http.Get(strings.Replace(address, "https:", "http:", 1) + "/sign-in")
	if err == nil {
		defer r.Body.Close()
		if body, _ := io.ReadAll(r.Body); r.StatusCode != http.StatusBadRequest || bytes.Contains(body, []byte("Sign in")) {
			t.Errorf("unsealed: %d %s", r.StatusCode, body)
		}
	}
}

// TestServeFinishesWhatIsUnderWay tells the server to stop while a form is being sent:
// it is taken, done and answered; what was answered as done is in the ledger.
func TestServeFinishesWhatIsUnderWay(t *testing.T) {
	t.Parallel()
	clinic := clinicWithDesk(t)
	c, address, _ := serving(t, "--clinic", clinic)
	client := signedIn(t, address, "Ida Marlow", servePassword)
	form := url.Values{"id": {"wound-check//"}, "outcome": {"no answer"}, "says": {"slowly typed"}}.Encode()
	conn, answer := halfSent(t, address, client, form)
	if err := c.Process.Signal(syscall.SIGTERM); err != nil {
		t.Fatal(err)
	}
	for refused := false; !refused; { // nobody new is let in while the form is under way
		if conn, err := net.DialTimeout("tcp", strings.TrimPrefix(address, "http://"), time.Second); err != nil {
			refused = true
		} else {
			conn.Close()
		}
	}
	if _, err := io.WriteString(conn, form[len(form)/2:]); err != nil {
		t.Fatal(err)
	}
	r, err := http.ReadResponse(answer, nil)
	if err != nil || r.StatusCode != http.StatusSeeOther {
		t.Errorf("what was under way: %v %v", err, r)
	}
	conn.Close()
	if err := c.Wait(); err != nil {
		t.Errorf("it ends with %v", err)
	}
	out, err := command(t, "history", "HR-2041", "--clinic", clinic).Output()
	if err != nil || !strings.Contains(string(out), "slowly typed") {
		t.Errorf("%v: the history says %s", err, out)
	}
}

// halfSent sends the first half of a form, and returns when the server waits for the
// rest.
func halfSent(t *testing.T, address string, client *http.Client, form string) (net.Conn, *bufio.Reader) {
	t.Helper()
	u, err := url.Parse(address)
	if err != nil {
		t.Fatal(err)
	}
	conn, err := net.Dial("tcp", u.Host)
	if err != nil {
		t.Fatal(err)
	}
	cookie := client.Jar.Cookies(u)[0]
	fmt.Fprintf(conn, "POST /case/HR-2041/contact HTTP/1.1\r\nHost: %s\r\nCookie: %s=%s\r\nContent-Type: application/x-www-form-urlencoded\r\nContent-Length: %d\r\nExpect: 100-continue\r\n\r\n", u.Host, cookie.Name, cookie.Value, len(form))
	answer := bufio.NewReader(conn)
	for range 2 { // "100 Continue" and an empty line
		if line, err := answer.ReadString('\n'); err != nil || strings.HasPrefix(line, "HTTP") && !strings.Contains(line, " 100 ") {
			t.Fatal(err, line)
		}
	}
	if _, err := io.WriteString(conn, form[:len(form)/2]); err != nil {
		t.Fatal(err)
	}
	return conn, answer
}

// TestWhatWasReportedAsDoneOutlivesAKill kills the server after each answer, as hard as
// can be.
func TestWhatWasReportedAsDoneOutlivesAKill(t *testing.T) {
	t.Parallel()
	clinic := clinicWithDesk(t)
	for round := range 3 {
		c, address, _ := serving(t, "--clinic", clinic)
		client := signedIn(t, address, "Ida Marlow", servePassword)
		client.CheckRedirect = func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }
		says := fmt.Sprintf("round %d", round)
		r, err := client.PostForm(address+"/case/HR-2041/contact", url.Values{"id": {"wound-check//"}, "outcome": {"no answer"}, "says": {says}})
		if err != nil || r.StatusCode != http.StatusSeeOther {
			t.Fatal(err, r)
		}
		r.Body.Close()
		c.Process.Kill()
		c.Wait()
		out, err := command(t, "history", "HR-2041", "--clinic", clinic).Output()
		if err != nil || !strings.Contains(string(out), says) {
			t.Errorf("%v: after a kill the history says %s", err, out)
		}
	}
}

// TestTheDemonstrationIsThrownAway signs in with what it prints and looks at the
// morning; at the end nothing of it is left.
func TestTheDemonstrationIsThrownAway(t *testing.T) {
	t.Parallel()
	c, address, before := serving(t, "--demo")
	password := regexp.MustCompile(`password of all of them: (.+)\n`).FindStringSubmatch(before)
	if password == nil {
		t.Fatalf("it says %s", before)
	}
	client := signedIn(t, address, "Dr Alba Quill", password[1])
	r, err := client.Get(address + "/")
	if err != nil {
		t.Fatal(err)
	}
	page, err := io.ReadAll(r.Body)
	r.Body.Close()
	if err != nil || r.StatusCode != http.StatusOK || !bytes.Contains(page, []byte("demonstration")) {
		t.Errorf("%v: %d %s", err, r.StatusCode, page)
	}
	var folder string
	for _, entry := range c.Env {
		if name, ok := strings.CutPrefix(entry, "TMPDIR="); ok {
			folder = name
		}
	}
	if made, err := filepath.Glob(filepath.Join(folder, "graftclock-demo-*")); err != nil || len(made) != 1 {
		t.Fatalf("%v: %v", err, made)
	}
	if err := c.Process.Signal(os.Interrupt); err != nil {
		t.Fatal(err)
	}
	if err := c.Wait(); err != nil {
		t.Errorf("it ends with %v", err)
	}
	if left, _ := os.ReadDir(folder); len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
}
