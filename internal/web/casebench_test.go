package web_test

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"testing"

	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
	"graftclock/internal/web"
)

// crowded books so many visits of other patients, over the coming years.
func (s *served) crowded(visits int) {
	s.t.Helper()
	const each = 15
	for n := range visits / each {
		id := s.admit("fenwick", fmt.Sprintf("case=HR-%d", 50000+n), fmt.Sprintf("patient.name=Patient %d", n))
		if err := s.store.Act(func(w desk.Writing) error {
			for m := range each {
				at := dayOf("2027-03-01").AddDays((n*each + m) % 700)
				v := ledger.Visit{Case: id, Milestone: graft.MilestoneID(fmt.Sprintf("recall/right bridge/%d months", m+30)), State: ledger.Booked, Revision: 1, Booked: s.clock.now(), At: s.clock.now(), By: front,
					Slot: graft.Slot{Day: at, Start: day.Clock(8*60 + 15*(m%16)), Minutes: 15}}
				if _, err := w.AddVisit(v, ledger.Entry{At: s.clock.now(), By: s.actor(front).Person, Case: id, What: "book"}); err != nil {
					return err
				}
			}
			return nil
		}); err != nil {
			s.t.Fatal(err)
		}
	}
}

// BenchmarkCase measures the pages of a case, on a ledger with this case alone and
// with 3,000 booked visits, beside a file of the same length.
func BenchmarkCase(b *testing.B) {
	for _, visits := range []int{0, 3000} {
		s := serve(b, "2027-01-26 08:30")
		s.admit("fenwick")
		s.crowded(visits)
		browser := s.as(front)
		pages, err := web.New(s.options)
		if err != nil {
			b.Fatal(err)
		}
		home, _ := http.NewRequest(http.MethodGet, s.url, nil)
		cookies := browser.client.Jar.Cookies(home.URL)
		ask := func(handler http.Handler, path string) int {
			r := httptest.NewRequest(http.MethodGet, "http://127.0.0.1"+path, nil)
			for _, c := range cookies {
				r.AddCookie(c)
			}
			w := httptest.NewRecorder()
			handler.ServeHTTP(w, r)
			if w.Code != http.StatusOK {
				b.Fatalf("%s: %d", path, w.Code)
			}
			return w.Body.Len()
		}
		size := ask(pages, "/case/HR-2041")
		still := http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) { w.Write(make([]byte, size)) })
		for name, path := range map[string]string{"case": "/case/HR-2041", "step": stepOf(fenwick, wound), "live": ""} {
			b.Run(fmt.Sprintf("%s beside %d visits", name, visits), func(b *testing.B) {
				before := spent()
				for b.Loop() {
					if path != "" {
						ask(pages, path)
					} else if _, err := s.keeper.Live(fenwick, dayOf("2027-01-26")); err != nil {
						b.Fatal(err)
					}
				}
				b.ReportMetric(float64((spent()-before).Microseconds())/float64(b.N), "cpu-µs/op")
			})
		}
		b.Run(fmt.Sprintf("still file of %d bytes", size), func(b *testing.B) {
			for b.Loop() {
				ask(still, "/")
			}
		})
	}
}
