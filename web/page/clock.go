package web

import (
	"fmt"
	"net/http"
	"time"
)

// dayLayout is how a civil day is written.
const dayLayout = "Mon 2 Jan 2006"

func zoneOf(r *http.Request) *time.Location {
	v, _ := viewerOf(r.Context())
	return v.Shop.Location()
}

// today is the civil day in the shop, as midnight UTC, the form in which the domain keeps days.
func (s *Server) today(r *http.Request) time.Time {
	v, _ := viewerOf(r.Context())
	return civil(s.now().In(v.Shop.Location()))
}

func civil(t time.Time) time.Time {
	y, m, d := t.Date()
	return time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
}

// day writes a civil day, or nothing for none.
func (s *Server) day(_ *http.Request, t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Format("Mon 2 Jan 2006")
}

// momentLayout is how a point in time is written, always in the shop's zone.
const momentLayout = "2 Jan 2006, 15:04"

// moment writes a point in time in the shop's zone.
func (s *Server) moment(r *http.Request, t time.Time) string {
	if t.IsZero() {
		return ""
	}
	v, _ := viewerOf(r.Context())
	return t.In(v.Shop.Location()).Format(momentLayout)
}

// civilDayOf is the day in the shop on which t fell.
func (s *Server) civilDayOf(r *http.Request, t time.Time) time.Time {
	v, _ := viewerOf(r.Context())
	return civil(t.In(v.Shop.Location()))
}

func trialClock(minute int) string { return fmt.Sprintf("%02d:%02d", minute/60, minute%60) }
