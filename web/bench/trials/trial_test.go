package trials_test

import (
	"bytes"
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"ledgerwheel/domain/chronometer"
	"ledgerwheel/domain/figure"
	"ledgerwheel/web/webtest"
)

// temperatureOf is what the programme asks for, as typed.
func temperatureOf(day int) string {
	d, _ := chronometer.DayOf(day)
	return figure.Plain(d.TemperatureC)
}

// passing are rates that keep within every limit of category 1: M = 2.0, V = 0.2 (from the formulae of the digests).
var passing = []string{"2.1", "1.9", "3.0", "3.2", "1.0", "1.2", "2.6", "2.4", "1.4", "1.2", "0.9", "1.3", "2.7", "2.2",
	"2.3"}

func TestTrialOnTheBoard(t *testing.T) {
	t.Parallel()
	o := webtest.NewOnTrial(t)
	o.Bench.Get(o.At("")).Want(http.StatusOK).One("trial-form")
	o.Begins(15).Want(http.StatusSeeOther)
	page := o.Bench.Get(o.At("")).Want(http.StatusOK)
	if text := page.Text("trial-today"); !strings.Contains(text, "Read day 15 (6H, 23 °C) at 09:00") ||
		!strings.Contains(text, "days 1, 2, 3") {
		t.Errorf("today asks: %q", text)
	}
	for i, rate := range passing {
		o.Notes(i+1, "rate", rate, "temperature", temperatureOf(i+1)).Want(http.StatusSeeOther)
		if i == 4 {
			p := o.Bench.Get(o.At("")).Text("trial-probability")
			if !strings.HasSuffix(p, "%") || p == "100 %" {
				t.Errorf("after five days the probability reads %q", p)
			}
			if got := o.Bench.Get(o.At("")).Text("criterion-mean_daily_rate"); !strings.Contains(got, "known from day 10") {
				t.Errorf("mean after five days: %q", got)
			}
		}
	}
	page = o.Bench.Get(o.At("")).Want(http.StatusOK)
	// M = (2.1+1.9+3.0+3.2+1.0+1.2+2.6+2.4+1.4+1.2)/10 = 2.00; room to +6 is 4.00, to -4 is 6.00. V = 0.2.
	if got := page.Text("criterion-mean_daily_rate"); !strings.Contains(got, "+2.0") || !strings.Contains(got, "4.00") ||
		!strings.Contains(got, "pass") {
		t.Errorf("mean: %q", got)
	}
	if got := page.Text("criterion-thermal_variation"); !strings.Contains(got, "+0.060") { // (2.7-0.9)/30
		t.Errorf("thermal variation: %q", got)
	}
	if len(page.All("trial-warning")) != 0 {
		t.Error("a trial by the programme is warned about: " + webtest.TextOf(page.All("trial-warning")[0]))
	}
	if got := page.Text("ending-does"); !strings.Contains(got, "ends for good, with this verdict: pass") {
		t.Errorf("before it is ended: %q", got)
	}
	end := url.Values{"version": {page.Hidden("version")}, "trial": {page.Hidden("trial")}}
	page = o.Bench.Post(o.At("/end"), end).Want(http.StatusUnprocessableEntity)
	if page.Problem("confirm") == "" || len(page.All("end-trial")) != 1 {
		t.Error("a trial is ended without being asked")
	}
	end.Set("confirm", "yes")
	o.Bench.Post(o.At("/end"), end).Want(http.StatusSeeOther)
	page = o.Bench.Get(o.At("")).Want(http.StatusOK)
	if got := page.Text("trial-verdict"); !strings.Contains(got, "Pass: all seven") ||
		!strings.Contains(webtest.TextOf(page.Document), "simple acceptance") {
		t.Errorf("verdict: %q", got)
	}
	if len(page.All("trial-day-form"))+len(page.All("end-trial")) != 0 {
		t.Error("a trial that is over can still be changed")
	}
}

// What the board says of its forecast is what was counted for the trial's own category, and that its assumptions are
// the program's.
func TestTheForecastSaysWhatItRestsOn(t *testing.T) {
	t.Parallel()
	for category, other := range map[string]string{"1": "category 2", "2": "category 1"} {
		o := webtest.NewOnTrial(t)
		o.Begins(3, "category", category).Want(http.StatusSeeOther)
		// Of a watch of which nothing is known nothing is foretold: not from no day, and not from one.
		for day := 1; day <= 2; day++ {
			early := o.Bench.Get(o.At("")).Want(http.StatusOK)
			if len(early.All("trial-probability"))+len(early.All("trial-forecast")) != 0 {
				t.Errorf("an outlook from %d days", day-1)
			}
			webtest.Contains(t, "later", early.Text("trial-outlook-later"), "once 2 days are read")
			o.Notes(day, "rate", "1.0", "temperature", temperatureOf(day)).Want(http.StatusSeeOther)
		}
		page := o.Bench.Get(o.At("")).Want(http.StatusOK)
		if len(page.All("trial-probability")) != 1 || len(page.All("trial-outlook-later")) != 0 {
			t.Error("no outlook from two days")
		}
		webtest.Contains(t, "calibration", page.Text("trial-calibration"), "of category "+category)
		if got := page.Text("trial-calibration"); strings.Contains(got, other) {
			t.Errorf("a trial of category %s shows what was counted for %s: %q", category, other, got)
		}
		webtest.Contains(t, "basis", page.Text("trial-basis"), "what this program takes a watch adjusted for a trial to do",
			"no records of this shop")
	}
}

// Even where all simulated endings come out one way, a trial that is open is neither sure to pass nor sure to fail.
func TestAForecastIsNeverCertain(t *testing.T) {
	t.Parallel()
	o := webtest.NewOnTrial(t)
	o.Begins(15).Want(http.StatusSeeOther)
	for day := 1; day <= 14; day++ { // alike to the tenth: day 15 may still be 5 s/d off
		o.Notes(day, "rate", "1.0", "temperature", temperatureOf(day)).Want(http.StatusSeeOther)
	}
	page := o.Bench.Get(o.At("")).Want(http.StatusOK)
	if got := page.Text("trial-probability"); got != "over 99 %" {
		t.Errorf("before the last day the probability reads %q", got)
	}
	webtest.Contains(t, "by criterion", page.Text("trial-forecast"), "mean daily rate 100 %", "rate resumption over 99 %")
}

func TestTrialRefusalsKeepWhatWasTyped(t *testing.T) {
	t.Parallel()
	o := webtest.NewOnTrial(t)
	refused := o.Begins(3, "category", "size", "diameter", "large", "reading_time",
		"nine").Want(http.StatusUnprocessableEntity)
	if refused.Problem("diameter") == "" || refused.Problem("reading_time") == "" ||
		refused.Value("diameter") != "large" || refused.Value("clock_ppm") != "0,5" {
		t.Error("a refused plan is not shown as typed")
	}
	o.Begins(3, "category", "size", "diameter", "26.0").Want(http.StatusSeeOther)
	if page := o.Begins(3).Want(http.StatusUnprocessableEntity); !strings.Contains(page.Text("form-errors"),
		"running already") {
		t.Error("a second trial was begun")
	}
	refused = o.Notes(1, "rate", "fast", "temperature", "warm", "note",
		"by the window").Want(http.StatusUnprocessableEntity)
	if refused.Problem("rate") == "" || refused.Problem("temperature") == "" || refused.Value("rate") != "fast" ||
		refused.Value("note") != "by the window" {
		t.Error("a refused day is not shown as typed")
	}
	if refused = o.Notes(3, "rate", "1", "read_date",
		o.Day(1)).Want(http.StatusUnprocessableEntity); !strings.Contains(refused.Problem("read_time"), "future") {
		t.Errorf("a reading to come: %q", refused.Problem("read_time"))
	}
	o.Bench.Get(o.At("?day=16")).Want(http.StatusBadRequest)
	o.Bench.Get(o.At("?trial=4711")).Want(http.StatusNotFound)
	if refused = o.Bench.Post(o.At("/abandon"), url.Values{"version": {o.Version(o.Number)},
		"trial": {"1"}}).Want(http.StatusUnprocessableEntity); refused.Problem("reason") == "" {
		t.Error("abandoned without a reason")
	}
	o.As(o.Clerk).Post(o.At(""), nil).Want(http.StatusForbidden)
	if page := o.As(o.Clerk).Get(o.At("")).Want(http.StatusOK); len(page.All("trial-day-form")) != 0 {
		t.Error("the clerk is offered the form of a day")
	}
}

func TestTrialWarnsOfWhatSpoils(t *testing.T) {
	t.Parallel()
	o := webtest.NewOnTrial(t)
	o.Begins(11).Want(http.StatusSeeOther)
	o.Notes(3, "rate", "2", "temperature", "29", "sure-temperature", "29").Want(http.StatusSeeOther)
	page := o.Bench.Get(o.At(""))
	var all string
	for _, n := range page.All("trial-warning") {
		all += webtest.TextOf(n)
	}
	if !strings.Contains(all, "Day 3 was at 29 °C instead of 23 °C") || !strings.Contains(all, "Day 1 has no rate") ||
		!strings.Contains(all, "spoils M, V, Vmax") {
		t.Errorf("warnings: %q", all)
	}
	o.Notes(3, "temperature", "23", "why", "").Want(http.StatusUnprocessableEntity)
	o.Notes(3, "temperature", "23", "why", "Read the wrong thermometer.").Want(http.StatusSeeOther)
	if page = o.Bench.Get(o.At("")); strings.Contains(webtest.TextOf(page.Document), "29 °C instead") {
		t.Error("the warning outlives its correction")
	}
	journal := webtest.TextOf(o.Bench.Get("/dockets/" + o.Number + "/journal").Document)
	for _, want := range []string{"Day 3 of the trial corrected", "Read the wrong thermometer.", "29"} {
		if !strings.Contains(journal, want) {
			t.Errorf("the journal lacks %q", want)
		}
	}
}

// A watch 12.0 s fast one morning and 8.5 s fast the next has lost 3.5 s.
func TestTrialByClockComparison(t *testing.T) {
	t.Parallel()
	o := webtest.NewOnTrial(t)
	o.Begins(2, "method", "comparison").Want(http.StatusSeeOther)
	if page := o.Notes(0, "read_time", "09:00:00", "watch_time",
		"").Want(http.StatusUnprocessableEntity); page.Problem("watch_time") == "" || page.Value("read_time") != "09:00:00" {
		t.Error("a comparison without the watch was taken")
	}
	o.Notes(0, "read_time", "09:00:00", "watch_time", "09:00:12", "within", "0.2").Want(http.StatusSeeOther)
	o.Notes(1, "read_time", "09:00:00", "watch_time", "9:00:08.5", "within", "0.2").Want(http.StatusSeeOther)
	// U = 2·√2·0.2/√3 = 0.327 s/d
	if got := o.Bench.Get(o.At("")).Text("trial-day-1"); !strings.Contains(got, "−3.5 ±") ||
		!strings.Contains(got, "0.4") {
		t.Errorf("day 1: %q", got)
	}
	if page := o.Notes(2, "read_time", "09:00:00", "watch_time",
		"08:10:00").Want(http.StatusUnprocessableEntity); !strings.Contains(page.Problem("watch_time"), "half an hour") {
		t.Errorf("hands that were set: %q", page.Problem("watch_time"))
	}
}

func TestTodayAsksForTrialPositions(t *testing.T) {
	t.Parallel()
	o := webtest.NewOnTrial(t)
	o.Begins(4).Want(http.StatusSeeOther)
	if got := o.Bench.Get("/?show=trials").Text("today-list"); !strings.Contains(got, "Read day 4 (3H, 23 °C) at 09:00") ||
		!strings.Contains(got, "day 5: 9H at 23 °C") {
		t.Errorf("today's list: %q", got)
	}
}

func TestTrialBulletin(t *testing.T) {
	t.Parallel()
	o := webtest.NewOnTrial(t)
	o.Bench.Get("/dockets/" + o.Number + "/papers/trial").Want(http.StatusNotFound)
	o.Begins(15).Want(http.StatusSeeOther)
	for i, rate := range passing {
		o.Notes(i+1, "rate", rate, "temperature", temperatureOf(i+1)).Want(http.StatusSeeOther)
	}
	page := o.Bench.Get("/dockets/" + o.Number + "/papers/trial").Want(http.StatusOK)
	if got := webtest.TextOf(page.Document); !strings.Contains(got, "−4 to +6 s/d") ||
		!strings.Contains(got, "no chronometer certificate") || !strings.Contains(got, "Decision rule") {
		t.Errorf("the bulletin says %q", got)
	}
	pdf := o.Bench.Get("/dockets/" + o.Number + "/papers/trial.pdf").Want(http.StatusOK)
	if !bytes.HasPrefix([]byte(pdf.Body), []byte("%PDF-")) {
		t.Error("the PDF is none")
	}
}

// A spoilt criterion is spoilt by every rule, has no probability, and the board and the bulletin say so; what was
// corrected is marked.
func TestSpoiltTrialOnTheBoardAndThePaper(t *testing.T) {
	t.Parallel()
	o := webtest.NewOnTrial(t)
	o.Begins(15).Want(http.StatusSeeOther)
	for i, rate := range passing {
		temperature := temperatureOf(i + 1)
		if i+1 == 13 {
			temperature = "30"
		}
		o.Notes(i+1, "rate", rate, "temperature", temperature, "sure-temperature", temperature).Want(http.StatusSeeOther)
	}
	o.Notes(3, "rate", "3.1", "why", "Digits changed places.").Want(http.StatusSeeOther)
	page := o.Bench.Get(o.At("")).Want(http.StatusOK)
	row := page.Text("criterion-thermal_variation")
	if strings.Count(row, "spoilt") < 4 || strings.Contains(row, "pass") || strings.Contains(row, "99") ||
		strings.Contains(row, "left") {
		t.Errorf("thermal variation: %q", row)
	}
	if got := page.Text("trial-advice"); !strings.Contains(got, "C is spoilt") || !strings.Contains(got, "begin again") {
		t.Errorf("the board advises %q", got)
	}
	paper := o.Bench.Get("/dockets/" + o.Number + "/papers/trial").Want(http.StatusOK)
	if got := paper.Text("trial-criteria"); strings.Count(got, "spoilt") != 2 {
		t.Errorf("the bulletin's criteria: %q", got)
	}
	for name, text := range map[string]string{"page": paper.Text("trial-days"), "PDF": textOfPDF(t, o.Bench.Get("/dockets/"+
		o.Number+"/papers/trial.pdf").Want(http.StatusOK).Body)} {
		if got := strings.Join(strings.Fields(text), " "); !strings.Contains(got, "was +3.0 s/d") ||
			!strings.Contains(got, "Corrected") {
			t.Errorf("the %s does not mark the corrected day: %q", name, got)
		}
	}
}

// textOfPDF is what poppler reads in a PDF.
func textOfPDF(t *testing.T, pdf string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "paper.pdf")
	if err := os.WriteFile(path, []byte(pdf), 0o600); err != nil {
		t.Fatal(err)
	}
	out, err := exec.CommandContext(t.Context(), "pdftotext", path, "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	return string(out)
}

// On 25 October 2026 the shop's clocks show 02:30 twice: the reading must say which.
func TestReadingTimeThatStandsTwice(t *testing.T) {
	t.Parallel()
	o := webtest.NewOnTrial(t)
	if got := o.Begins(35, "reading_time", "02:30").Want(http.StatusUnprocessableEntity).Problem("reading_time"); !strings.Contains(got, "25 October 2026 this time stands twice") {
		t.Errorf("set up: %q", got)
	}
	o.Begins(31).Want(http.StatusSeeOther) // 24 October
	page := o.Notes(1, "rate", "2", "read_time", "02:30").Want(http.StatusUnprocessableEntity)
	if got := page.Problem("read_time"); !strings.Contains(got, "twice") || len(page.All("which-later")) != 1 {
		t.Errorf("noted: %q", got)
	}
	o.Notes(1, "rate", "2", "read_time", "02:30", "which", "later", "sure-read_time", "02:30").Want(http.StatusSeeOther)
	page = o.Bench.Get(o.At("?day=1")).Want(http.StatusOK)
	if !webtest.HasAttr(page.One("which-later").Attr, "checked") {
		t.Error("which of the two is lost")
	}
}

// TestTrialKeepsItsClock: at one in the afternoon in Zurich it is the next day in Auckland, by whose clock day 10 would
// be over and day 11 due.
func TestTrialKeepsItsClock(t *testing.T) {
	t.Parallel()
	o := webtest.NewOnTrial(t)
	o.Begins(10).Want(http.StatusSeeOther)
	o.Pass(3 * time.Hour)
	before := o.Bench.Get(o.At("")).Want(http.StatusOK)
	o.ChangeEverySetting()
	page := o.Bench.Get(o.At("")).Want(http.StatusOK)
	for _, part := range []string{"trial-today", "trial-days", "trial-form"} {
		was, now := "", ""
		for _, n := range before.All(part) {
			was += webtest.TextOf(n)
		}
		for _, n := range page.All(part) {
			now += webtest.TextOf(n)
		}
		if was != now {
			t.Errorf("%s says\n%q, and before\n%q", part, now, was)
		}
	}
	if got := page.Text("trial-today"); !strings.Contains(got, "Read day 10 ") {
		t.Errorf("today asks: %q", got)
	}
	o.Notes(10, "rate", "2.0", "temperature", temperatureOf(10), "read_time", "09:02").Want(http.StatusSeeOther)
	if got := o.Bench.Get(o.At("")).Text("trial-day-10"); !strings.Contains(got, "24 Nov 2026, 09:02") {
		t.Errorf("day 10 was noted as %q", got)
	}
	queue := webtest.TextOf(o.Bench.Get("/").Want(http.StatusOK).Document)
	if strings.Contains(queue, "Read day 11") || strings.Contains(queue, "day 10 is") {
		t.Errorf("Today asks for another day: %.600s", queue)
	}
}

// A rate far from the other days, and a reading hours from its time, are asked about beside the field, kept when
// confirmed, and marked in the record.
func TestTrialAsksAboutSlips(t *testing.T) {
	t.Parallel()
	o := webtest.NewOnTrial(t)
	o.Begins(11).Want(http.StatusSeeOther)
	for day := 1; day <= 8; day++ {
		o.Notes(day, "rate", passing[day-1]).Want(http.StatusSeeOther)
	}
	asked := o.Notes(9, "rate", "41.4", "read_time", "13:56").Want(http.StatusUnprocessableEntity)
	if why := asked.Problem("rate"); !strings.Contains(why, "+41.4 s/d on day 9") || asked.Value("rate") != "41.4" {
		t.Errorf("40 s off: %q, typed %q", why, asked.Value("rate"))
	}
	if why := asked.Problem("read_time"); !strings.Contains(why, "due at 09:00") || !strings.Contains(why, "4 h 56 min after") {
		t.Errorf("13:56 for 09:00: %q", why)
	}
	o.Notes(9, "rate", "41.4", "sure-rate", "41.4", "read_time", "13:56").Want(http.StatusUnprocessableEntity)
	o.Notes(9, "rate", "41.4", "sure-rate", "41.4", "read_time", "13:56",
		"sure-read_time", "13:56").Want(http.StatusSeeOther)
	row := o.Bench.Get(o.At("")).Text("trial-day-9")
	for _, want := range []string{"+41.4", "Asked when typed", "Confirmed by Emrys Vale."} {
		if !strings.Contains(row, want) {
			t.Errorf("day 9 reads %q, without %q", row, want)
		}
	}
	if text := o.Bench.Get("/dockets/" + o.Number + "/journal").Text("journal"); !strings.Contains(text,
		"Asked and confirmed Asked when typed: That makes +41.4 s/d") {
		t.Errorf("the journal: %.900s", text)
	}
}
