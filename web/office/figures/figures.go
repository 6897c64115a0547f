package figures

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"time"

	"ledgerwheel/domain/figure"
	"ledgerwheel/domain/figures"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/view"
)

// figureOf is a page of the room: a question, what it is answered from, and how.
type figureOf struct {
	slug, name, question string
	note                 string // what the reader must know to read it rightly
	measures             []figures.Measure
	make                 func(builder) report // nil of the work in progress, which is of today
	// behind is the measure whose dockets stand behind it, "" where another page has them; missed names those on the wrong side.
	behind figures.Measure
	missed string
}

func (f figureOf) path() string { return "/figures/" + f.slug }

// all are the figures, in the order of the index.
var all = []figureOf{
	{slug: "in-progress", name: "Work in progress", question: "What is in the shop now, in which stage, and how old is it?",
		note: "Age counts from the day of taking in."},
	{slug: "turnaround", name: "Turnaround", question: "How long from taking in to ready?",
		note:     "By the month in which the watch became ready; watches that went back unrepaired are left out. The median is said of six or more.",
		measures: []figures.Measure{figures.Turnaround}, make: turnaround, behind: figures.Turnaround},
	{slug: "stages", name: "Where the time goes", question: "How long does a watch wait in each stage?",
		note:     "Watches that became ready in these months; all stays of a watch in a stage together. Whole hours up to three days, then whole days.",
		measures: stageMeasures(), make: whereTimeGoes, behind: figures.Turnaround},
	{slug: "promises", name: "Promised and kept", question: "Is a watch ready by the day that was promised?",
		note:     "By the month promised first. A day moved later does not make a promise kept: the first one counts, and beside it the day that stood last.",
		measures: []figures.Measure{figures.Promise, figures.PromiseLast, figures.PromiseOpen}, make: promises, behind: figures.Promise, missed: "late"},
	{slug: "first-pass", name: "First-pass yield", question: "Does a watch pass its first final test?",
		note:     "By the month of the first test; the verdict that stood when the watch left the test.",
		measures: []figures.Measure{figures.FirstPass}, make: firstPass, behind: figures.FirstPass, missed: "failed"},
	{slug: "rates", name: "Rates before and after", question: "What does the work do to rate, delta and amplitude?",
		note:     "Medians at full wind, over the positions that were measured: the run as received, and the final run of the same watch.",
		measures: rateMeasures(), make: rates, behind: figures.Rate.After()},
	{slug: "comebacks", name: "Comebacks", question: "How many watches come back under warranty?",
		note:     "By the month in which the watch was handed over, and by who did the work then. A watch whose warranty runs on may still come back.",
		measures: []figures.Measure{figures.CameBack}, make: comebacks, behind: figures.CameBack, missed: "came back"},
	{slug: "estimates", name: "Estimates", question: "How many estimates are approved, and what is refused?",
		note:     "By the month of the newest answer. Refused are the lines of declined estimates, and those left out of approved ones.",
		measures: estimateMeasures(), make: estimates, behind: figures.Estimate, missed: "declined"},
	{slug: "takings", name: "Takings", question: "What was taken?", note: "By the day of the till, less what was given back. Each day stands in the books.",
		measures: []figures.Measure{figures.Taken}, make: takings},
	{slug: "margins", name: "Margin", question: "What is left of what was billed when its parts are paid?",
		note:     "Without tax, by the month in which the watch left. Parts at what the order or the catalogue says they cost; wages and rent are not taken off. A watch with a part whose cost is not known is left out.",
		measures: []figures.Measure{figures.Billed, figures.PartsCost, figures.Margins}, make: margins, behind: figures.Margins, missed: "with a part of unknown cost"},
}

func stageMeasures() (list []figures.Measure) {
	for _, s := range workStages() {
		list = append(list, figures.StageTime(s))
	}
	return list
}

func rateMeasures() (list []figures.Measure) {
	for _, q := range figures.Quantities() {
		list = append(list, q.Before(), q.After())
	}
	return list
}

// report works the figure out as it is asked.
func (s *Room) report(r *http.Request, f figureOf, a asked) (report, error) {
	if f.make == nil {
		list, names, err := s.store.WorkInProgress(r.Context(), a.by)
		rep := inProgress(list, names, a)
		rep.none = len(list) == 0
		return rep, err
	}
	sheet, err := s.store.Figures(r.Context(), f.measures, a.by, a.from, a.to)
	if err != nil {
		return report{}, err
	}
	rep := f.make(builder{a, sheet.Counts, sheet.Names})
	rep.none = len(sheet.Counts) == 0
	return rep, nil
}

func (s *Room) show(f figureOf) func(http.ResponseWriter, *http.Request) error {
	return func(w http.ResponseWriter, r *http.Request) error {
		a := s.read(r)
		v := figureView{Name: f.name, Question: f.question, Note: f.note, Path: f.path(), Form: view.Form{Values: a.values, Problems: a.problems}, Months: f.make != nil,
			From: a.from.String(), To: a.to.String(), By: string(a.by)}
		status := http.StatusOK
		if len(a.problems) > 0 {
			status = http.StatusUnprocessableEntity
		} else {
			rep, err := s.report(r, f, a)
			if err != nil {
				return err
			}
			v.fill(f, a, rep)
		}
		if v.Months {
			v.Presets = a.presets(f.path())
		}
		return page.Render(w, r, status, figurePage(s.Page(r, f.name), v))
	}
}

// send answers with the table of a figure as a file by RFC 4180: the same numbers as the page, with a decimal point and no other mark.
func (s *Room) send(f figureOf) func(http.ResponseWriter, *http.Request) error {
	return func(w http.ResponseWriter, r *http.Request) error {
		a := s.read(r)
		for _, why := range a.problems {
			return page.BadRequest(fmt.Errorf("%s: %s", f.slug, why))
		}
		rep, err := s.report(r, f, a)
		if err != nil {
			return err
		}
		var file bytes.Buffer
		if err := rep.write(&file, first(f, a)); err != nil {
			return err
		}
		span := a.from.String() + "-to-" + a.to.String()
		if f.make == nil {
			span = a.today.Format(time.DateOnly)
		}
		h := w.Header()
		h.Set("Content-Type", "text/csv; charset=utf-8; header=present")
		h.Set("Content-Disposition", `attachment; filename="`+f.slug+"-"+span+`.csv"`)
		_, _ = w.Write(file.Bytes()) // a reader that went away is no fault of ours
		return nil
	}
}

// first heads what lines are told apart by.
func first(f figureOf, a asked) string {
	switch {
	case a.by != figures.ByAll:
		return dimensionWords[a.by]
	case f.make == nil || f.slug == "stages":
		return "Stage"
	}
	return "Month"
}

// write writes the report as a file.
func (r report) write(file *bytes.Buffer, head string) error {
	w := csv.NewWriter(file)
	w.UseCRLF = true
	header := []string{head}
	for _, c := range r.columns {
		header = append(header, c.heading())
	}
	if err := w.Write(header); err != nil {
		return err
	}
	lines := r.lines
	if r.foot != nil {
		lines = append(lines[:len(lines):len(lines)], *r.foot)
	}
	for _, l := range lines {
		row := []string{guarded(l.label)}
		for _, c := range l.cells {
			row = append(row, c.csv)
		}
		if err := w.Write(row); err != nil {
			return err
		}
	}
	w.Flush()
	return w.Error()
}

func (c column) heading() string {
	if c.unit == "" {
		return c.text
	}
	return c.text + ", " + c.unit
}

// guarded keeps a spreadsheet from reading a name as a formula.
func guarded(s string) string {
	if s != "" && strings.ContainsRune("=+-@\t\r", rune(s[0])) {
		return "'" + s
	}
	return s
}

// dockets lists the dockets behind a figure.
func (s *Room) dockets(f figureOf) func(http.ResponseWriter, *http.Request) error {
	return func(w http.ResponseWriter, r *http.Request) error {
		a := s.read(r)
		for _, why := range a.problems {
			return page.BadRequest(fmt.Errorf("%s: %s", f.slug, why))
		}
		q := store.FigureQuery{Measure: f.behind, By: a.by, From: a.from, To: a.to, Missed: f.missed != "" && a.values.Get("only") == "missed"}
		_, named := a.values["key"]
		q.Key, q.AnyKey = a.values.Get("key"), !named
		if numbered := a.by == figures.ByBench || a.by == figures.ByCalibre; named && numbered && (q.Key == "" || len(q.Key) > 18 || strings.Trim(q.Key, "0123456789") != "") {
			return page.BadRequest(fmt.Errorf("key: %q is nobody's", q.Key))
		}
		var err error
		if before := a.values.Get("before"); before != "" {
			day, id, _ := strings.Cut(before, ".")
			if q.BeforeDay, err = time.Parse(time.DateOnly, day); err == nil {
				q.BeforeID, err = strconv.ParseInt(id, 10, 64)
			}
			if err != nil {
				return page.BadRequest(fmt.Errorf("before: %q is no docket", before))
			}
		}
		list, more, err := s.store.FigureDockets(r.Context(), q)
		if err != nil {
			return err
		}
		keep := []string{"key", a.values.Get("key"), "only", a.values.Get("only")}
		v := docketsView{Name: f.name, Path: f.path() + a.query(), Span: a.from.String() + " to " + a.to.String()}
		if f.missed != "" {
			here := f.path() + "/dockets"
			v.Tabs = []view.TabView{{Text: "All", Href: here + a.query("key", a.values.Get("key")), Current: !q.Missed},
				{Text: strings.ToUpper(f.missed[:1]) + f.missed[1:], Href: here + a.query("key", a.values.Get("key"), "only", "missed"), Current: q.Missed}}
		}
		for _, d := range list {
			v.Rows = append(v.Rows, docketRow{Number: d.Number.String(), Href: "/dockets/" + d.Number.String(), Watch: d.Watch, Day: s.Day(r, d.Day), Said: said(f.behind, d.Outcome, s.locale(r))})
		}
		if more {
			last := list[len(list)-1]
			v.OlderURL = f.path() + "/dockets" + a.query(append(keep, "before", last.Day.Format(time.DateOnly)+"."+page.Itoa64(last.Outcome.DocketID))...)
		}
		return page.Render(w, r, http.StatusOK, docketsPage(s.Page(r, f.name), v))
	}
}

func (s *Room) locale(r *http.Request) string { return page.LocaleOf(r) }

// said is what a docket counted as.
func said(m figures.Measure, o figures.Outcome, locale string) string {
	yes := func(is bool, y, n string) string {
		if is {
			return y
		}
		return n
	}
	switch m {
	case figures.Turnaround:
		return days(o.ReceivedOn, o.ReadyOn) + " from taking in to ready"
	case figures.Promise:
		if o.ReadyOn.After(o.FirstPromisedOn) {
			return days(o.FirstPromisedOn, o.ReadyOn) + " late"
		}
		return "by the day"
	case figures.FirstPass:
		return yes(o.FirstPassed, "passed", "failed")
	case figures.CameBack:
		return yes(o.CameBackOn.IsZero(), "has not come back", "came back")
	case figures.Estimate:
		return yes(o.Approved, "approved", "declined")
	case figures.Rate.After():
		return figure.Signed(*o.Before.RateSPerDay, 1) + " s/d before, " + figure.Signed(*o.After.RateSPerDay, 1) + " s/d after"
	case figures.Margins:
		if o.PartsUnknown > 0 {
			return "a part's cost is not known"
		}
		return amountSaid(*o.BilledMinor-o.PartsMinor, o.Currency, locale)
	}
	return ""
}

func days(from, to time.Time) string {
	n := int(to.Sub(from) / (24 * time.Hour))
	if n == 1 {
		return "1 day"
	}
	return strconv.Itoa(n) + " days"
}

// showIndex shows a headline of each figure for the last twelve months, and leads to its page.
func (s *Room) showIndex(w http.ResponseWriter, r *http.Request) error {
	a := s.read(r)
	var measures []figures.Measure
	for _, f := range all {
		measures = append(measures, f.measures...)
	}
	sheet, err := s.store.Figures(r.Context(), measures, figures.ByAll, a.now-11, a.now)
	if err != nil {
		return err
	}
	v := indexView{}
	for _, f := range all {
		v.Figures = append(v.Figures, indexRow{Name: f.name, Href: f.path(), Question: f.question, Headline: headline(f, builder{a, sheet.Counts, nil})})
	}
	v.Figures = append(v.Figures, indexRow{Name: "Stock value", Href: "/stock/value", Question: "What lies in the drawers, and what of it lies dead?"})
	return page.Render(w, r, http.StatusOK, indexPage(s.Page(r, "Figures"), v))
}

// headline is a figure in a few words; "" where one needs its page.
func headline(f figureOf, b builder) string {
	if f.make == nil || f.slug == "stages" || f.slug == "rates" {
		return ""
	}
	rep := f.make(b)
	if rep.foot == nil {
		return "nothing yet"
	}
	c := rep.foot.cells
	switch f.slug {
	case "turnaround":
		if c[1].text == tooFew {
			return tooFew
		}
		return "median " + c[1].text + " days, 8 in 10 within " + c[2].text
	case "takings":
		return c[0].text
	case "margins":
		return c[4].text + " of " + c[2].text
	}
	if c[2].text == tooFew {
		return c[0].text + " of " + c[1].text + ": " + tooFew
	}
	return c[2].text + " % (" + c[3].text + " to " + c[4].text + " %), " + c[0].text + " of " + c[1].text
}

func estimateMeasures() []figures.Measure {
	list := []figures.Measure{figures.Estimate}
	for _, k := range refusedKinds() {
		list = append(list, figures.Refused(k))
	}
	return list
}
