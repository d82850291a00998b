package caldav

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"net/http"
	"strings"
	"sync"
	"testing"

	"github.com/google/go-cmp/cmp"

	"graftclock/internal/reference/radicale"
)

// event is a visit that takes place at start, as 20270114T083000Z.
func event(uid, start string) []byte {
	return []byte(strings.ReplaceAll(`BEGIN:VCALENDAR
VERSION:2.0
PRODID:-//graftclock//test//EN
BEGIN:VEVENT
UID:`+uid+`
DTSTAMP:20270104T080000Z
DTSTART:`+start+`
DURATION:PT45M
SUMMARY:Zażółć 上顎 <&> "quoted"
END:VEVENT
END:VCALENDAR
`, "\n", "\r\n"))
}

const morning, noon = "20270114T083000Z", "20270114T120000Z"

// shared starts Radicale with one empty calendar in it, beside the other tests.
func shared(t *testing.T) (*radicale.Server, *Client, string) {
	t.Helper()
	t.Parallel()
	s := radicale.Start(t)
	c := client(t, s, s.Password)
	home, _, err := c.Collections(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if err := c.Make(t.Context(), home+"visits/", "Visits"); err != nil {
		t.Fatal(err)
	}
	return s, c, home + "visits/"
}

func client(t *testing.T, s *radicale.Server, password string) *Client {
	t.Helper()
	c, err := New(Options{URL: s.URL, User: s.User, Password: password})
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func put(t *testing.T, c *Client, path, etag string, data []byte) string {
	t.Helper()
	etag, err := c.Put(t.Context(), path, etag, data)
	if err != nil {
		t.Fatalf("put %s: %v", path, err)
	}
	return etag
}

func changes(t *testing.T, c *Client, collection, token string) ([]Change, string) {
	t.Helper()
	found, next, err := c.Changes(t.Context(), collection, token)
	if err != nil {
		t.Fatalf("changes: %v", err)
	}
	return found, next
}

func TestCalendarsAreFoundAndMade(t *testing.T) {
	s, c, calendar := shared(t)
	name := `Über <&> "visits" 上`
	if err := c.Make(t.Context(), strings.TrimSuffix(calendar, "visits/")+"more", name); err != nil {
		t.Fatal(err)
	}
	home, all, err := c.Collections(t.Context())
	if err != nil || home != "/"+s.User+"/" {
		t.Errorf("home %q, %v", home, err)
	}
	if diff := cmp.Diff([]Collection{{home + "more/", name}, {home + "visits/", "Visits"}}, all); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
	l, err := c.properties(t.Context(), c.locate(calendar), "0", `<C:supported-calendar-component-set/>`)
	if err != nil || len(l.items) != 1 || len(l.items[0].props) != 1 {
		t.Fatalf("%+v, %v", l, err)
	}
	if takes := l.items[0].props[0].Components; len(takes.Components) != 1 || takes.Components[0].Name != "VEVENT" {
		t.Errorf("it takes %+v", takes)
	}
	var status *StatusError
	if err := c.Make(t.Context(), calendar, "again"); !errors.As(err, &status) || status.Code != http.StatusConflict || status.Condition != "resource-must-be-null" {
		t.Errorf("a second one at the same path: %v", err)
	}
}

func TestObjectIsCreatedChangedAndDeletedOnlyAsKnown(t *testing.T) {
	_, c, calendar := shared(t)
	ctx, path := t.Context(), calendar+"a.ics"
	first := put(t, c, path, "", event("a", morning))
	if _, err := c.Put(ctx, path, "", event("a", noon)); !IsConflict(err) {
		t.Errorf("creating it a second time: %v", err)
	}
	second := put(t, c, path, first, event("a", noon))
	if first == "" || first == second {
		t.Errorf("entity tags %q, %q", first, second)
	}
	if _, err := c.Put(ctx, path, first, event("a", morning)); !IsConflict(err) {
		t.Errorf("changing a version that is no more: %v", err)
	}
	if err := c.Delete(ctx, path, first); !IsConflict(err) {
		t.Errorf("deleting a version that is no more: %v", err)
	}
	o, err := c.Get(ctx, path)
	if err != nil || o.Path != path || o.ETag != second || !bytes.Contains(o.Data, []byte("\r\nDTSTART:"+noon+"\r\n")) {
		t.Errorf("got %+v, %v", o, err)
	}
	if err := c.Delete(ctx, path, second); err != nil {
		t.Errorf("deleting: %v", err)
	}
	if err := c.Delete(ctx, path, second); !IsMissing(err) {
		t.Errorf("deleting it a second time: %v", err)
	}
	if o, err = c.Get(ctx, path); err != nil || !o.Missing || o.Data != nil {
		t.Errorf("after that: %+v, %v", o, err)
	}
	if _, err := c.Put(ctx, path, second, event("a", morning)); !IsConflict(err) {
		t.Errorf("changing what is gone: %v", err)
	}
}

func TestServerNamesTheConditionItDoesNotMeet(t *testing.T) {
	_, c, calendar := shared(t)
	put(t, c, calendar+"a.ics", "", event("same", morning))
	_, err := c.Put(t.Context(), calendar+"b.ics", "", event("same", noon))
	var status *StatusError
	if !errors.As(err, &status) || status.Code != http.StatusConflict || status.Condition != "no-uid-conflict" || IsConflict(err) {
		t.Errorf("one UID under two paths: %v", err)
	}
	if _, err := c.Put(t.Context(), calendar+"c.ics", "", []byte("no calendar")); !errors.As(err, &status) || status.Code != http.StatusBadRequest {
		t.Errorf("no calendar: %v", err)
	}
}

func TestAnotherWritersChangesAreTold(t *testing.T) {
	s, c, calendar := shared(t)
	other := client(t, s, s.Password)
	kept, moved, dropped := calendar+"kept.ics", calendar+"moved.ics", calendar+"dropped.ics"
	tags := map[string]string{}
	for _, path := range []string{kept, moved, dropped} {
		tags[path] = put(t, c, path, "", event(path, morning))
	}
	all, token := changes(t, c, calendar, "")
	if diff := cmp.Diff([]Change{{Path: dropped, ETag: tags[dropped]}, {Path: kept, ETag: tags[kept]}, {Path: moved, ETag: tags[moved]}}, all); diff != "" {
		t.Errorf("everything (-want +got):\n%s", diff)
	}
	if none, _ := changes(t, c, calendar, token); len(none) != 0 {
		t.Errorf("nothing was changed: %v", none)
	}
	newest := put(t, other, moved, tags[moved], event(moved, noon))
	if err := other.Delete(t.Context(), dropped, tags[dropped]); err != nil {
		t.Fatal(err)
	}
	added := put(t, other, calendar+"added.ics", "", event("added", noon))
	some, next := changes(t, c, calendar, token)
	if diff := cmp.Diff([]Change{{Path: calendar + "added.ics", ETag: added}, {Path: dropped, Gone: true}, {Path: moved, ETag: newest}}, some); diff != "" {
		t.Errorf("since then (-want +got):\n%s", diff)
	}
	if _, err := c.Put(t.Context(), moved, tags[moved], event(moved, morning)); !IsConflict(err) {
		t.Errorf("writing over the other's: %v", err)
	}
	if again, _ := changes(t, c, calendar, next); len(again) != 0 {
		t.Errorf("told twice: %v", again)
	}
}

func TestForgottenTokenIsToldApart(t *testing.T) {
	s, c, calendar := shared(t)
	put(t, c, calendar+"a.ics", "", event("a", morning))
	_, token := changes(t, c, calendar, "")
	put(t, c, calendar+"b.ics", "", event("b", morning))
	s.ForgetTokens()
	for name, token := range map[string]string{"an old one": token, "one made up": "http://example.org/1", "no address": "x & <y>"} {
		if _, _, err := c.Changes(t.Context(), calendar, token); !errors.Is(err, ErrToken) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if all, _ := changes(t, c, calendar, ""); len(all) != 2 {
		t.Errorf("everything: %v", all)
	}
	if _, _, err := c.Changes(t.Context(), calendar+"none/", ""); !IsMissing(err) {
		t.Errorf("no such calendar: %v", err)
	}
}

func TestFetchTellsTheMissingApart(t *testing.T) {
	_, c, calendar := shared(t)
	a := put(t, c, calendar+"a.ics", "", event("a", morning))
	ü := put(t, c, calendar+"ü & b.ics", "", event("b", noon))
	objects, err := c.Fetch(t.Context(), calendar, []string{calendar + "ü & b.ics", calendar + "none.ics", calendar + "a.ics"})
	if err != nil {
		t.Fatal(err)
	}
	want := []Object{{Path: calendar + "%C3%BC%20&%20b.ics", ETag: ü}, {Path: calendar + "none.ics", Missing: true}, {Path: calendar + "a.ics", ETag: a}}
	for i, o := range objects {
		if !o.Missing {
			single, err := c.Get(t.Context(), o.Path)
			if err != nil || !bytes.Equal(single.Data, o.Data) {
				t.Errorf("Get reads other bytes than Fetch: %v\n%s\n%s", err, single.Data, o.Data)
			}
			want[i].Data = single.Data
		}
	}
	if diff := cmp.Diff(want, objects); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

// fill puts objects 000.ics, 001.ics... into a calendar, several at once.
func fill(t *testing.T, c *Client, calendar string, n int) {
	t.Helper()
	var writers sync.WaitGroup
	numbers := make(chan int)
	for range 4 {
		writers.Go(func() {
			for i := range numbers {
				if _, err := c.Put(t.Context(), fmt.Sprintf("%s%03d.ics", calendar, i), "", event(fmt.Sprint("uid-", i), morning)); err != nil {
					t.Error(err)
				}
			}
		})
	}
	for i := range n {
		numbers <- i
	}
	close(numbers)
	writers.Wait()
}

// TestHundredsOfObjects fills a calendar, reads it and downloads it whole.
func TestHundredsOfObjects(t *testing.T) {
	s, c, calendar := shared(t)
	const n = 300
	fill(t, c, calendar, n)
	all, _ := changes(t, c, calendar, "")
	var paths []string
	for _, change := range all {
		paths = append(paths, change.Path)
	}
	objects, err := c.Fetch(t.Context(), calendar, append(paths, calendar+"none.ics"))
	if err != nil || len(objects) != n+1 || !objects[n].Missing {
		t.Fatalf("%d objects, %v", len(objects), err)
	}
	for i, o := range objects[:n] {
		if o.Path != paths[i] || o.ETag != all[i].ETag || o.Err != nil || !bytes.Contains(o.Data, fmt.Appendf(nil, "\r\nUID:uid-%d\r\n", i)) {
			t.Fatalf("object %d: %+v", i, o)
		}
	}
	data, err := Download(t.Context(), Options{URL: s.URL + strings.TrimPrefix(calendar, "/"), User: s.User, Password: s.Password})
	if err != nil || bytes.Count(data, []byte("BEGIN:VEVENT")) != n {
		t.Errorf("downloaded %d events, %v", bytes.Count(data, []byte("BEGIN:VEVENT")), err)
	}
}

func TestServerThatGoesAndComesBack(t *testing.T) {
	s, c, calendar := shared(t)
	etag := put(t, c, calendar+"a.ics", "", event("a", morning))
	_, token := changes(t, c, calendar, "")
	s.Stop()
	if _, err := c.Put(t.Context(), calendar+"a.ics", etag, event("a", noon)); err == nil || !strings.Contains(err.Error(), "cannot be reached") {
		t.Errorf("while it is gone: %v", err)
	}
	if _, _, err := c.Changes(t.Context(), calendar, token); err == nil || errors.Is(err, ErrToken) {
		t.Errorf("while it is gone: %v", err)
	}
	s.Restart()
	etag = put(t, c, calendar+"a.ics", etag, event("a", noon))
	some, _ := changes(t, c, calendar, token)
	if diff := cmp.Diff([]Change{{Path: calendar + "a.ics", ETag: etag}}, some); diff != "" {
		t.Errorf("after it came back (-want +got):\n%s", diff)
	}
}

func TestWrongPasswordSaysSoWithoutIt(t *testing.T) {
	s, _, calendar := shared(t)
	c := client(t, s, "harbour row 8")
	_, _, err := c.Collections(t.Context())
	_, err2 := c.Put(t.Context(), calendar+"a.ics", "", event("a", morning))
	_, err3 := Download(t.Context(), Options{URL: s.URL + calendar[1:], User: s.User, Password: "harbour row 8"})
	for _, err := range []error{err, err2, err3} {
		if status(err) != http.StatusUnauthorized || !strings.Contains(err.Error(), "refuses user or password") {
			t.Errorf("got %v", err)
		}
		if strings.Contains(fmt.Sprint(err), "harbour row 8") || strings.Contains(err.Error(), s.User) {
			t.Errorf("%v", err)
		}
	}
	if _, err := client(t, s, s.Password).Get(t.Context(), "/somebody.else/cal/a.ics"); status(err) != http.StatusForbidden {
		t.Errorf("what belongs to another user: %v", err)
	}
}

func TestNobodyWaitsForACancelledRequest(t *testing.T) {
	_, c, calendar := shared(t)
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, _, err := c.Changes(ctx, calendar, ""); !errors.Is(err, context.Canceled) {
		t.Errorf("got %v", err)
	}
}
