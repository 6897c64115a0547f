package web

import (
	"bytes"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"ledgerwheel/domain/chronometer"
)

// temperatureOf is what the programme asks for, as typed.
func temperatureOf(day int) string {
	d, _ := chronometer.DayOf(day)
	return plainFigure(d.TemperatureC)
}

// passing are rates that keep within every limit of category 1: M = 2.0, V = 0.2 (from the formulae of the digests).
var passing = []string{"2.1", "1.9", "3.0", "3.2", "1.0", "1.2", "2.6", "2.4", "1.4", "1.2", "0.9", "1.3", "2.7", "2.2", "2.3"}

func TestTrialOnTheBoard(t *testing.T) {
	t.Parallel()
	o := newOnTrial(t)
	o.bench.get(o.at("")).want(http.StatusOK).one("trial-form")
	o.begins(15).want(http.StatusSeeOther)
	page := o.bench.get(o.at("")).want(http.StatusOK)
	if text := page.text("trial-today"); !strings.Contains(text, "Read day 15 (6H, 23 °C) at 09:00") || !strings.Contains(text, "days 1, 2, 3") {
		t.Errorf("today asks: %q", text)
	}
	for i, rate := range passing {
		o.notes(i+1, "rate", rate, "temperature", temperatureOf(i+1)).want(http.StatusSeeOther)
		if i == 4 {
			p := o.bench.get(o.at("")).text("trial-probability")
			if !strings.HasSuffix(p, "%") {
				t.Errorf("after five days the probability reads %q", p)
			}
			if got := o.bench.get(o.at("")).text("criterion-mean_daily_rate"); !strings.Contains(got, "known from day 10") {
				t.Errorf("mean after five days: %q", got)
			}
		}
	}
	page = o.bench.get(o.at("")).want(http.StatusOK)
	// M = (2.1+1.9+3.0+3.2+1.0+1.2+2.6+2.4+1.4+1.2)/10 = 2.00; room to +6 is 4.00, to -4 is 6.00. V = 0.2.
	if got := page.text("criterion-mean_daily_rate"); !strings.Contains(got, "+2.0") || !strings.Contains(got, "4.00") || !strings.Contains(got, "pass") {
		t.Errorf("mean: %q", got)
	}
	if got := page.text("criterion-thermal_variation"); !strings.Contains(got, "+0.060") { // (2.7-0.9)/30
		t.Errorf("thermal variation: %q", got)
	}
	if len(page.all("trial-warning")) != 0 {
		t.Error("a trial by the programme is warned about: " + textOf(page.all("trial-warning")[0]))
	}
	o.bench.post(o.at("/end"), url.Values{"version": {page.hidden("version")}, "trial": {page.hidden("trial")}}).want(http.StatusSeeOther)
	page = o.bench.get(o.at("")).want(http.StatusOK)
	if got := page.text("trial-verdict"); !strings.Contains(got, "Pass: all seven") || !strings.Contains(got, "simple acceptance") {
		t.Errorf("verdict: %q", got)
	}
	if len(page.all("trial-day-form"))+len(page.all("end-trial")) != 0 {
		t.Error("a trial that is over can still be changed")
	}
}

func TestTrialRefusalsKeepWhatWasTyped(t *testing.T) {
	t.Parallel()
	o := newOnTrial(t)
	refused := o.begins(3, "category", "size", "diameter", "large", "reading_time", "nine").want(http.StatusUnprocessableEntity)
	if refused.problem("diameter") == "" || refused.problem("reading_time") == "" || refused.value("diameter") != "large" || refused.value("clock_ppm") != "0,5" {
		t.Error("a refused plan is not shown as typed")
	}
	o.begins(3, "category", "size", "diameter", "26.0").want(http.StatusSeeOther)
	if page := o.begins(3).want(http.StatusUnprocessableEntity); !strings.Contains(page.text("form-errors"), "running already") {
		t.Error("a second trial was begun")
	}
	refused = o.notes(1, "rate", "fast", "temperature", "warm", "note", "by the window").want(http.StatusUnprocessableEntity)
	if refused.problem("rate") == "" || refused.problem("temperature") == "" || refused.value("rate") != "fast" || refused.value("note") != "by the window" {
		t.Error("a refused day is not shown as typed")
	}
	if refused = o.notes(3, "rate", "1", "read_date", o.day(1)).want(http.StatusUnprocessableEntity); !strings.Contains(refused.problem("read_time"), "future") {
		t.Errorf("a reading to come: %q", refused.problem("read_time"))
	}
	o.bench.get(o.at("?day=16")).want(http.StatusBadRequest)
	o.bench.get(o.at("?trial=4711")).want(http.StatusNotFound)
	if refused = o.bench.post(o.at("/abandon"), url.Values{"version": {o.version(o.number)}, "trial": {"1"}}).want(http.StatusUnprocessableEntity); refused.problem("reason") == "" {
		t.Error("abandoned without a reason")
	}
	o.as(o.clerk).post(o.at(""), nil).want(http.StatusForbidden)
	if page := o.as(o.clerk).get(o.at("")).want(http.StatusOK); len(page.all("trial-day-form")) != 0 {
		t.Error("the clerk is offered the form of a day")
	}
}

func TestTrialWarnsOfWhatSpoils(t *testing.T) {
	t.Parallel()
	o := newOnTrial(t)
	o.begins(11).want(http.StatusSeeOther)
	o.notes(3, "rate", "2", "temperature", "29").want(http.StatusSeeOther)
	page := o.bench.get(o.at(""))
	var all string
	for _, n := range page.all("trial-warning") {
		all += textOf(n)
	}
	if !strings.Contains(all, "Day 3 was at 29 °C instead of 23 °C") || !strings.Contains(all, "Day 1 has no rate") || !strings.Contains(all, "spoils M, V, Vmax") {
		t.Errorf("warnings: %q", all)
	}
	o.notes(3, "temperature", "23", "why", "").want(http.StatusUnprocessableEntity)
	o.notes(3, "temperature", "23", "why", "Read the wrong thermometer.").want(http.StatusSeeOther)
	if page = o.bench.get(o.at("")); strings.Contains(textOf(page.document), "29 °C instead") {
		t.Error("the warning outlives its correction")
	}
	journal := textOf(o.bench.get("/dockets/" + o.number + "/journal").document)
	for _, want := range []string{"Day 3 of the trial corrected", "Read the wrong thermometer.", "29"} {
		if !strings.Contains(journal, want) {
			t.Errorf("the journal lacks %q", want)
		}
	}
}

// A watch 12.0 s fast one morning and 8.5 s fast the next has lost 3.5 s.
func TestTrialByClockComparison(t *testing.T) {
	t.Parallel()
	o := newOnTrial(t)
	o.begins(2, "method", "comparison").want(http.StatusSeeOther)
	if page := o.notes(0, "read_time", "09:00:00", "watch_time", "").want(http.StatusUnprocessableEntity); page.problem("watch_time") == "" || page.value("read_time") != "09:00:00" {
		t.Error("a comparison without the watch was taken")
	}
	o.notes(0, "read_time", "09:00:00", "watch_time", "09:00:12", "within", "0.2").want(http.StatusSeeOther)
	o.notes(1, "read_time", "09:00:00", "watch_time", "9:00:08.5", "within", "0.2").want(http.StatusSeeOther)
	// U = 2·√2·0.2/√3 = 0.327 s/d
	if got := o.bench.get(o.at("")).text("trial-day-1"); !strings.Contains(got, "−3.50") || !strings.Contains(got, "0.33") {
		t.Errorf("day 1: %q", got)
	}
	if page := o.notes(2, "read_time", "09:00:00", "watch_time", "08:10:00").want(http.StatusUnprocessableEntity); !strings.Contains(page.problem("watch_time"), "half an hour") {
		t.Errorf("hands that were set: %q", page.problem("watch_time"))
	}
}

func TestTodayAsksForTrialPositions(t *testing.T) {
	t.Parallel()
	o := newOnTrial(t)
	o.begins(4).want(http.StatusSeeOther)
	if got := o.bench.get("/").text("queue-trials"); !strings.Contains(got, "Read day 4 (3H, 23 °C) at 09:00") || !strings.Contains(got, "day 5: 9H at 23 °C") {
		t.Errorf("today's queue: %q", got)
	}
}

func TestTrialBulletin(t *testing.T) {
	t.Parallel()
	o := newOnTrial(t)
	o.bench.get("/dockets/" + o.number + "/papers/trial").want(http.StatusNotFound)
	o.begins(15).want(http.StatusSeeOther)
	for i, rate := range passing {
		o.notes(i+1, "rate", rate, "temperature", temperatureOf(i+1)).want(http.StatusSeeOther)
	}
	page := o.bench.get("/dockets/" + o.number + "/papers/trial").want(http.StatusOK)
	if got := textOf(page.document); !strings.Contains(got, "−4 to +6 s/d") || !strings.Contains(got, "no chronometer certificate") || !strings.Contains(got, "Decision rule") {
		t.Errorf("the bulletin says %q", got)
	}
	pdf := o.bench.get("/dockets/" + o.number + "/papers/trial.pdf").want(http.StatusOK)
	if !bytes.HasPrefix([]byte(pdf.body), []byte("%PDF-")) {
		t.Error("the PDF is none")
	}
}
