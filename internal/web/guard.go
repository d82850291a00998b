package web

import (
	"net"
	"net/http"
	"runtime/debug"
	"strings"
	"time"
)

// policy lets a page load its own style, script and pictures and nothing else; no
// script or style inside a page runs (Content Security Policy level 3).
const policy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; form-action 'self'; frame-ancestors 'none'; base-uri 'none'"

// mostBody is how much a browser may send, an uploaded file included.
const mostBody = 4 << 20

// guarded puts the locks that hold for every request before the pages.
func (s *Server) guarded(next http.Handler) http.Handler {
	cross := http.NewCrossOriginProtection()
	cross.SetDenyHandler(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		http.Error(w, "This request comes from a page of another site. Nothing was done.", http.StatusForbidden)
	}))
	return s.logged(s.headed(s.recovered(s.atHome(limited(cross.Handler(next))))))
}

func limited(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		r.Body = http.MaxBytesReader(w, r.Body, mostBody)
		next.ServeHTTP(w, r)
	})
}

// headed sets the headers of every answer. A page shows patients, so no browser or
// proxy may keep it.
func (s *Server) headed(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", policy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "same-origin")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Permissions-Policy", "camera=(), microphone=(), geolocation=()")
		h.Set("Cache-Control", "no-store")
		if s.Secure {
			h.Set("Strict-Transport-Security", "max-age=31536000")
		}
		next.ServeHTTP(w, r)
	})
}

// recovered answers a fault of the program with a plain sentence; what went wrong
// is for the log alone.
func (s *Server) recovered(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		defer func() {
			if fault := recover(); fault != nil {
				if fault == http.ErrAbortHandler {
					panic(fault)
				}
				s.Log.Error("a fault of the program", "kind", kindOf(fault), "at", string(debug.Stack()))
				http.Error(w, "Something went wrong inside graftclock. Nothing that was not reported as done was done.", http.StatusInternalServerError)
			}
		}()
		next.ServeHTTP(w, r)
	})
}

// atHome refuses, where only this machine is served, a request that asks for
// another host: a name of elsewhere that was pointed at this machine.
func (s *Server) atHome(next http.Handler) http.Handler {
	if !s.Local {
		return next
	}
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		host, _, err := net.SplitHostPort(r.Host)
		if err != nil {
			host = r.Host
		}
		if ip := net.ParseIP(strings.Trim(host, "[]")); host != "localhost" && (ip == nil || !ip.IsLoopback()) {
			http.Error(w, "This address is not served here.", http.StatusMisdirectedRequest)
			return
		}
		next.ServeHTTP(w, r)
	})
}

// logged writes a line for each answer: what kind of page, never which case.
func (s *Server) logged(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		from := time.Now()
		told := &status{ResponseWriter: w}
		next.ServeHTTP(told, r)
		s.Log.Info("answered", "method", knownMethod(r.Method), "page", s.pageOf(r), "status", told.code(), "took", time.Since(from).Round(time.Microsecond).String())
	})
}

// knownMethod keeps what somebody made up out of the log.
func knownMethod(method string) string {
	switch method {
	case http.MethodGet, http.MethodHead, http.MethodPost:
		return method
	}
	return "other"
}

// status remembers what was answered.
type status struct {
	http.ResponseWriter
	said int
}

func (s *status) WriteHeader(code int) {
	if s.said == 0 {
		s.said = code
	}
	s.ResponseWriter.WriteHeader(code)
}

// Unwrap lets http.ResponseController reach the writer below.
func (s *status) Unwrap() http.ResponseWriter { return s.ResponseWriter }

func (s *status) code() int {
	if s.said == 0 {
		return http.StatusOK
	}
	return s.said
}

// client is the address of who asks, for the limits alone.
func (s *Server) client(r *http.Request) string {
	if s.Proxy {
		hops := strings.Split(r.Header.Get("X-Forwarded-For"), ",")
		if last := strings.TrimSpace(hops[len(hops)-1]); last != "" {
			return last
		}
	}
	host, _, err := net.SplitHostPort(r.RemoteAddr)
	if err != nil {
		return r.RemoteAddr
	}
	return host
}
