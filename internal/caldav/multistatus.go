package caldav

import (
	"bytes"
	"context"
	"encoding/xml"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"
)

// The answers of a server as XML (RFC 4918 14). A tag a>b would look for both names
// in one namespace, so what stands in an element of another one has a type.
type (
	multistatus struct {
		XMLName   xml.Name   `xml:"DAV: multistatus"`
		Token     string     `xml:"DAV: sync-token"`
		Responses []response `xml:"DAV: response"`
	}
	// response is about one resource, or about several that have one status.
	response struct {
		Hrefs  []string   `xml:"DAV: href"`
		Status string     `xml:"DAV: status"`
		Stats  []propstat `xml:"DAV: propstat"`
	}
	propstat struct {
		Status string `xml:"DAV: status"`
		Prop   prop   `xml:"DAV: prop"`
	}
	prop struct {
		ETag       string      `xml:"DAV: getetag"`
		Data       string      `xml:"urn:ietf:params:xml:ns:caldav calendar-data"`
		Principal  hrefs       `xml:"DAV: current-user-principal"`
		Home       hrefs       `xml:"urn:ietf:params:xml:ns:caldav calendar-home-set"`
		Name       string      `xml:"DAV: displayname"`
		Type       kind        `xml:"DAV: resourcetype"`
		Components *components `xml:"urn:ietf:params:xml:ns:caldav supported-calendar-component-set"`
	}
	hrefs struct {
		Hrefs []string `xml:"DAV: href"`
	}
	kind struct {
		Calendar *struct{} `xml:"urn:ietf:params:xml:ns:caldav calendar"`
	}
	components struct {
		Components []struct {
			Name string `xml:"name,attr"`
		} `xml:"urn:ietf:params:xml:ns:caldav comp"`
	}
)

// list is what a multistatus says, resource by resource.
type list struct {
	at    *url.URL // what answered
	token string
	items []item
}

// item is one resource and what could be told of it.
type item struct {
	path  string
	code  int    // of the first thing that could not be told; 200 if there is none
	whole bool   // code is about the resource, not about some of its properties
	props []prop // what could be told
}

// first returns the first property that is not empty.
func (i item) first(property func(prop) string) string {
	for _, p := range i.props {
		if text := strings.TrimSpace(property(p)); text != "" {
			return text
		}
	}
	return ""
}

// gone reports that the server says there is no such resource. That it has not this
// or that property does not say so.
func (i item) gone() bool { return i.whole && missing(i.code) }

const (
	xmlType = "application/xml; charset=utf-8"
	xmlHead = `<?xml version="1.0" encoding="utf-8"?>`
)

// ask sends a request whose answer is a multistatus.
func (c *Client) ask(ctx context.Context, r request, depth, body string) (list, error) {
	r.header = map[string]string{"Content-Type": xmlType, "Depth": depth}
	r.body = []byte(xmlHead + body)
	a, err := c.send(ctx, r)
	if err != nil {
		return list{}, err
	}
	if a.code != http.StatusMultiStatus {
		return list{}, &StatusError{Host: c.base.Host, Method: r.method, Code: a.code}
	}
	return c.parse(a)
}

// parse reads a multistatus.
func (c *Client) parse(a answer) (list, error) {
	var m multistatus
	if err := xml.Unmarshal(a.body, &m); err != nil {
		return list{}, c.failed("gives an answer that cannot be read" + where(err))
	}
	l := list{at: a.at, token: strings.TrimSpace(m.Token)}
	for _, r := range m.Responses {
		for _, href := range r.Hrefs {
			path, err := c.pathFrom(a.at, href)
			if err != nil {
				return list{}, err
			}
			i := r.item()
			i.path = path
			l.items = append(l.items, i)
		}
	}
	return l, nil
}

// where tells the line of an error in XML. The rest of it would repeat the server.
func where(err error) string {
	var e *xml.SyntaxError
	if errors.As(err, &e) {
		return fmt.Sprintf(" (line %d)", e.Line)
	}
	return ""
}

// item collects what a response tells.
func (r response) item() item {
	if found := code(r.Status); found/100 != 2 {
		return item{code: found, whole: true}
	}
	i := item{code: http.StatusOK}
	for _, s := range r.Stats {
		found := code(s.Status)
		switch {
		case found/100 == 2:
			i.props = append(i.props, s.Prop)
		case i.code == http.StatusOK:
			i.code = found
		}
	}
	return i
}

// code reads the status of a part of an answer, as HTTP/1.1 404 Not Found. None at
// all is success; one that cannot be read is a fault of the server.
func code(line string) int {
	if strings.TrimSpace(line) == "" {
		return http.StatusOK
	}
	for _, field := range strings.Fields(line) {
		if n, err := strconv.Atoi(field); err == nil && n >= 100 && n <= 599 {
			return n
		}
	}
	return http.StatusInternalServerError
}

// condition finds which precondition an error answer names (RFC 4918 16). Servers put
// words of their own beside it, and before it.
func condition(body []byte) string {
	var e struct {
		XMLName xml.Name                     `xml:"DAV: error"`
		Any     []struct{ XMLName xml.Name } `xml:",any"`
	}
	if xml.Unmarshal(body, &e) != nil {
		return ""
	}
	for _, named := range e.Any {
		if space := named.XMLName.Space; (space == "DAV:" || space == "urn:ietf:params:xml:ns:caldav") && len(named.XMLName.Local) <= longest/4 {
			return named.XMLName.Local
		}
	}
	return ""
}

// escaped makes a text content of an element.
func escaped(text string) string {
	var b bytes.Buffer
	xml.EscapeText(&b, []byte(text)) // a Buffer refuses nothing
	return b.String()
}
