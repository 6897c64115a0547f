package web

import (
	"fmt"
	"ledgerwheel/domain/docket"
	"net/http"
	"net/url"
	"testing"
	"time"
)

// onTrial is a docket in regulation, and the watchmaker who runs its trials.
type onTrial struct {
	*site
	bench  *client
	number string
}

func newOnTrial(t *testing.T) *onTrial {
	t.Helper()
	s := newTestSite(t)
	o := &onTrial{site: s, bench: s.as(s.watchmaker), number: s.noted()}
	if _, err := s.store.Pool().Exec(t.Context(), `UPDATE docket SET stage = $1, work_since = $2`, string(docket.StageRegulation), testNow); err != nil {
		t.Fatal(err)
	}
	return o
}

func (o *onTrial) at(more string) string { return "/dockets/" + o.number + "/trial" + more }

// begins begins a trial whose first day lies so many days back; more fields in pairs.
func (o *onTrial) begins(back int, more ...string) *answer {
	o.t.Helper()
	f := url.Values{"version": {o.version(o.number)}, "category": {"1"}, "method": {"instrument"}, "first_day": {o.day(-back)},
		"reading_time": {"09:00"}, "instrument": {"Bench 2"}, "clock_ppm": {"0,5"}}
	for i := 0; i < len(more); i += 2 {
		f.Set(more[i], more[i+1])
	}
	return o.bench.post(o.at(""), f)
}

// day is the civil day so many days from the shop's today.
func (o *onTrial) day(from int) string {
	return o.clock().In(time.UTC).AddDate(0, 0, from).Format(time.DateOnly)
}

// notes fills in the form of a day as the board shows it, and sends it.
func (o *onTrial) notes(day int, fields ...string) *answer {
	o.t.Helper()
	page := o.bench.get(o.at(fmt.Sprintf("?day=%d", day))).want(http.StatusOK)
	f := url.Values{"position": {chosenOption(page, "position")}}
	for _, name := range []string{"version", "trial", "day", "day_version"} {
		f.Set(name, page.hidden(name))
	}
	for _, name := range []string{"rate", "read_date", "read_time", "watch_time", "within", "temperature"} {
		if len(page.all(name)) == 1 {
			f.Set(name, page.value(name))
		}
	}
	for i := 0; i < len(fields); i += 2 {
		f.Set(fields[i], fields[i+1])
	}
	return o.bench.post(o.at("/day"), f)
}

// chosenOption is the value chosen in a select.
func chosenOption(a *answer, name string) string {
	for n := range a.one(name).Descendants() {
		for _, at := range n.Attr {
			if n.Data == "option" && at.Key == "selected" {
				return attr(n, "value")
			}
		}
	}
	return ""
}
