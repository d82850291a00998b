package caldav

import (
	"errors"
	"fmt"
	"net/url"
	"strings"
)

// Path returns the path of an address on the server as the client writes it; see
// Client. A relative one counts from Options.URL.
func (c *Client) Path(address string) (string, error) { return c.pathFrom(c.base, address) }

// pathFrom reads an href of an answer from the address at.
func (c *Client) pathFrom(at *url.URL, href string) (string, error) {
	u, err := c.reach(at, strings.TrimSpace(href))
	if err != nil {
		return "", err
	}
	if u.RawQuery != "" || u.ForceQuery || u.Fragment != "" {
		return "", c.failed("is asked for an address with a ? or a #")
	}
	path, err := canonical(u.EscapedPath())
	if err != nil {
		return "", c.failed("is asked for an address that is none")
	}
	return path, nil
}

// reach resolves an address and refuses one on another server.
func (c *Client) reach(at *url.URL, href string) (*url.URL, error) {
	u, err := at.Parse(href)
	if err != nil {
		return nil, c.failed("is asked for an address that is none")
	}
	if u.User != nil || origin(u) != origin(c.base) {
		return nil, c.failed("is asked for an address on another server, where user and password do not go: " + c.plain(u.Scheme+"://"+u.Host))
	}
	return u, nil
}

// origin is scheme, host and port, written in one way (RFC 6454 4).
func origin(u *url.URL) string {
	port := u.Port()
	if port == "" {
		port = map[string]string{"http": "80", "https": "443"}[u.Scheme]
	}
	return fmt.Sprintf("%s://%s", u.Scheme, strings.ToLower(hostPort(u.Hostname(), port)))
}

func hostPort(host, port string) string {
	if strings.Contains(host, ":") {
		host = "[" + host + "]"
	}
	return host + ":" + port
}

var errDots = errors.New("a part of its path is dots")

// canonical writes an escaped path in one way. What is escaped in a part stays in
// it: %2F is no slash.
func canonical(escaped string) (string, error) {
	parts := strings.Split(escaped, "/")
	for i, part := range parts {
		text, err := url.PathUnescape(part)
		if err != nil {
			return "", err
		}
		if text == "." || text == ".." {
			return "", errDots
		}
		parts[i] = url.PathEscape(text)
	}
	return "/" + strings.TrimPrefix(strings.Join(parts, "/"), "/"), nil
}

// errCollection refuses what would write over, or delete, all that a collection holds.
var errCollection = errors.New("the path of a collection is not that of an object in it")

// object returns the address of an object.
func (c *Client) object(path string) (*url.URL, error) {
	path, err := c.Path(path)
	if err != nil {
		return nil, err
	}
	if strings.HasSuffix(path, "/") {
		return nil, errCollection
	}
	return c.locate(path), nil
}

// collection returns the address of a collection.
func (c *Client) collection(path string) (*url.URL, error) {
	path, err := c.Path(path)
	if err != nil {
		return nil, err
	}
	return c.locate(folder(path)), nil
}

func folder(path string) string { return strings.TrimSuffix(path, "/") + "/" }

// locate makes the address of a path that Path has written.
func (c *Client) locate(path string) *url.URL {
	u := *c.base
	u.Path, _ = url.PathUnescape(path) // canonical: it cannot fail
	u.RawPath, u.RawQuery = path, ""
	return &u
}
