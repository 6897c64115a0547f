package figures

import (
	"net/http"
	"net/url"
	"time"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/figures"
	"ledgerwheel/web/page"
	"ledgerwheel/web/view"
)

// mostMonths is the longest span of one page.
const mostMonths = 60

// asked is what a page of figures is asked for.
type asked struct {
	from, to figures.Month
	by       figures.Dimension
	now      figures.Month
	today    time.Time
	values   url.Values        // as typed
	problems map[string]string // by field
	locale   string            // by which amounts are written
	currency string            // the shop's
}

// read reads a span of months, the last twelve where none is named, and by what figures are told apart.
func (s *Room) read(r *http.Request) asked {
	viewer, _ := page.ViewerOf(r.Context())
	a := asked{today: s.Today(r), values: r.URL.Query(), problems: map[string]string{}, by: figures.ByAll, locale: page.LocaleOf(r), currency: viewer.Shop.Currency}
	a.now = figures.MonthOf(a.today)
	a.from, a.to = a.month("from", a.now-11), a.month("to", a.now)
	switch {
	case len(a.problems) > 0:
	case a.to < a.from:
		a.problems["to"] = "The last month lies before the first."
	case a.to-a.from >= mostMonths:
		a.problems["from"] = "Ask for five years at most."
	}
	if by := a.values.Get("by"); by != "" {
		a.by = figures.Dimension(by)
		if dimensionWords[a.by] == "" {
			a.problems["by"], a.by = "Choose one of those listed.", figures.ByAll
		}
	}
	return a
}

func (a asked) month(name string, usual figures.Month) figures.Month {
	typed := a.values.Get(name)
	if typed == "" {
		return usual
	}
	m, err := figures.ParseMonth(typed)
	if err != nil {
		a.problems[name] = "Write a month as 2026-11."
		return usual
	}
	return m
}

var dimensionWords = map[figures.Dimension]string{figures.ByAll: "The whole shop", figures.ByBench: "Bench", figures.ByCalibre: "Calibre",
	figures.ByWork: "Kind of work"}

// query is the address's own, with what is asked for and further pairs.
func (a asked) query(pairs ...string) string {
	q := url.Values{}
	for _, name := range []string{"from", "to", "by"} {
		if v := a.values.Get(name); v != "" {
			q.Set(name, v)
		}
	}
	for i := 0; i < len(pairs); i += 2 {
		if q.Del(pairs[i]); pairs[i+1] != "" {
			q.Set(pairs[i], pairs[i+1])
		}
	}
	if len(q) == 0 {
		return ""
	}
	return "?" + q.Encode()
}

// presets are the spans that a link leads to.
func (a asked) presets(path string) []view.TabView {
	january := figures.MonthOf(time.Date(a.today.Year(), 1, 1, 0, 0, 0, 0, time.UTC))
	var tabs []view.TabView
	marked := false
	for _, p := range []struct {
		text     string
		from, to figures.Month
	}{{"3 months", a.now - 2, a.now}, {"12 months", a.now - 11, a.now}, {"This year", january, a.now}, {"Last year", january - 12, january - 1},
		{"5 years", a.now - mostMonths + 1, a.now}} {
		tabs = append(tabs, view.TabView{Text: p.text, Href: path + a.query("from", p.from.String(), "to", p.to.String()), Current: a.from == p.from && a.to == p.to && !marked})
		marked = marked || a.from == p.from && a.to == p.to // two of them may be the same months
	}
	return tabs
}

// name is a key of a dimension in words.
func name(by figures.Dimension, key string, names map[string]string) string {
	switch {
	case by == figures.ByWork:
		return docket.Wanted(key).Label()
	case key == "0" && by == figures.ByBench:
		return "Nobody named"
	case key == "0":
		return "Calibre not listed"
	}
	if n := names[key]; n != "" {
		return n
	}
	return key
}
