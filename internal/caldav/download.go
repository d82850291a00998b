package caldav

import (
	"bytes"
	"context"
	"net/http"
	"strings"
)

// Download returns the calendar at one address: a feed, or a whole collection, which
// some servers give out as one calendar. The rules for the address are those of New,
// but it may have a query: in a feed that is often its key. Lines end as the server
// ends them. Something other than a calendar is an error.
func Download(ctx context.Context, o Options) ([]byte, error) {
	at, err := address(o.URL)
	if err != nil {
		return nil, err
	}
	c, err := newClient(at, o)
	if err != nil {
		return nil, err
	}
	a, err := c.send(ctx, request{http.MethodGet, at, map[string]string{"Accept": "text/calendar"}, nil})
	if err != nil {
		return nil, err
	}
	if !calendar(a.body) {
		return nil, c.failed("has something there that is no calendar")
	}
	return a.body, nil
}

// calendar reports that something begins as a calendar does.
func calendar(data []byte) bool {
	const begin = "BEGIN:VCALENDAR"
	data = bytes.TrimSpace(bytes.TrimPrefix(data, []byte("\ufeff")))
	return len(data) >= len(begin) && strings.EqualFold(string(data[:len(begin)]), begin)
}
