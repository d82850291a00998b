package radicale

import (
	"bytes"
	"fmt"
	"io"
	"os/exec"
	"regexp"
	"sync"
	"time"
)

// process is one run of the server.
type process struct {
	command *exec.Cmd
	input   io.Closer     // its end ends the server
	log     *log          // what the server says
	ended   chan struct{} // closed when the server is no more
}

func start(command *exec.Cmd) (*process, error) {
	p := &process{command: command, log: &log{ready: make(chan struct{})}, ended: make(chan struct{})}
	command.Stderr = p.log
	input, err := command.StdinPipe()
	if err != nil {
		return nil, err
	}
	p.input = input
	if err := command.Start(); err != nil {
		return nil, err
	}
	go func() {
		command.Wait()
		close(p.ended)
	}()
	return p, nil
}

// address returns host and port once the server accepts connections there.
func (p *process) address(patience time.Duration) (string, error) {
	select {
	case <-p.log.ready:
	case <-p.ended:
		return "", fmt.Errorf("it ended:\n%s", p.log.all())
	case <-time.After(patience):
		return "", fmt.Errorf("it is not ready after %v:\n%s", patience, p.log.all())
	}
	found := listening.FindSubmatch(p.log.all())
	if found == nil {
		return "", fmt.Errorf("it does not say where it listens:\n%s", p.log.all())
	}
	return "127.0.0.1:" + string(found[1]), nil
}

func (p *process) kill() {
	p.command.Process.Kill()
	<-p.ended
	p.input.Close()
}

// What the server's log says when it is up.
var (
	listening = regexp.MustCompile(`Listening on '\[127\.0\.0\.1\]:(\d+)'`)
	up        = []byte("server ready")
)

// log keeps what the server says.
type log struct {
	mutex sync.Mutex
	text  bytes.Buffer
	ready chan struct{} // closed when the server says so
	said  bool          // ready is closed
}

// Write takes what the server says.
func (l *log) Write(text []byte) (int, error) {
	l.mutex.Lock()
	defer l.mutex.Unlock()
	l.text.Write(text)
	if !l.said && bytes.Contains(l.text.Bytes(), up) {
		l.said = true
		close(l.ready)
	}
	return len(text), nil
}

func (l *log) all() []byte {
	l.mutex.Lock()
	defer l.mutex.Unlock()
	return bytes.Clone(l.text.Bytes())
}
