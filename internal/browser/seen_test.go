package browser_test

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/runtime"
)

// seen is what a browser had to complain of in one tab: messages on its console,
// reports of the Content Security Policy, requests that failed or left the machine.
type seen struct {
	home string

	mu       sync.Mutex
	faults   []string
	asked    map[network.RequestID]string
	answered []answer
	allowed  []int64 // statuses that the test expects
}

// answer is one answer of the program.
type answer struct {
	method, path string
	status       int64
}

// mayAnswer lets pages be answered with statuses that otherwise fail the test.
func (s *seen) mayAnswer(statuses ...int64) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.allowed = append(s.allowed, statuses...)
}

// listen is called with each event of the tab, in order.
func (s *seen) listen(event any) {
	s.mu.Lock()
	defer s.mu.Unlock()
	switch e := event.(type) {
	case *log.EventEntryAdded:
		// What the network says is told below, with its status; what is verbose is advice.
		if e.Entry.Source != log.EntrySourceNetwork && e.Entry.Level != log.EntryLevelVerbose {
			s.fault("%s, %s: %s", e.Entry.Source, e.Entry.Level, e.Entry.Text)
		}
	case *runtime.EventConsoleAPICalled:
		s.fault("console, %s: %s", e.Type, spoken(e.Args))
	case *runtime.EventExceptionThrown:
		s.fault("script: %s", e.ExceptionDetails.Text)
	case *network.EventRequestWillBeSent:
		s.request(e)
	case *network.EventResponseReceived:
		s.response(e)
	case *network.EventLoadingFailed:
		if !e.Canceled {
			s.fault("not loaded: %s: %s %s", s.asked[e.RequestID], e.ErrorText, e.BlockedReason)
		}
	}
}

func (s *seen) fault(format string, args ...any) {
	s.faults = append(s.faults, fmt.Sprintf(format, args...))
}

func spoken(args []*runtime.RemoteObject) string {
	var all []string
	for _, a := range args {
		all = append(all, string(a.Value)+a.Description)
	}
	return strings.Join(all, " ")
}

func (s *seen) request(e *network.EventRequestWillBeSent) {
	if s.asked == nil {
		s.asked = map[network.RequestID]string{}
	}
	s.asked[e.RequestID] = e.Request.Method + " " + e.Request.URL
	to, err := url.Parse(e.Request.URL)
	if err != nil || to.Scheme != "data" && to.Scheme+"://"+to.Host != s.home && to.Scheme != "about" {
		s.fault("a request leaves the program: %s", e.Request.URL)
	}
}

func (s *seen) response(e *network.EventResponseReceived) {
	method, _, _ := strings.Cut(s.asked[e.RequestID], " ")
	a := answer{method: method, path: strings.TrimPrefix(e.Response.URL, s.home), status: e.Response.Status}
	s.answered = append(s.answered, a)
}

// complaints are what fails a test.
func (s *seen) complaints() []string {
	s.mu.Lock()
	defer s.mu.Unlock()
	all := slices.Clone(s.faults)
	for _, a := range s.answered {
		if a.status >= http.StatusBadRequest && !slices.Contains(s.allowed, a.status) {
			all = append(all, fmt.Sprintf("%d for %s %s", a.status, a.method, a.path))
		}
	}
	return all
}

// report fails the test on everything that was complained of.
func (s *seen) report(t testing.TB) {
	t.Helper()
	for _, says := range s.complaints() {
		t.Error("the browser complains:", says)
	}
}

// forgive drops what a test provoked.
func (s *seen) forgive() {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.faults, s.answered = nil, nil
}
