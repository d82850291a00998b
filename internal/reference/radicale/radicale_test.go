package radicale

import (
	"net/http"
	"testing"
)

// status asks for the user's own folder; 0 is no answer.
func status(t *testing.T, s *Server, password string) int {
	t.Helper()
	request, err := http.NewRequest("PROPFIND", s.URL+s.User+"/", nil)
	if err != nil {
		t.Fatal(err)
	}
	request.SetBasicAuth(s.User, password)
	response, err := http.DefaultClient.Do(request)
	if err != nil {
		return 0
	}
	response.Body.Close()
	return response.StatusCode
}

func TestServerAnswersItsUserAndNobodyElse(t *testing.T) {
	s := Start(t)
	if got := status(t, s, s.Password); got != http.StatusMultiStatus {
		t.Errorf("the right password: %d", got)
	}
	if got := status(t, s, "guess"); got != http.StatusUnauthorized {
		t.Errorf("a wrong password: %d", got)
	}
}

func TestServerStopsAndComesBackAtTheSameAddress(t *testing.T) {
	s := Start(t)
	before := s.URL
	s.Stop()
	s.Stop() // a second time does nothing
	if got := status(t, s, s.Password); got != 0 {
		t.Errorf("a stopped server answers %d", got)
	}
	s.Restart()
	if got := status(t, s, s.Password); got != http.StatusMultiStatus || s.URL != before {
		t.Errorf("at %s, before at %s: %d", s.URL, before, got)
	}
}

func TestTwoServersDoNotMeet(t *testing.T) {
	a, b := Start(t), Start(t)
	if a.URL == b.URL {
		t.Errorf("both at %s", a.URL)
	}
	a.Stop()
	if got := status(t, b, b.Password); got != http.StatusMultiStatus {
		t.Errorf("after the other stopped: %d", got)
	}
}
