package webtest

import (
	"fmt"
	"net/http"
	"net/url"
	"testing"
	"time"

	"ledgerwheel/domain/docket"
)

// onTrial is a docket in regulation, and the watchmaker who runs its trials.
type onTrial struct {
	*Site
	Bench  *Client
	Number string
}

func NewOnTrial(t *testing.T) *onTrial {
	t.Helper()
	s := NewSite(t)
	o := &onTrial{Site: s, Bench: s.As(s.Watchmaker), Number: s.Noted()}
	if _, err := s.Store.Pool().Exec(t.Context(), `UPDATE docket SET stage = $1, work_since = $2`,
		string(docket.StageRegulation), Now); err != nil {
		t.Fatal(err)
	}
	return o
}

func (o *onTrial) At(more string) string { return "/dockets/" + o.Number + "/trial" + more }

// Begins begins a trial whose first day lies so many days back; more fields in pairs.
func (o *onTrial) Begins(back int, more ...string) *Answer {
	o.T.Helper()
	f := url.Values{"version": {o.Version(o.Number)}, "category": {"1"}, "method": {"instrument"},
		"first_day":    {o.Day(-back)},
		"reading_time": {"09:00"}, "instrument": {"Bench 2"}, "clock_ppm": {"0,5"}}
	for i := 0; i < len(more); i += 2 {
		f.Set(more[i], more[i+1])
	}
	return o.Bench.Post(o.At(""), f)
}

// Day is the civil day so many days from the shop's today.
func (o *onTrial) Day(from int) string {
	return o.Clock().In(time.UTC).AddDate(0, 0, from).Format(time.DateOnly)
}

// Notes fills in the form of a day as the board shows it, and sends it.
func (o *onTrial) Notes(day int, fields ...string) *Answer {
	o.T.Helper()
	page := o.Bench.Get(o.At(fmt.Sprintf("?day=%d", day))).Want(http.StatusOK)
	f := url.Values{"position": {chosenOption(page, "position")}}
	for _, name := range []string{"version", "trial", "day", "day_version"} {
		f.Set(name, page.Hidden(name))
	}
	for _, name := range []string{"rate", "read_date", "read_time", "watch_time", "within", "temperature"} {
		if len(page.All(name)) == 1 {
			f.Set(name, page.Value(name))
		}
	}
	for i := 0; i < len(fields); i += 2 {
		f.Set(fields[i], fields[i+1])
	}
	return o.Bench.Post(o.At("/day"), f)
}

// chosenOption is the value chosen in a select.
func chosenOption(a *Answer, name string) string {
	for n := range a.One(name).Descendants() {
		for _, at := range n.Attr {
			if n.Data == "option" && at.Key == "selected" {
				return Attr(n, "value")
			}
		}
	}
	return ""
}
