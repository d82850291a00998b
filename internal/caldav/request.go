package caldav

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"strings"
)

// hops is how often one request may be sent on.
const hops = 5

// request is one thing asked of the server.
type request struct {
	method string
	at     *url.URL
	header map[string]string
	body   []byte
}

// answer is what the server said to it, with a status of 200 to 299.
type answer struct {
	at     *url.URL // where it was found in the end
	code   int
	header http.Header
	body   []byte
}

// send asks the server, following it to another address of its own. The method
// stays what it is: net/http would make a GET of everything at a 301 or 302.
func (c *Client) send(ctx context.Context, r request) (answer, error) {
	for range hops {
		a, err := c.once(ctx, r)
		if err != nil {
			return answer{}, err
		}
		if !moved(r.method, a.code) {
			return a, nil
		}
		if r.at, err = c.reach(r.at, a.header.Get("Location")); err != nil {
			return answer{}, err
		}
	}
	return answer{}, c.failed("sends from one address to the next without end")
}

// moved reports that an answer only says where to ask. See Other (303) is for GET.
func moved(method string, code int) bool {
	switch code {
	case http.StatusMovedPermanently, http.StatusFound, http.StatusTemporaryRedirect, http.StatusPermanentRedirect:
		return true
	}
	return code == http.StatusSeeOther && method == http.MethodGet
}

// once asks at one address.
func (c *Client) once(ctx context.Context, r request) (answer, error) {
	q, err := c.prepare(ctx, r)
	if err != nil {
		return answer{}, err
	}
	response, err := c.http.Do(q)
	if err != nil {
		return answer{}, c.unreachable("cannot be reached", err)
	}
	defer response.Body.Close()
	body, err := c.read(response.Body)
	if err != nil {
		return answer{}, err
	}
	if response.StatusCode/100 != 2 && !moved(r.method, response.StatusCode) {
		return answer{}, c.refused(r.method, response, body)
	}
	return answer{r.at, response.StatusCode, response.Header, body}, nil
}

func (c *Client) prepare(ctx context.Context, r request) (*http.Request, error) {
	q, err := http.NewRequestWithContext(ctx, r.method, r.at.String(), bytes.NewReader(r.body))
	if err != nil {
		return nil, c.failed("cannot be asked this")
	}
	for name, value := range r.header {
		q.Header.Set(name, value)
	}
	q.Header.Set("User-Agent", "graftclock")
	q.Header.Set("Accept-Encoding", "identity")
	if c.user != "" {
		q.SetBasicAuth(c.user, c.password)
	}
	return q, nil
}

// read reads an answer to its end.
func (c *Client) read(body io.Reader) ([]byte, error) {
	data, err := io.ReadAll(io.LimitReader(body, c.limit+1))
	if err != nil {
		return nil, c.unreachable("breaks off its answer", err)
	}
	if int64(len(data)) > c.limit {
		return nil, c.failed(fmt.Sprintf("gives an answer of more than %d bytes", c.limit))
	}
	return data, nil
}

// refused makes the error of an answer that is none of success.
func (c *Client) refused(method string, response *http.Response, body []byte) error {
	e := &StatusError{Host: c.base.Host, Method: method, Code: response.StatusCode, Condition: c.plain(condition(body))}
	if e.Code == http.StatusUnauthorized && !takesBasic(response.Header.Values("WWW-Authenticate")) {
		e.Condition = noBasic
	}
	return e
}

// takesBasic reports whether the ways to log in that a server names have Basic among
// them, or it names none.
func takesBasic(ways []string) bool {
	all := strings.ToLower(strings.Join(ways, ", "))
	return all == "" || strings.HasPrefix(all, "basic") || strings.Contains(all, ", basic")
}
