package caldav

import (
	"context"
	"errors"
	"net/http"
)

// errNoTag refuses a change that would not see what it changes.
var errNoTag = errors.New("without its entity tag nothing is deleted: somebody may have changed it")

// Put writes one object and returns its new entity tag. With etag "" there must be
// none yet, otherwise it must be the version that etag tells; if not, IsConflict is
// true of the error and nothing has changed.
//
// The new tag is "" when the server gives none, as one that rewrites an object should
// not (RFC 4791 5.3.4); Get tells it. After any error that is no StatusError, and after
// one with a Code of 500 or more, the object may have been written or not.
func (c *Client) Put(ctx context.Context, path, etag string, data []byte) (string, error) {
	at, err := c.object(path)
	if err != nil {
		return "", err
	}
	header := map[string]string{"Content-Type": "text/calendar; charset=utf-8", "If-None-Match": "*"}
	if etag != "" {
		delete(header, "If-None-Match")
		header["If-Match"] = strong(etag)
	}
	a, err := c.write(ctx, request{http.MethodPut, at, header, data})
	if err != nil {
		return "", err
	}
	return tag(a.header.Get("ETag")), nil
}

// Delete deletes the version of an object that etag tells; IsConflict is true of the
// error when it is another by now, IsMissing when there is none. An empty etag is
// refused.
func (c *Client) Delete(ctx context.Context, path, etag string) error {
	at, err := c.object(path)
	if err != nil {
		return err
	}
	if etag == "" {
		return errNoTag
	}
	_, err = c.write(ctx, request{http.MethodDelete, at, map[string]string{"If-Match": strong(etag)}, nil})
	return err
}

// strong returns an entity tag for If-Match. A text that cannot be one is quoted all
// the same, and then equals none: * would equal all.
func strong(etag string) string {
	if t := tag(etag); t != "" {
		return t
	}
	return `"no tag"`
}

// write sends what changes something. An answer that lists what went wrong in parts
// (207) is an error.
func (c *Client) write(ctx context.Context, r request) (answer, error) {
	a, err := c.send(ctx, r)
	if err != nil || a.code != http.StatusMultiStatus {
		return a, err
	}
	l, err := c.parse(a)
	if err != nil {
		return answer{}, err
	}
	for _, i := range l.items {
		if i.code >= 300 {
			return answer{}, &StatusError{Host: c.base.Host, Method: r.method, Code: i.code}
		}
	}
	return a, nil
}

// Object is one resource of a calendar as it stands on the server.
type Object struct {
	Path    string // as Client writes it
	ETag    string // empty: the server gave none
	Data    []byte // its lines end in CR LF
	Missing bool   // there is none at Path; everything else is empty
	// Err says why Data is empty although the object is there: the server does not
	// give out this one. Only Fetch sets it.
	Err error
}

// Get returns one object. That there is none is no error.
func (c *Client) Get(ctx context.Context, path string) (Object, error) {
	at, err := c.object(path)
	if err != nil {
		return Object{}, err
	}
	o := Object{Path: at.EscapedPath()}
	a, err := c.send(ctx, request{http.MethodGet, at, map[string]string{"Accept": "text/calendar"}, nil})
	switch {
	case IsMissing(err):
		o.Missing = true
		return o, nil
	case err != nil:
		return Object{}, err
	}
	o.ETag, o.Data = tag(a.header.Get("ETag")), lines(string(a.body))
	return o, nil
}
