package caldav

import (
	"context"
	"net/url"
	"slices"
	"strings"
)

// batch is how many objects are asked for at once.
const batch = 100

// Fetch returns objects of one calendar (calendar-multiget, RFC 4791 7.9), one for
// each path and in the order of the paths, a hundred at a time. What is missing and
// what the server does not give out is marked so and ends nothing. One that the
// server says nothing about is not taken for missing.
func (c *Client) Fetch(ctx context.Context, collection string, paths []string) ([]Object, error) {
	at, err := c.collection(collection)
	if err != nil {
		return nil, err
	}
	objects := make([]Object, 0, len(paths))
	for some := range slices.Chunk(paths, batch) {
		fetched, err := c.fetch(ctx, at, some)
		if err != nil {
			return nil, err
		}
		objects = append(objects, fetched...)
	}
	return objects, nil
}

func (c *Client) fetch(ctx context.Context, at *url.URL, paths []string) ([]Object, error) {
	objects := make([]Object, len(paths))
	var asked strings.Builder
	for i, path := range paths {
		u, err := c.object(path)
		if err != nil {
			return nil, err
		}
		objects[i].Path = u.EscapedPath()
		asked.WriteString("<href>" + escaped(objects[i].Path) + "</href>")
	}
	body := `<C:calendar-multiget xmlns="DAV:" xmlns:C="urn:ietf:params:xml:ns:caldav"><prop><getetag/><C:calendar-data/></prop>` + asked.String() + `</C:calendar-multiget>`
	l, err := c.ask(ctx, request{method: "REPORT", at: at}, "1", body)
	if err != nil {
		return nil, err
	}
	c.fill(objects, l)
	return objects, nil
}

// fill puts what the server told into the objects asked for.
func (c *Client) fill(objects []Object, l list) {
	told := map[string]item{}
	for _, i := range l.items {
		told[i.path] = i
	}
	for n := range objects {
		o := &objects[n]
		i, ok := told[o.Path]
		data := i.first(func(p prop) string { return p.Data })
		switch {
		case !ok:
			o.Err = c.failed("says nothing about this object")
		case i.gone():
			o.Missing = true
		case data != "":
			o.ETag, o.Data = tag(i.first(func(p prop) string { return p.ETag })), lines(data)
		case i.code/100 != 2:
			o.Err = &StatusError{Host: c.base.Host, Method: "REPORT", Code: i.code}
		default:
			o.Err = c.failed("does not tell what stands in this object")
		}
	}
}

// lines gives a calendar back the ends of its lines, which XML has made bare LF of
// (XML 1.0 2.11), and takes off what stands around it.
func lines(data string) []byte {
	data = strings.TrimSpace(strings.TrimPrefix(data, "\ufeff"))
	data = strings.NewReplacer("\r\n", "\r\n", "\r", "\r\n", "\n", "\r\n").Replace(data)
	if data == "" {
		return nil
	}
	return []byte(data + "\r\n")
}
