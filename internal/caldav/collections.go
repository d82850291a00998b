package caldav

import (
	"cmp"
	"context"
	"net/http"
	"net/url"
	"slices"
	"strings"
)

// Collection is a calendar on the server that takes events.
type Collection struct {
	Path string // as Client writes it
	Name string // shown to people; may be empty
}

// wellKnown is where a server says where its calendars are (RFC 6764 5).
const wellKnown = "/.well-known/caldav"

// Collections returns the folder that a calendar of the user is made in and the
// calendars that there are, by path: it asks at Options.URL, and else at the
// well-known address, who the user is (RFC 5397) and where the calendars are kept
// (RFC 4791 6.2.1).
func (c *Client) Collections(ctx context.Context) (home string, all []Collection, err error) {
	principal, err := c.principal(ctx)
	if err != nil {
		return "", nil, err
	}
	homes, err := c.homes(ctx, principal)
	if err != nil {
		return "", nil, err
	}
	for _, h := range homes {
		some, err := c.calendars(ctx, h)
		if err != nil {
			return "", nil, err
		}
		all = append(all, some...)
	}
	slices.SortFunc(all, func(a, b Collection) int { return strings.Compare(a.Path, b.Path) })
	return homes[0], slices.Compact(all), nil
}

// principal returns the address of the user. An answer that tells none sends on to
// the well-known address; no answer, or one about user and password, does not.
func (c *Client) principal(ctx context.Context) (*url.URL, error) {
	at := *c.base
	var first error
	for _, at := range []*url.URL{&at, c.locate(wellKnown)} {
		found, err := c.principalAt(ctx, at)
		code := status(err)
		if found != nil || code == http.StatusUnauthorized || err != nil && code == 0 {
			return found, err
		}
		first = cmp.Or(first, err)
	}
	return nil, cmp.Or(first, c.failed("does not say where the calendars of its user are"))
}

func (c *Client) principalAt(ctx context.Context, at *url.URL) (*url.URL, error) {
	paths, err := c.hrefs(ctx, at, `<current-user-principal/>`, func(p prop) []string { return p.Principal.Hrefs })
	if err != nil || len(paths) == 0 {
		return nil, err
	}
	return c.locate(paths[0]), nil
}

// homes returns the folders that hold the user's calendars; at least one.
func (c *Client) homes(ctx context.Context, principal *url.URL) ([]string, error) {
	paths, err := c.hrefs(ctx, principal, `<C:calendar-home-set/>`, func(p prop) []string { return p.Home.Hrefs })
	if err == nil && len(paths) == 0 {
		err = c.failed("keeps no calendars for its user")
	}
	for i := range paths {
		paths[i] = folder(paths[i])
	}
	return paths, err
}

// hrefs asks one resource for a property that names others.
func (c *Client) hrefs(ctx context.Context, at *url.URL, property string, of func(prop) []string) ([]string, error) {
	l, err := c.properties(ctx, at, "0", property)
	if err != nil {
		return nil, err
	}
	var paths []string
	for _, i := range l.items {
		for _, p := range i.props {
			for _, href := range of(p) {
				path, err := c.pathFrom(l.at, href)
				if err != nil {
					return nil, err
				}
				paths = append(paths, path)
			}
		}
	}
	return paths, nil
}

func (c *Client) properties(ctx context.Context, at *url.URL, depth, properties string) (list, error) {
	body := `<propfind xmlns="DAV:" xmlns:C="urn:ietf:params:xml:ns:caldav"><prop>` + properties + `</prop></propfind>`
	return c.ask(ctx, request{method: "PROPFIND", at: at}, depth, body)
}

// calendars returns what lies in one folder.
func (c *Client) calendars(ctx context.Context, home string) ([]Collection, error) {
	l, err := c.properties(ctx, c.locate(home), "1", `<resourcetype/><displayname/><C:supported-calendar-component-set/>`)
	if err != nil {
		return nil, err
	}
	var all []Collection
	for _, i := range l.items {
		if i.takesEvents() {
			all = append(all, Collection{folder(i.path), i.first(func(p prop) string { return p.Name })})
		}
	}
	return all, nil
}

// takesEvents reports a calendar that may hold events. One that does not say what it
// holds may (RFC 4791 5.2.3).
func (i item) takesEvents() bool {
	calendar, events, said := false, false, false
	for _, p := range i.props {
		calendar = calendar || p.Type.Calendar != nil
		if p.Components != nil {
			said = true
			for _, component := range p.Components.Components {
				events = events || strings.EqualFold(component.Name, "VEVENT")
			}
		}
	}
	return calendar && (events || !said)
}

// Make makes an empty calendar for events (RFC 4791 5.3.1). That something is there
// already is a StatusError, of which servers differ in the code: 403, 405 or 409.
func (c *Client) Make(ctx context.Context, path, name string) error {
	at, err := c.collection(path)
	if err != nil {
		return err
	}
	body := `<C:mkcalendar xmlns="DAV:" xmlns:C="urn:ietf:params:xml:ns:caldav"><set><prop><displayname>` + escaped(name) +
		`</displayname><C:supported-calendar-component-set><C:comp name="VEVENT"/></C:supported-calendar-component-set></prop></set></C:mkcalendar>`
	_, err = c.write(ctx, request{"MKCALENDAR", at, map[string]string{"Content-Type": xmlType}, []byte(xmlHead + body)})
	return err
}
