package handover_test

import (
	"fmt"
	"math"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"ledgerwheel/domain/warranty"
	"ledgerwheel/e2e/browser"
	"ledgerwheel/web/webtest"
)

// ID-1 of ISO/IEC 7810, in mm, and how far a page may be from it. A browser lays out in CSS pixels of 25.4/96 mm and
// rounds a sheet to whole ones, so half a pixel; the program's own PDF is exact to the hundredth of a point that
// pdfinfo shows.
const (
	id1Width, id1Height = 85.60, 53.98
	browserToleranceMM  = 25.4 / 96 / 2
	exactToleranceMM    = 0.006
	mmPerPoint          = 25.4 / 72
)

// window is a browser in which somebody is signed in.
func window(s *webtest.Site, email string) *browser.Tab {
	s.T.Helper()
	ctx, stop, err := browser.Start(s.T.Context())
	if err != nil {
		s.T.Fatal(err)
	}
	s.T.Cleanup(stop)
	tab, closeTab, err := browser.NewTab(ctx, s.URL)
	if err != nil {
		s.T.Fatal(err)
	}
	s.T.Cleanup(closeTab)
	if err := tab.SignIn(email, webtest.Password); err != nil {
		s.T.Fatal(err)
	}
	return tab
}

// command runs a program that knows nothing of ours; the packages are poppler-utils and zbar-tools.
func command(t testing.TB, name string, args ...string) string {
	t.Helper()
	out, err := exec.Command(name, args...).Output()
	if err != nil {
		t.Fatalf("%s: %v; install poppler-utils and zbar-tools", name, err)
	}
	return string(out)
}

var pagePoints = regexp.MustCompile(`Page\s+\d+ size:\s+([\d.]+) x ([\d.]+) pts`)

// isCard measures the PDF's pages, of which there must be two, and reads the QR code from the picture of the first.
func isCard(t testing.TB, pdf []byte, toleranceMM float64, code string) {
	t.Helper()
	file := filepath.Join(t.TempDir(), "card.pdf")
	if err := os.WriteFile(file, pdf, 0o600); err != nil {
		t.Fatal(err)
	}
	sizes := pagePoints.FindAllStringSubmatch(command(t, "pdfinfo", "-l", "9", file), -1)
	if len(sizes) != 2 {
		t.Errorf("%d pages, want two faces", len(sizes))
	}
	for _, m := range sizes {
		w, _ := strconv.ParseFloat(m[1], 64)
		h, _ := strconv.ParseFloat(m[2], 64)
		if w, h := w*mmPerPoint, h*mmPerPoint; math.Abs(w-id1Width) > toleranceMM || math.Abs(h-id1Height) > toleranceMM {
			t.Errorf("a face measures %.3f x %.3f mm, want %.2f x %.2f within %.3f", w, h, id1Width, id1Height, toleranceMM)
		}
	}
	for _, dpi := range []string{"200", "300", "600"} {
		picture := strings.TrimSuffix(file, ".pdf") + dpi
		command(t, "pdftoppm", "-r", dpi, "-f", "1", "-l", "1", "-singlefile", "-png", file, picture)
		if got := strings.TrimSpace(command(t, "zbarimg", "-q", "--nodbus", "-Sdisable", "-Sqrcode.enable", "--", picture+".png")); got != "QR-Code:"+code {
			t.Errorf("at %s dpi zbarimg reads %q, want %q", dpi, got, "QR-Code:"+code)
		}
	}
}

// TestPrintedCard prints the card's page with a browser, as a shop does, and takes the program's own PDF.
func TestPrintedCard(t *testing.T) {
	t.Parallel()
	l := webtest.NewLeaving(t)
	l.Ready()
	code := l.Issue()
	address := "http://ledger.example/card#" + warranty.ProofText(l.NewestCard().Proof)
	tab := window(l.Site, l.Clerk.Email)
	for _, theme := range []string{"light", "dark"} {
		if err := tab.Look(browser.Widths["desktop"], theme); err != nil {
			t.Fatal(err)
		}
		if err := tab.Open(l.Path + "/papers/warranty-card"); err != nil {
			t.Fatal(err)
		}
		pdf, err := tab.PDF()
		if err != nil {
			t.Fatal(err)
		}
		isCard(t, pdf, browserToleranceMM, address)
	}
	a := l.As(l.Clerk).Get(l.Path + "/papers/warranty-card.pdf").Want(http.StatusOK)
	isCard(t, []byte(a.Body), exactToleranceMM, address)
	file := filepath.Join(t.TempDir(), "card.pdf")
	if err := os.WriteFile(file, []byte(a.Body), 0o600); err != nil {
		t.Fatal(err)
	}
	text := strings.Join(strings.Fields(command(t, "pdftotext", file, "-")), " ")
	for _, want := range []string{code.Grouped(), l.N.String(), "HM-104477", "M-90113", "Gannet Harbourmaster",
		"Mainspring", "24 Nov 2028"} {
		if !strings.Contains(text, want) {
			t.Errorf("the PDF does not say %q: %s", want, text)
		}
	}
}

// overflows lists the lines that stick out of the margins of their face, as the browser sets them.
const overflows = `[...document.querySelectorAll(".face-card")].flatMap(face => {
	const box = face.getBoundingClientRect(), margin = box.width * 2.9 / 85.6;
	return [...face.querySelectorAll("text")].filter(e => {
		const r = e.getBoundingClientRect();
		return r.left < box.left + margin || r.right > box.right - margin || r.top < box.top || r.bottom > box.bottom;
	}).map(e => "out of the face: " + e.textContent);
})`

// TestCardFacesHoldLongText fills a card with as much as a shop will ever write on one.
func TestCardFacesHoldLongText(t *testing.T) {
	t.Parallel()
	l := webtest.NewLeaving(t)
	l.Ready()
	tab := window(l.Site, l.Owner.Email)
	for name, c := range map[string]struct {
		work, covers, model, shop string
	}{
		"usual": {"Full service\nNew mainspring\nSeals replaced, dry test at 3 bar", "The work named on this card and the " +
			"parts fitted. Not water, shocks, wear of strap or case, or opening by others.", "Harbourmaster",
			"Tern Quay Watch Works"},
		"long": {strings.TrimSpace(strings.Repeat("Balance staff turned, poised, in beat, with its pivots\n", 5)),
			strings.Repeat("The work named on this card and parts fitted. ", 5) + "Not what others did.",
			"Harbourmaster Chronometer of the third series with a moon", "Tern Quay Watch Works and Chronometer Makers"},
		"lines": {strings.TrimSpace(strings.Repeat("Cleaned, oiled, in six place\n", 10)),
			strings.Repeat("Covers work and parts. ", 11) + "Nothing else.", "Harbourmaster", "Tern Quay Watch Works"},
	} {
		if _, err := l.Store.Pool().Exec(t.Context(), `UPDATE watch SET model = $1`, c.model); err != nil {
			t.Fatal(err)
		}
		if _, err := l.Store.Pool().Exec(t.Context(), `UPDATE shop SET name = $1`, c.shop); err != nil {
			t.Fatal(err)
		}
		path, form := l.Path+"/card", l.CardForm("work_done", c.work, "covers", c.covers, "reason", "longer")
		if sheet, _ := l.Store.CardSheet(t.Context(), l.N); len(sheet.Cards) > 0 {
			path += "/reissue"
		}
		l.As(l.Owner).Post(path, form).Want(http.StatusSeeOther)
		if err := tab.Open(l.Path + "/papers/warranty-card"); err != nil {
			t.Fatal(err)
		}
		wrong, err := browser.Eval[[]string](tab, `document.fonts.ready.then(() => `+overflows+`)`)
		if err != nil {
			t.Fatal(err)
		}
		for _, w := range wrong {
			t.Errorf("%s: %s", name, w)
		}
		pdf := l.As(l.Owner).Get(l.Path + "/papers/warranty-card.pdf").Want(http.StatusOK)
		file := filepath.Join(t.TempDir(), "card.pdf")
		if err := os.WriteFile(file, []byte(pdf.Body), 0o600); err != nil {
			t.Fatal(err)
		}
		if text := command(t, "pdftotext", file, "-"); strings.Contains(text, "…") {
			t.Errorf("%s: something is cut off in the PDF: %s", name, text)
		}
		if dir := os.Getenv("CARD_SHOTS"); dir != "" {
			if err := tab.Picture(filepath.Join(dir, fmt.Sprintf("card-%s.png", name)), false); err != nil {
				t.Error(err)
			}
		}
	}
}

// A card from before codes stated anything keeps the code that it was printed with, and is checked as it was.
func TestOlderCardKeepsItsCode(t *testing.T) {
	t.Parallel()
	l := webtest.NewLeaving(t)
	l.Ready()
	code := l.Issue()
	for _, sql := range []string{`ALTER TABLE warranty_card DISABLE TRIGGER warranty_card_proof_fixed`,
		`UPDATE warranty_card SET proof = NULL`} {
		if _, err := l.Store.Pool().Exec(t.Context(), sql); err != nil {
			t.Fatal(err)
		}
	}
	a := l.As(l.Clerk).Get(l.Path + "/papers/warranty-card.pdf").Want(http.StatusOK)
	isCard(t, []byte(a.Body), exactToleranceMM, "http://ledger.example/w/"+string(code))
	l.Stranger().Get("/w/" + string(code)).Want(http.StatusOK)
}
