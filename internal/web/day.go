package web

import (
	"net/http"
	"strings"

	"graftclock/internal/day"
)

func (s *Server) dayRoutes() []route {
	return []route{{http.MethodGet, "/day/{day}", signedIn, "reading of a day", (*request).getDay}}
}

// getDay reads a day aloud for the field that it is typed into: its weekday, the
// name of its month and what the clinic has on.
func (q *request) getDay() error {
	q.w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	says, err := q.reading(q.PathValue("day"))
	if err != nil {
		http.Error(q.w, err.Error(), http.StatusUnprocessableEntity)
		return nil
	}
	q.w.Write([]byte(says))
	return nil
}

// reading is a typed day with its weekday, and why the clinic is closed on it.
func (q *request) reading(typed string) (string, error) {
	d, err := day.Parse(typed)
	if err != nil {
		return "", err
	}
	says := []string{d.Time().Format("Monday 2 January 2006")}
	calendar, faults := q.keeper.Calendar(d.Year())
	if len(faults) > 0 {
		return says[0], nil
	}
	return strings.Join(append(says, calendar.Obstacles(d, "", "")...), ", "), nil
}
