package regulation_test

import (
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/timing"
	"ledgerwheel/web/webtest"
)

// pdfText is what an independent reader finds in a PDF.
func pdfText(t *testing.T, pdf string) string {
	t.Helper()
	file := filepath.Join(t.TempDir(), "paper.pdf")
	if err := os.WriteFile(file, []byte(pdf), 0o600); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command("pdftotext", "-layout", file, "-").Output()
	if err != nil {
		t.Fatalf("pdftotext (Debian: apt-get install poppler-utils): %v", err)
	}
	return strings.Join(strings.Fields(string(out)), " ")
}

func TestBulletin(t *testing.T) {
	t.Parallel()
	r := webtest.NewRegulation(t, docket.StageRegulation)
	base := "/dockets/" + r.Number.String() + "/papers/bulletin"
	r.Bench.Get(base).Want(http.StatusNotFound) // no run yet
	r.Both()
	head := r.Sheet().Head.Docket
	entry := "at entry " + webtest.Itoa(head.Version) + ", hash " + head.Head.Short()
	page := r.As(r.Clerk).Get(base).Want(http.StatusOK)
	pdf := r.As(r.Clerk).Get(base + ".pdf").Want(http.StatusOK)
	if got := pdf.Header.Get("Content-Type"); got != "application/pdf" {
		t.Errorf("content type %q", got)
	}
	if got := pdf.Header.Get("Content-Disposition"); !strings.Contains(got, "bulletin-"+r.Number.String()+".pdf") {
		t.Errorf("named %q", got)
	}
	for where, text := range map[string]string{"page": page.Text("reading-a4"), "PDF": pdfText(t, pdf.Body)} {
		webtest.Contains(t, where, text, "Tern Quay Watch Works", "Bulletin of rates", r.Number.String(),
			"Gannet Harbourmaster", "Gannet 40",
			"As received", "Final", "Emrys Vale", "Bench 2", "± 0.5 ppm", "23 °C", "+34", "−2", "288",
			"+24.33 ± 0.24", "+3.50 ± 0.24", "−2.17 ± 0.33", "Pass: every limit of Modern, version 1 is met.", "guard band",
			"JCGM 106",
			"ISO 3158", "no chronometer certificate", entry)
	}
	webtest.Contains(t, "limits", page.Text("bulletin-figures"), "−3 to +12", "at most 20", "pass")
	webtest.Contains(t, "chart", webtest.TextOf(page.All("bulletin-rates")[0]), "As received", "Final",
		"limit")
}

// A bulletin of one run, unjudged and half measured, is a bulletin all the same.
func TestBulletinOfOneRun(t *testing.T) {
	t.Parallel()
	r := webtest.NewRegulation(t, docket.StageRegulation)
	if _, err := r.Store.Pool().Exec(t.Context(), `UPDATE watch SET calibre_id = NULL, crown_at = 4`); err != nil {
		t.Fatal(err)
	}
	f := webtest.FullRun(timing.Final, webtest.RatesFinal)
	f.Set("grade", "")
	f.Set("rate-9H-0", "")
	f.Set("rate-CH-24", "")
	f.Set("label", "نابض جديد")
	r.Take(f)
	base := "/dockets/" + r.Number.String() + "/papers/bulletin"
	if got := webtest.Attr(r.Bench.Get(r.Path).One("bulletin"), "href"); got != base {
		t.Errorf("the sheet leads to %q", got)
	}
	page := r.Bench.Get(base).Want(http.StatusOK)
	webtest.Contains(t, "verdict", page.Text("bulletin-verdict"), "Not measured", "not judged by any rate limits")
	webtest.Contains(t, "note", page.Text("reading-a4"), "نابض جديد", "crown up-right")
	if len(page.All("bulletin-rule")) > 0 {
		t.Error("a rule is stated where nothing was judged")
	}
	text := pdfText(t, r.Bench.Get(base+".pdf").Want(http.StatusOK).Body)
	webtest.Contains(t, "PDF", text, "not judged by any rate limits", "+4.5 ± 0.4", "–")
}

// The runs of a bulletin may be chosen, and one of them twice is one.
func TestBulletinOfChosenRuns(t *testing.T) {
	t.Parallel()
	r := webtest.NewRegulation(t, docket.StageRegulation)
	before, after := r.Both()
	base := "/dockets/" + r.Number.String() + "/papers/bulletin"
	one := r.Bench.Get(base + "?before=" + webtest.Itoa(before) + "&after=" + webtest.Itoa(before)).Want(http.StatusOK)
	webtest.Contains(t, "one", one.Text("bulletin-verdict"), "Fail")
	if n := len(one.All("bulletin-1")); n != 0 {
		t.Error("the same run stands there twice")
	}
	turned := r.Bench.Get(base + "?before=" + webtest.Itoa(after) + "&after=" + webtest.Itoa(before)).Want(http.StatusOK)
	webtest.Contains(t, "turned", turned.Text("bulletin-0"), "+5")
	if got := webtest.Attr(turned.One("pdf"),
		"href"); got != base+".pdf?after="+webtest.Itoa(before)+"&before="+webtest.Itoa(after) {
		t.Errorf("the PDF is of %s", got)
	}
	r.Bench.Get(base + "?before=77").Want(http.StatusBadRequest)
}
