package caldav

import (
	"errors"
	"net/http"
	"strings"
	"testing"
)

// FuzzMultistatus reads what a server may say. Whatever it is, what comes out of it
// can be handed on: paths on the server, entity tags for a header, sentences.
func FuzzMultistatus(f *testing.F) {
	more := `<response><href>/cal/</href><status>HTTP/1.1 507 Insufficient Storage</status></response>`
	for _, parts := range []string{
		token, found("/cal/a.ics", `"1"`) + token, found("http://cal.example/cal/ü.ics", "W/1") + more + token,
		`<response><href>/cal/a.ics</href><href>%61</href>` + gone404 + `</response>`,
		`<response><href>/cal/a.ics</href><propstat><prop><C:calendar-data>BEGIN:VCALENDAR&#13;</C:calendar-data></prop></propstat><propstat><prop><getetag/></prop>` + gone404 + `</propstat></response>`,
		`<response><href>/</href><propstat><prop><current-user-principal><href>/who/</href></current-user-principal><C:calendar-home-set><href>//x/</href></C:calendar-home-set></prop>` + ok200 + `</propstat></response>`,
		`<response><href>/cal/</href><propstat><prop><resourcetype><C:calendar/></resourcetype><displayname>A</displayname><C:supported-calendar-component-set><C:comp name="VEVENT"/></C:supported-calendar-component-set></prop></propstat></response>`,
	} {
		f.Add([]byte(dav(parts)))
	}
	f.Add([]byte(`<D:error xmlns:D="DAV:"><D:valid-sync-token/></D:error>`))
	c, err := New(Options{URL: "http://127.0.0.1/cal/", User: fakeUser, Password: fakePassword})
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, body []byte) {
		if text := c.plain(condition(body)); len(text) > longest || strings.ContainsFunc(text, control) {
			t.Errorf("condition %q", text)
		}
		l, err := c.parse(answer{at: c.base, code: http.StatusMultiStatus, body: body})
		if fit(t, err); err != nil {
			return
		}
		latest, paths := map[string]Change{}, []string(nil)
		note(latest, l, "/cal/")
		for _, change := range sorted(latest) {
			sound(t, c, change.Path, change.ETag)
			paths = append(paths, change.Path)
		}
		objects := make([]Object, len(paths))
		for i, path := range paths {
			objects[i].Path = path
		}
		c.fill(objects, l)
		for _, o := range objects {
			sound(t, c, o.Path, o.ETag)
			said := map[bool]int{}
			for _, is := range []bool{o.Missing, o.Data != nil, o.Err != nil} {
				said[is]++
			}
			if said[true] != 1 {
				t.Errorf("%+v says more or less than one thing", o)
			}
			fit(t, o.Err)
		}
	})
}

// sound fails the test if a path or an entity tag could not be used again.
func sound(t *testing.T, c *Client, path, etag string) {
	t.Helper()
	if again, err := c.Path(path); err != nil || again != path || c.locate(path).RequestURI() != path {
		t.Errorf("path %q becomes %q, %v", path, again, err)
	}
	if _, err := c.object(path); err != nil && !errors.Is(err, errCollection) {
		t.Errorf("path %q: %v", path, err)
	}
	if etag != "" && (tag(etag) != etag || strings.ContainsAny(etag, "\r\n")) {
		t.Errorf("entity tag %q", etag)
	}
}
