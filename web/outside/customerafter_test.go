package outside_test

import (
	"net/http"
	"regexp"
	"strings"
	"testing"
	"time"

	"ledgerwheel/web/webtest"
)

// TestPageOnceTheWorkIsDone follows a watch from ready to home: what is due, the invoice, the warranty, the next service, and
// what was measured.
func TestPageOnceTheWorkIsDone(t *testing.T) {
	t.Parallel()
	l := webtest.NewLeaving(t)
	number := l.N.String()
	l.As(l.Clerk).Post("/dockets/"+number+"/link", map[string][]string{"version": {l.Version(number)}}).Want(http.StatusSeeOther)
	path := linkPath(l.Site, number)
	ada := l.Stranger()
	if early := ada.Get(path).Want(http.StatusOK); len(early.All("account"))+len(early.All("warranty"))+len(early.All("measured")) > 0 {
		t.Error("before there is anything to pay for or to warrant, the page speaks of it")
	}
	ada.Get(path + "/invoice.pdf").Want(http.StatusNotFound) // a draft is nobody's to see
	ada.Get(path + "/receipt.pdf").Want(http.StatusNotFound)
	var work int64
	if err := l.Store.Pool().QueryRow(t.Context(), `INSERT INTO bench_work (docket_id, by_id, at)
		SELECT id, $2, $3 FROM docket WHERE number = $1 RETURNING id`, number, l.Watchmaker.ID, webtest.Now).Scan(&work); err != nil {
		t.Fatal(err)
	}
	if _, err := l.Store.Pool().Exec(t.Context(), `INSERT INTO service_step (docket_id, step, by_id, at, work_id)
		SELECT docket_id, 'cleaned', by_id, at, id FROM bench_work WHERE id = $1`, work); err != nil {
		t.Fatal(err)
	}
	l.Ready()
	ready := ada.Get(path).Want(http.StatusOK)
	if got := ready.Text("account"); !strings.Contains(got, "Still due") || !strings.Contains(got, "when you collect") {
		t.Errorf("ready: %q", got)
	}
	pdf := ada.Get(path + "/invoice.pdf").Want(http.StatusOK)
	if pdf.Header.Get("Content-Type") != "application/pdf" || !strings.HasPrefix(pdf.Body, "%PDF-") ||
		!strings.Contains(pdf.Header.Get("X-Robots-Tag"), "noindex") {
		t.Errorf("the invoice is %v", pdf.Header)
	}
	// The same bytes as the counter prints.
	if counters := l.As(l.Clerk).Get("/dockets/" + number + "/papers/invoice.pdf").Want(http.StatusOK); counters.Body != pdf.Body {
		t.Error("the customer's invoice is another than the counter's")
	}
	if len(ready.All("receipt")) > 0 {
		t.Error("a receipt is offered for what nobody paid")
	}
	l.Gone()
	code := l.Issue()
	home := ada.Get(path).Want(http.StatusOK)
	if len(home.All("receipt")) != 1 {
		t.Error("no receipt is offered for what was paid")
	}
	receipt := ada.Get(path + "/receipt.pdf").Want(http.StatusOK)
	if counters := l.As(l.Clerk).Get("/dockets/" + number + "/papers/receipt.pdf").Want(http.StatusOK); counters.Body != receipt.Body ||
		!strings.HasPrefix(receipt.Body, "%PDF-") || !strings.Contains(receipt.Header.Get("X-Robots-Tag"), "noindex") {
		t.Errorf("the customer's receipt is another than the counter's, or %v", receipt.Header)
	}
	for _, paper := range []string{"/invoice.pdf", "/receipt.pdf"} { // a token that nobody gave out
		l.Stranger().Get("/c/" + strings.Repeat("a", len(path)-len("/c/")) + paper).Want(http.StatusNotFound)
	}
	if got := home.Text("account"); !strings.Contains(got, "Nothing is due") {
		t.Errorf("paid: %q", got)
	}
	if got := home.Text("warranty-words"); !regexp.MustCompile(`Your warranty runs from \d+ \w+ 2026 until \d+ \w+ 2028\.`).MatchString(got) ||
		!strings.Contains(home.Body, `href="/w/`+string(code)+`"`) {
		t.Errorf("warranty: %q", got)
	}
	if got := home.Text("next-service"); got != "We advise the next service about November 2031." { // five years, unless the owner says otherwise
		t.Errorf("next service: %q", got)
	}
	if len(home.All("next")) > 0 {
		t.Error("something still happens next")
	}
	for _, in := range []string{"en", "de", "fr"} {
		page := ada.Get(path + "?in=" + in).Want(http.StatusOK)
		if words := page.Text("measured"); !strings.Contains(words, "±") {
			t.Errorf("%s: measured: %q", in, words)
		}
	}
	l.Pass(400 * 24 * time.Hour)
	ada.Get(path + "/invoice.pdf").Want(http.StatusGone)
	ada.Get(path + "/receipt.pdf").Want(http.StatusGone)
}

// TestTrainTurnsByItsStyleSheet has a watch with a calibre that has a train, and one without.
func TestTrainTurnsByItsStyleSheet(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.Sent()
	path := linkPath(s, number)
	ada := s.Stranger()
	if len(ada.Get(path).All("wheels")) != 0 || ada.Get(path+"/train.css").Want(http.StatusOK).Body != "" {
		t.Error("wheels that nobody counted turn")
	}
	ctx := t.Context()
	var id int64
	if err := s.Store.Pool().QueryRow(ctx, `INSERT INTO calibre (name, name_key, grade, train) VALUES ('Tarnside 7', 'tarnside 7', 'modern', '80:10,75:10,80:8,15') RETURNING id`).
		Scan(&id); err != nil {
		t.Fatal(err)
	}
	if _, err := s.Store.Pool().Exec(ctx, `UPDATE watch SET calibre_id = $1`, id); err != nil {
		t.Fatal(err)
	}
	page := ada.Get(path).Want(http.StatusOK)
	wheels := page.Text("wheels")
	if !strings.Contains(wheels, "Tarnside 7") || !strings.Contains(wheels, "3 times as fast") || len(page.All("train-stop")) != 1 ||
		strings.Contains(page.Body, "style=") || strings.Contains(page.Body, "<style") {
		t.Errorf("the train is shown as %q", wheels)
	}
	styles := ada.Get(path + "/train.css").Want(http.StatusOK)
	if !strings.HasPrefix(styles.Header.Get("Content-Type"), "text/css") || strings.Count(styles.Body, "animation-duration") != 4 ||
		!strings.Contains(page.Body, `href="`+path+`/train.css"`) {
		t.Errorf("its style sheet: %s", styles.Body)
	}
}
