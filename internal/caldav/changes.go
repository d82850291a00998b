package caldav

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"
)

// Change is an object that is new, changed or gone.
type Change struct {
	Path string // as Client writes it
	ETag string // empty: gone, or the server gave none
	Gone bool
}

// rounds is how often one question may be answered in part.
const rounds = 1000

// Changes returns what has changed in a calendar since the server gave token, by
// path, and the token to ask with the next time (sync-collection, RFC 6578). With
// token "" it returns all that there is. An answer that the server cuts short is
// asked for to its end.
//
// errors.Is(err, ErrToken) tells that the server has forgotten token: ask with "". What is not
// told then is gone.
func (c *Client) Changes(ctx context.Context, collection, token string) ([]Change, string, error) {
	at, err := c.collection(collection)
	if err != nil {
		return nil, "", err
	}
	latest := map[string]Change{}
	for range rounds {
		l, err := c.since(ctx, at, token)
		if err != nil {
			return nil, "", err
		}
		if l.token == "" {
			return nil, "", c.failed("does not say how to ask for later changes")
		}
		if !note(latest, l, at.EscapedPath()) {
			return sorted(latest), l.token, nil
		}
		if l.token == token {
			break
		}
		token = l.token
	}
	return nil, "", c.failed("tells of changes without end")
}

// since asks once.
func (c *Client) since(ctx context.Context, at *url.URL, token string) (list, error) {
	body := `<sync-collection xmlns="DAV:"><sync-token>` + escaped(token) + `</sync-token><sync-level>1</sync-level><prop><getetag/></prop></sync-collection>`
	l, err := c.ask(ctx, request{method: "REPORT", at: at}, "0", body)
	if token != "" && forgotten(err) {
		return list{}, fmt.Errorf("calendar server %s %w", c.base.Host, ErrToken)
	}
	return l, err
}

// note takes what one answer tells and reports whether the server has cut it short
// (RFC 6578 3.6). What it tells of the collection itself, and of others in it, is no
// object.
func note(latest map[string]Change, l list, collection string) (more bool) {
	for _, i := range l.items {
		switch {
		case i.whole && i.code == http.StatusInsufficientStorage:
			more = true
		case folder(i.path) == collection || strings.HasSuffix(i.path, "/"):
		case i.gone():
			latest[i.path] = Change{Path: i.path, Gone: true}
		default:
			latest[i.path] = Change{Path: i.path, ETag: tag(i.first(func(p prop) string { return p.ETag }))}
		}
	}
	return more
}

func sorted(latest map[string]Change) []Change {
	all := make([]Change, 0, len(latest))
	for _, change := range latest {
		all = append(all, change)
	}
	slices.SortFunc(all, func(a, b Change) int { return strings.Compare(a.Path, b.Path) })
	return all
}
