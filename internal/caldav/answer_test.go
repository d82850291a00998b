package caldav

import (
	"errors"
	"fmt"
	"io"
	"net/http"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

const (
	ok200   = `<status>HTTP/1.1 200 OK</status>`
	gone404 = `<status>HTTP/1.1 404 Not Found</status>`
)

func TestChangesAreReadFromAnyXML(t *testing.T) {
	one := []Change{{Path: "/cal/a.ics", ETag: `"1"`}}
	gone := []Change{{Path: "/cal/a.ics", Gone: true}}
	bare := []Change{{Path: "/cal/a.ics"}}
	for name, c := range map[string]struct {
		body string
		want []Change
	}{
		"a prefix": {`<?xml version="1.0" encoding="UTF-8"?><x:multistatus xmlns:x="DAV:"><x:response><x:href>/cal/a.ics</x:href><x:propstat><x:prop><x:getetag>"1"</x:getetag></x:prop><x:status>HTTP/1.1 200 OK</x:status></x:propstat></x:response><x:sync-token>t</x:sync-token></x:multistatus>`, one},
		"a byte order mark, a comment, CDATA, white space": {"\ufeff" + `<multistatus xmlns="DAV:"><!-- - --> <response>
			<href> <![CDATA[/cal/a.ics]]> </href> <propstat> <prop> <getetag> &quot;<!-- x -->1" </getetag> </prop> <status> HTTP/1.1 200 OK </status> </propstat> </response> <sync-token> t </sync-token></multistatus>`, one},
		"words nobody knows":          {dav(`<response x="1"><href>/cal/a.ics</href><propstat><prop><getetag>1</getetag><new xmlns="urn:x"><getetag>2</getetag></new></prop>` + ok200 + `<responsedescription/></propstat><note/></response>` + token), one},
		"the same word of another":    {dav(`<response><href>/cal/a.ics</href><propstat><prop><getetag>1</getetag><getetag xmlns="urn:x">2</getetag></prop>` + ok200 + `</propstat></response><response xmlns="urn:x"><href>/cal/b.ics</href></response>` + token), one},
		"an absolute address":         {dav(found("http://HOST/cal/a.ics", "1") + token), one},
		"a relative address":          {dav(found("a.ics", "1") + token), one},
		"other escapes":               {dav(found("/%63al/%61.ics", "1") + token), one},
		"no quotes":                   {dav(found("/cal/a.ics", "1") + token), one},
		"a weak tag":                  {dav(found("/cal/a.ics", `W/"1"`) + token), one},
		"no tag":                      {dav(found("/cal/a.ics", ``) + token), bare},
		"a tag that cannot be told":   {dav(`<response><href>/cal/a.ics</href><propstat><prop><getetag>7</getetag></prop>` + gone404 + `</propstat></response>` + token), bare},
		"no status":                   {dav(`<response><href>/cal/a.ics</href><propstat><prop><getetag>1</getetag></prop></propstat></response>` + token), one},
		"a status of the whole":       {dav(`<response><href>/cal/a.ics</href><propstat><prop><getetag>1</getetag></prop>` + ok200 + `</propstat>` + ok200 + `</response>` + token), one},
		"gone":                        {dav(`<response><href>/cal/a.ics</href>` + gone404 + `</response>` + token), gone},
		"gone for good, over HTTP/2":  {dav(`<response><href>/cal/a.ics</href><status>HTTP/2 410</status></response>` + token), gone},
		"gone with properties":        {dav(`<response><href>/cal/a.ics</href><propstat><prop><getetag>1</getetag></prop>` + ok200 + `</propstat>` + gone404 + `</response>` + token), gone},
		"several with one status":     {dav(`<response><href>/cal/a.ics</href><href>/cal/b.ics</href>` + gone404 + `</response>` + token), []Change{{Path: "/cal/a.ics", Gone: true}, {Path: "/cal/b.ics", Gone: true}}},
		"changed and not given out":   {dav(`<response><href>/cal/a.ics</href><status>HTTP/1.1 403 Forbidden</status></response>` + token), bare},
		"a status nobody can read":    {dav(`<response><href>/cal/a.ics</href><status>fine</status></response>` + token), bare},
		"told twice, the last counts": {dav(`<response><href>/cal/a.ics</href>` + gone404 + `</response>` + found("/cal/a.ics", "1") + token), one},
		"collections":                 {dav(found("/cal/", "7") + found("/cal", "7") + found("/cal/sub/", "7") + found("/cal/a.ics", "1") + token), one},
		"nothing":                     {dav(token), []Change{}},
	} {
		t.Run(name, func(t *testing.T) {
			client := fake(t, func(w http.ResponseWriter, r *http.Request) {
				w.WriteHeader(http.StatusMultiStatus)
				io.WriteString(w, strings.ReplaceAll(c.body, "HOST", r.Host))
			})
			got, next, err := client.Changes(t.Context(), "/cal", "")
			if diff := cmp.Diff(c.want, got); diff != "" || err != nil || next != "t" {
				t.Errorf("token %q, %v (-want +got):\n%s", next, err, diff)
			}
		})
	}
}

func dav(parts string) string {
	return `<multistatus xmlns="DAV:" xmlns:C="urn:ietf:params:xml:ns:caldav">` + parts + `</multistatus>`
}

func TestAnswerThatIsNoneIsAnError(t *testing.T) {
	for name, c := range map[string]struct{ body, words string }{
		"nothing":               {"", "cannot be read"},
		"text":                  {"all is well", "cannot be read"},
		"a page":                {"<html><body>log in</body></html>", "cannot be read"},
		"another root":          {`<response xmlns="DAV:"/>`, "cannot be read"},
		"no namespace":          {`<multistatus><sync-token>t</sync-token></multistatus>`, "cannot be read"},
		"cut short":             {dav(found("/cal/a.ics", "1") + token)[:200], "cannot be read (line 1)"},
		"an entity":             {`<!DOCTYPE x [<!ENTITY e "/cal/a.ics">]>` + dav(found("&e;", "1")+token), "cannot be read"},
		"another character set": {`<?xml version="1.0" encoding="utf-16"?>` + dav(token), "cannot be read"},
		"endless depth":         {strings.Repeat("<a>", 100000), "cannot be read"},
		"no token":              {dav(found("/cal/a.ics", "1")), "does not say how to ask for later changes"},
		"another server":        {dav(found("https://other.example/cal/a.ics", "1") + token), "is asked for an address on another server, where user and password do not go: https://other.example"},
		"another port":          {dav(found("http://127.0.0.1:1/cal/a.ics", "1") + token), "is asked for an address on another server"},
		"no address":            {dav(found("/cal/%zz.ics", "1") + token), "for an address that is none"},
		"a query":               {dav(found("/cal/a.ics?x", "1") + token), "with a ? or a #"},
		"dots":                  {dav(found("/cal/%2e%2E/a.ics", "1") + token), "for an address that is none"},
	} {
		t.Run(name, func(t *testing.T) {
			client := fake(t, func(w http.ResponseWriter, _ *http.Request) {
				w.WriteHeader(http.StatusMultiStatus)
				io.WriteString(w, c.body)
			})
			_, _, err := client.Changes(t.Context(), "/cal/", "")
			wrong(t, err, c.words)
		})
	}
	_, _, err := fake(t, func(http.ResponseWriter, *http.Request) {}).Changes(t.Context(), "/cal/", "")
	wrong(t, err, "speaks no CalDAV")
}

// TestAnswerCutShortIsAskedForToItsEnd plays a server that tells two changes at a
// time (RFC 6578 3.6).
func TestAnswerCutShortIsAskedForToItsEnd(t *testing.T) {
	more := `<response><href>/cal/</href><status>HTTP/1.1 507 Insufficient Storage</status><error><number-of-matches-within-limits/></error></response>`
	answers := map[string]string{
		"":   found("/cal/a.ics", "1") + found("/cal/b.ics", "1") + more + `<sync-token>t1</sync-token>`,
		"t1": `<response><href>/cal/a.ics</href>` + gone404 + `</response>` + found("/cal/c.ics", "1") + more + `<sync-token>t2</sync-token>`,
		"t2": found("/cal/b.ics", "2") + `<sync-token>t3</sync-token>`,
	}
	c := fake(t, func(w http.ResponseWriter, r *http.Request) {
		body, _ := io.ReadAll(r.Body)
		_, rest, _ := strings.Cut(string(body), "<sync-token>")
		asked, _, _ := strings.Cut(rest, "</sync-token>")
		multi(w, answers[asked])
	})
	got, next, err := c.Changes(t.Context(), "/cal/", "")
	want := []Change{{Path: "/cal/a.ics", Gone: true}, {Path: "/cal/b.ics", ETag: `"2"`}, {Path: "/cal/c.ics", ETag: `"1"`}}
	if diff := cmp.Diff(want, got); diff != "" || err != nil || next != "t3" {
		t.Errorf("token %q, %v (-want +got):\n%s", next, err, diff)
	}
}

func TestAnswersCutShortWithoutEndEnd(t *testing.T) {
	more := `<response><href>/cal/</href><status>HTTP/1.1 507 Insufficient Storage</status></response>`
	for name, most := range map[string]int{"<sync-token>same</sync-token>": 2, "<sync-token>%d</sync-token>": rounds} {
		asked := 0
		_, _, err := fake(t, func(w http.ResponseWriter, _ *http.Request) {
			asked++
			multi(w, more+strings.ReplaceAll(name, "%d", fmt.Sprint(asked)))
		}).Changes(t.Context(), "/cal/", "")
		wrong(t, err, "without end")
		if asked > most {
			t.Errorf("%s: asked %d times", name, asked)
		}
	}
}

func TestTokenIsForgottenWhereTheServerSaysSo(t *testing.T) {
	refuse := func(code int, conditions string) *Client {
		return fake(t, func(w http.ResponseWriter, _ *http.Request) {
			w.WriteHeader(code)
			fmt.Fprintf(w, `<D:error xmlns:D="DAV:" xmlns:S="urn:x">%s</D:error>`, conditions)
		})
	}
	const unknown = `<D:valid-sync-token/>`
	for name, c := range map[string]struct {
		code              int
		conditions, token string
		forgotten         bool
	}{
		"forbidden":                {403, unknown, "t", true},
		"conflict":                 {409, unknown, "t", true},
		"behind words of its own":  {403, `<S:version>4</S:version><S:exception>Token</S:exception>` + unknown, "t", true},
		"in words of its own only": {403, `<S:valid-sync-token/>`, "t", false},
		"not permitted":            {403, `<D:need-privileges/>`, "t", false},
		"never given":              {403, unknown, "", false},
		"no such report":           {403, `<D:supported-report/>`, "t", false},
		"no such calendar":         {404, `<D:x/>`, "t", false},
	} {
		_, _, err := refuse(c.code, c.conditions).Changes(t.Context(), "/cal/", c.token)
		if errors.Is(err, ErrToken) != c.forgotten {
			t.Errorf("%s: %v", name, err)
		}
		fit(t, err)
	}
}

func TestFetchMarksEachObjectByItself(t *testing.T) {
	data := `<propstat><prop><getetag>1</getetag><C:calendar-data> BEGIN:VCALENDAR&#13;
END:VCALENDAR</C:calendar-data></prop>` + ok200 + `</propstat>`
	c := says(t, `<response><href>/cal/fine.ics</href>`+data+`</response>`+
		`<response><href>/cal/missing.ics</href>`+gone404+`</response>`+
		`<response><href>/cal/secret.ics</href><status>HTTP/1.1 403 Forbidden</status></response>`+
		`<response><href>/cal/half.ics</href><propstat><prop><getetag>1</getetag></prop>`+ok200+`</propstat><propstat><prop><C:calendar-data/></prop><status>HTTP/1.1 403 Forbidden</status></propstat></response>`+
		`<response><href>/cal/lost.ics</href><propstat><prop><getetag/><C:calendar-data/></prop>`+gone404+`</propstat></response>`+
		found("/cal/empty.ics", "1")+`<response><href>/cal/unasked.ics</href>`+data+`</response>`)
	names := []string{"fine", "missing", "secret", "half", "lost", "empty", "untold"}
	var paths []string
	for _, name := range names {
		paths = append(paths, "/cal/"+name+".ics")
	}
	objects, err := c.Fetch(t.Context(), "/cal/", paths)
	if err != nil || len(objects) != len(names) {
		t.Fatalf("%d objects, %v", len(objects), err)
	}
	want := map[string]string{
		"fine": "", "missing": "", "secret": "does not permit this", "half": "does not permit this", "lost": "has nothing there",
		"empty": "does not tell what stands in this object", "untold": "says nothing about this object",
	}
	for i, o := range objects {
		name := names[i]
		if o.Path != paths[i] || o.Missing != (name == "missing") || (o.Data != nil) != (name == "fine") || (o.Err != nil) != (want[name] != "") {
			t.Errorf("%s: %+v", name, o)
		}
		if o.Err != nil {
			wrong(t, o.Err, want[name])
		}
	}
	if string(objects[0].Data) != "BEGIN:VCALENDAR\r\nEND:VCALENDAR\r\n" || objects[0].ETag != `"1"` {
		t.Errorf("got %+v", objects[0])
	}
}

func TestLinesEndInCRLF(t *testing.T) {
	for text, want := range map[string]string{
		"A\nB\n": "A\r\nB\r\n", "A\r\nB": "A\r\nB\r\n", "A\rB\r": "A\r\nB\r\n", "\ufeff\n A\n\nB\n\n": "A\r\n\r\nB\r\n", "": "", " \n": "",
	} {
		if got := string(lines(text)); got != want {
			t.Errorf("%q becomes %q, want %q", text, got, want)
		}
	}
}

func TestFetchAsksForAHundredAtATime(t *testing.T) {
	var asked []int
	c := fake(t, func(w http.ResponseWriter, r *http.Request) {
		body, _ := io.ReadAll(r.Body)
		asked = append(asked, strings.Count(string(body), "<href>"))
		multi(w, "")
	})
	for _, n := range []int{0, 1, 100, 101, 250} {
		asked = nil
		var paths []string
		for i := range n {
			paths = append(paths, fmt.Sprintf("/cal/%d.ics", i))
		}
		objects, err := c.Fetch(t.Context(), "/cal/", paths)
		if err != nil || len(objects) != n || len(asked) != (n+99)/100 {
			t.Errorf("%d paths: asked for %v, %d objects, %v", n, asked, len(objects), err)
		}
	}
}

func TestCalendarsAreFoundAsServersTellOfThem(t *testing.T) {
	wellKnownOnly := false
	c := fake(t, func(w http.ResponseWriter, r *http.Request) {
		body, _ := io.ReadAll(r.Body)
		prop := func(text string) string {
			return `<response><href>` + r.URL.Path + `</href><propstat><prop>` + text + `</prop>` + ok200 + `</propstat></response>`
		}
		calendar := func(href, more string) string {
			return `<response><href>` + href + `</href><propstat><prop><resourcetype><collection/><C:calendar/></resourcetype>` + more + `</prop>` + ok200 + `</propstat><propstat><prop><x/></prop>` + gone404 + `</propstat></response>`
		}
		takes := func(component string) string {
			return `<C:supported-calendar-component-set><C:comp name="` + component + `"/></C:supported-calendar-component-set>`
		}
		switch {
		case r.URL.Path == wellKnown && wellKnownOnly:
			http.Redirect(w, r, "/dav/", http.StatusMovedPermanently)
		case r.URL.Path == "/" && wellKnownOnly:
			w.WriteHeader(http.StatusMethodNotAllowed)
		case strings.Contains(string(body), "principal"):
			multi(w, prop(`<current-user-principal><href>http://`+r.Host+`/who/ida</href></current-user-principal>`))
		case r.URL.Path == "/who/ida":
			multi(w, prop(`<C:calendar-home-set><href>/home</href><href>/shared/</href></C:calendar-home-set>`))
		case r.URL.Path == "/home/":
			multi(w, prop(`<resourcetype><collection/></resourcetype>`)+calendar("/home/b/", `<displayname> Visits </displayname>`+takes("vevent"))+
				calendar("/home/tasks/", takes("VTODO"))+calendar("/home/a", ``)+`<response><href>/home/photos/</href><propstat><prop><resourcetype><collection/></resourcetype></prop>`+ok200+`</propstat></response>`)
		default:
			multi(w, calendar("/shared/c/", ``)+calendar("/home/b/", `<displayname>Visits</displayname>`))
		}
	})
	for _, wellKnownOnly = range []bool{false, true} {
		home, all, err := c.Collections(t.Context())
		if diff := cmp.Diff([]Collection{{"/home/a/", ""}, {"/home/b/", "Visits"}, {"/shared/c/", ""}}, all); diff != "" || err != nil || home != "/home/" {
			t.Errorf("home %q, %v (-want +got):\n%s", home, err, diff)
		}
	}
	_, _, err := says(t, `<response><href>/</href><propstat><prop><current-user-principal><unauthenticated/></current-user-principal></prop>`+ok200+`</propstat></response>`).Collections(t.Context())
	wrong(t, err, "does not say where the calendars of its user are")
	_, _, err = says(t, `<response><href>/</href><propstat><prop><current-user-principal><href>/who/</href></current-user-principal></prop>`+ok200+`</propstat></response>`).Collections(t.Context())
	wrong(t, err, "keeps no calendars for its user")
}
