package cli

import (
	"errors"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"graftclock/internal/graft"
)

// TestACalendarThatWantsALoginNamesTheVariables asks a server that refuses everybody.
func TestACalendarThatWantsALoginNamesTheVariables(t *testing.T) {
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("WWW-Authenticate", `Basic realm="calendars"`) // RFC 9110 15.5.2
		w.WriteHeader(http.StatusUnauthorized)
	}))
	defer server.Close()
	t.Setenv(envBusyUser, "quill")
	t.Setenv(envBusyPassword, "knock-knock")
	_, err := download(server.URL + "/quill.ics")
	var refusal *graft.Refusal
	if !errors.As(err, &refusal) || !strings.Contains(refusal.Hint, "$"+envBusyUser) || !strings.Contains(refusal.Hint, "$"+envBusyPassword) {
		t.Errorf("got %v, want a hint that names the variables", err)
	}
	if refusal != nil && strings.Contains(refusal.Message+refusal.Hint, "knock") {
		t.Errorf("it tells the password: %s; %s", refusal.Message, refusal.Hint)
	}
}
