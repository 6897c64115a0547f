package web

import (
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/timing"
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
	r := newRegulation(t, docket.StageRegulation)
	base := "/dockets/" + r.number.String() + "/papers/bulletin"
	r.bench.get(base).want(http.StatusNotFound) // no run yet
	r.both()
	head := r.sheet().Head.Docket
	seal := "at entry " + itoa(head.Version) + ", seal " + head.Head.Short()
	page := r.as(r.clerk).get(base).want(http.StatusOK)
	pdf := r.as(r.clerk).get(base + ".pdf").want(http.StatusOK)
	if got := pdf.header.Get("Content-Type"); got != "application/pdf" {
		t.Errorf("content type %q", got)
	}
	if got := pdf.header.Get("Content-Disposition"); !strings.Contains(got, "bulletin-"+r.number.String()+".pdf") {
		t.Errorf("named %q", got)
	}
	for where, text := range map[string]string{"page": page.text("face-a4"), "PDF": pdfText(t, pdf.body)} {
		contains(t, where, text, "Tern Quay Watch Works", "Bulletin of rates", r.number.String(), "Gannet Harbourmaster", "Gannet 40",
			"As received", "Final", "Emrys Vale", "Bench 2", "± 0.5 ppm", "23 °C", "+34", "−2", "288",
			"+24.33 ± 0.24", "+3.50 ± 0.24", "−2.17 ± 0.33", "Pass: every limit of Modern, version 1 is met.", "guard band", "JCGM 106",
			"ISO 3158", "no chronometer certificate", seal)
	}
	contains(t, "limits", page.text("bulletin-figures"), "−3 to +12 s/d", "at most 20 s/d", "pass")
	contains(t, "chart", textOf(page.one("bulletin-rates")), "as received", "+34.00 ± 0.58 s/d", "limits of the mean, −3 to +12 s/d")
}

// A bulletin of one run, unjudged and half measured, is a bulletin all the same.
func TestBulletinOfOneRun(t *testing.T) {
	t.Parallel()
	r := newRegulation(t, docket.StageRegulation)
	if _, err := r.store.Pool().Exec(t.Context(), `UPDATE watch SET calibre_id = NULL, crown_at = 4`); err != nil {
		t.Fatal(err)
	}
	f := fullRun(timing.Final, ratesFinal)
	f.Set("grade", "")
	f.Set("rate-9H-0", "")
	f.Set("rate-CH-24", "")
	f.Set("label", "نابض جديد")
	r.take(f)
	base := "/dockets/" + r.number.String() + "/papers/bulletin"
	if got := attr(r.bench.get(r.path).one("bulletin"), "href"); got != base {
		t.Errorf("the sheet leads to %q", got)
	}
	page := r.bench.get(base).want(http.StatusOK)
	contains(t, "verdict", page.text("bulletin-verdict"), "not measured", "not judged by any rate limits")
	contains(t, "note", page.text("face-a4"), "نابض جديد", "crown up-right")
	if len(page.all("bulletin-rule")) > 0 {
		t.Error("a rule is stated where nothing was judged")
	}
	text := pdfText(t, r.bench.get(base+".pdf").want(http.StatusOK).body)
	contains(t, "PDF", text, "not judged by any rate limits", "+4.50 ± 0.41", "–")
}

// The runs of a bulletin may be chosen, and one of them twice is one.
func TestBulletinOfChosenRuns(t *testing.T) {
	t.Parallel()
	r := newRegulation(t, docket.StageRegulation)
	before, after := r.both()
	base := "/dockets/" + r.number.String() + "/papers/bulletin"
	one := r.bench.get(base + "?before=" + itoa(before) + "&after=" + itoa(before)).want(http.StatusOK)
	contains(t, "one", one.text("bulletin-verdict"), "fail")
	if n := len(one.all("bulletin-1")); n != 0 {
		t.Error("the same run stands there twice")
	}
	turned := r.bench.get(base + "?before=" + itoa(after) + "&after=" + itoa(before)).want(http.StatusOK)
	contains(t, "turned", turned.text("bulletin-0"), "+5")
	if got := attr(turned.one("pdf"), "href"); got != base+".pdf?after="+itoa(before)+"&before="+itoa(after) {
		t.Errorf("the PDF is of %s", got)
	}
	r.bench.get(base + "?before=77").want(http.StatusBadRequest)
}
