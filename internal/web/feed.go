package web

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"net/http"
	"strings"
	"time"
)

func (s *Server) feedRoutes() []route {
	return []route{{http.MethodGet, "/feed/{file}", anybody, "feed", (*request).getFeed}}
}

// feedEnding is that of a calendar file (RFC 5545, section 8.1).
const feedEnding = ".ics"

// heldFor is when a program should ask again for a feed that is held back.
const heldFor = "3600"

// getFeed hands out a calendar to whoever has its address. A token that never was, one
// that was revoked and one that is no token are answered alike.
func (q *request) getFeed() error {
	if !q.s.feeds.allow(q.s.client(q.Request), q.at) {
		q.w.Header().Set("Retry-After", "60")
		http.Error(q.w, "Too many requests.", http.StatusTooManyRequests)
		return nil
	}
	token, named := strings.CutSuffix(q.PathValue("file"), feedEnding)
	feed, err := q.keeper.ServedFeed(token, q.on, q.at)
	if !named || err != nil {
		if err != nil && !isRefusal(err) {
			return err
		}
		http.Error(q.w, "There is no such calendar.", http.StatusNotFound)
		return nil
	}
	if feed.Data == nil {
		// The program keeps what it has; an empty calendar would take the dates away.
		q.w.Header().Set("Retry-After", heldFor)
		http.Error(q.w, "This calendar cannot be told just now.", http.StatusServiceUnavailable)
		return nil
	}
	q.calendar(feed.Data, feed.Changed)
	return nil
}

// calendar answers with a calendar, or that the one the program has is still good
// (RFC 9110, section 13).
func (q *request) calendar(data []byte, changed time.Time) {
	const digits = 16
	sum := sha256.Sum256(data)
	h := q.w.Header()
	h.Set("Content-Type", "text/calendar; charset=utf-8")
	h.Set("Cache-Control", "private, no-cache")
	h.Set("ETag", `"`+hex.EncodeToString(sum[:digits])+`"`)
	http.ServeContent(q.w, q.Request, "", changed, bytes.NewReader(data))
}
