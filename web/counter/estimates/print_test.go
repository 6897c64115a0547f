package estimates_test

import (
	"fmt"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"ledgerwheel/e2e/browser"
	"ledgerwheel/web/webtest"
)

// printed is what the pages of a PDF say and where their lines stand, as pdftotext reads them.
func printed(t *testing.T, pdf []byte, args ...string) string {
	t.Helper()
	file := filepath.Join(t.TempDir(), "paper.pdf")
	if err := os.WriteFile(file, pdf, 0o600); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command("pdftotext", append(args, file, "-")...).Output()
	if err != nil {
		t.Fatalf("pdftotext (Debian: apt-get install poppler-utils): %v", err)
	}
	return string(out)
}

var (
	sheetOf  = regexp.MustCompile(`<page width="([0-9.]+)" height="([0-9.]+)">`)
	wordAt   = regexp.MustCompile(`<word xMin="([0-9.]+)" yMin="([0-9.]+)" xMax="([0-9.]+)" yMax="([0-9.]+)">`)
	a4Points = [2]float64{595.28, 841.89}
)

// Forty lines, printed by a browser and as PDF: both take the same pages, fill the first, keep their margins on each and
// say which page of how many it is.
func TestFortyLinesPrint(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.TakeIn("name", "Ελευθερία Κωνσταντινίδου")
	var lines []webtest.PricedLine
	for i := range 40 {
		lines = append(lines, webtest.PricedLine{"part", fmt.Sprintf("Part number %d of the movement", i+1), "1", "24,50", "20"})
	}
	f := webtest.DraftForm(s.Version(number), lines...)
	f.Set("do", "send")
	s.As(s.Watchmaker).Post("/dockets/"+number+"/estimate", f).Want(http.StatusSeeOther)
	path := "/dockets/" + number + "/papers/estimate/1"
	ctx, stop, err := browser.Start(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(stop)
	tab, closeTab, err := browser.NewTab(ctx, s.URL)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(closeTab)
	if err := tab.SignIn(s.Owner.Email, webtest.Password); err != nil {
		t.Fatal(err)
	}
	if err := tab.Open(path); err != nil {
		t.Fatal(err)
	}
	// The page is readable without moving it sideways, down to 320 pixels.
	for _, width := range []int64{320, 390, 820, 1360} {
		if err := tab.Look(width, "light"); err != nil {
			t.Fatal(err)
		}
		wide, err := browser.Eval[float64](tab, `document.documentElement.scrollWidth`)
		if err != nil {
			t.Fatal(err)
		}
		if wide > float64(width) {
			t.Errorf("at %d pixels the page is %v wide", width, wide)
		}
		read, err := browser.Eval[bool](tab, `document.querySelector(".reading h2").getBoundingClientRect().width > 1`)
		if err != nil {
			t.Fatal(err)
		}
		if read != (width < 960) {
			t.Errorf("at %d pixels the words to read are shown: %v", width, read)
		}
	}
	byBrowser, err := tab.PDF()
	if err != nil {
		t.Fatal(err)
	}
	own := []byte(s.As(s.Owner).Get(path + ".pdf").Want(http.StatusOK).Body)
	if a, b := letters(printed(t, byBrowser)), letters(printed(t, own)); a != b {
		t.Errorf("the browser prints other letters than the PDF has:\n%s\n%s", a, b)
	}
	for name, pdf := range map[string][]byte{"browser": byBrowser, "PDF": own} {
		pages := strings.Split(printed(t, pdf, "-bbox"), "<page ")[1:]
		if len(pages) != 2 && len(pages) != 3 {
			t.Errorf("%s: %d pages", name, len(pages))
		}
		for i, page := range pages {
			keepsMargins(t, fmt.Sprintf("%s, page %d", name, i+1), "<page "+page, i == 0)
			if !strings.Contains(printed(t, pdf, "-f", webtest.Itoa(int64(i+1)), "-l", webtest.Itoa(int64(i+1))),
				fmt.Sprintf("Page %d of %d", i+1, len(pages))) {
				t.Errorf("%s: page %d does not say so", name, i+1)
			}
		}
	}
}

// keepsMargins holds the words of an A4 page to its margins of 20 mm at the sides, 16 above and 10 below, and asks for
// words near the foot of the body on one that is to be filled.
func keepsMargins(t *testing.T, name, page string, full bool) {
	t.Helper()
	const mm, slack = 72 / 25.4, 1.5 // a browser sets in whole pixels
	size := sheetOf.FindStringSubmatch(page)
	low := 0.0
	for i, want := range a4Points {
		if got := number(t, size[i+1]); got < want-slack || got > want+slack {
			t.Errorf("%s measures %s by %s points", name, size[1], size[2])
		}
	}
	for _, m := range wordAt.FindAllStringSubmatch(page, -1) {
		x1, y1, x2, y2 := number(t, m[1]), number(t, m[2]), number(t, m[3]), number(t, m[4])
		if x1 < 20*mm-slack || x2 > 190*mm+slack || y1 < 14*mm || y2 > 288*mm {
			t.Errorf("%s: a word at %.1f, %.1f to %.1f, %.1f leaves the margins", name, x1, y1, x2, y2)
		}
		if y2 < 275*mm {
			low = max(low, y2)
		}
	}
	if full && low < 255*mm {
		t.Errorf("%s is filled down to %.0f mm only", name, low/mm)
	}
}

func number(t *testing.T, s string) float64 {
	t.Helper()
	var v float64
	if _, err := fmt.Sscan(s, &v); err != nil {
		t.Fatal(err)
	}
	return v
}

// letters are the words of a paper without the spaces between them, which a browser and a writer of PDF place
// differently, in order of their code.
func letters(text string) string {
	runes := []rune(strings.Join(strings.Fields(text), ""))
	slices.Sort(runes)
	return string(runes)
}
