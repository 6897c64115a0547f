package e2e

import (
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"ledgerwheel/domain/staff"
	"ledgerwheel/e2e/browser"
)

// mostPx bounds the height of a sheet of the demo shop's fullest docket, in CSS pixels, at a desk (1440 px wide) and on a
// telephone (390 px). The bounds are ours.
var mostPx = map[string]map[int64]int{
	"regulation": {1440: 2000, 390: 3000},
	"advice":     {1440: 2000, 390: 2800},
	"trial":      {1440: 2600, 390: 3400},
}

// sheetsOfA4 bounds what a sheet prints on; regulation and advice together take three.
var sheetsOfA4 = map[string]int{"regulation": 2, "advice": 2, "trial": 2, "": 2, "today": 3}

// fullest finds the docket whose sheet says most.
func fullest(t *testing.T, p *person, sheet string) (number string) {
	t.Helper()
	client, most := p.client(), 0
	for _, n := range demoDockets(t, client, p.address) {
		res, body := fetch(t, client, p.address+"/dockets/"+n+"/"+sheet)
		if res.StatusCode == http.StatusOK && len(body) > most {
			number, most = n, len(body)
		}
	}
	return number
}

// TestSheetsAreReadAtAGlance measures the sheets of the bench on the fullest dockets: how high they are, and that the
// first reading is in sight without scrolling.
func TestSheetsAreReadAtAGlance(t *testing.T) {
	p := signedIn(t, otherSite(t), staff.Watchmaker)
	for sheet, bounds := range mostPx {
		number := fullest(t, p, sheet)
		for width, most := range bounds {
			p.try(p.tab.Look(width, "light"))
			p.sheet(number, sheet)
			height, err := browser.Eval[int](p.tab, `document.documentElement.scrollHeight`)
			p.try(err)
			t.Logf("%s of %s at %d px: %d px high", sheet, number, width, height)
			if height > most {
				t.Errorf("%s of %s is %d px high at a width of %d px, want %d at most", sheet, number, height, width, most)
			}
			if sheet != "regulation" {
				continue
			}
			foot, err := browser.Eval[int](p.tab,
				`Math.round(document.querySelector(".run-grid tbody td").getBoundingClientRect().bottom)`)
			p.try(err)
			window := map[int64]int{1440: 900, 390: 844}[width]
			t.Logf("its first reading ends at %d px", foot)
			if foot > window {
				t.Errorf("the first reading of %s ends at %d px, below a window of %d px", number, foot, window)
			}
		}
	}
}

// leastTextPx is the least size of type in a drawing, as it is seen.
const leastTextPx = 14

// misdrawn names the words of drawings that are too small, turned, or beyond the edge of their drawing or of the window.
const misdrawn = `[...document.querySelectorAll("main svg.chart")].filter(s => s.checkVisibility()).flatMap((s) => {
	const edge = s.getBoundingClientRect(), scale = s.getScreenCTM().a;
	return [...s.querySelectorAll("text")].flatMap((t) => {
		const box = t.getBoundingClientRect(), said = t.textContent + " of " + s.querySelector("title").textContent;
		const size = parseFloat(getComputedStyle(t).fontSize) * scale, faults = [];
		if (size < 13.99) faults.push(said + ": " + size.toFixed(1) + " px");
		if (Math.abs(t.getScreenCTM().b) > 0.01) faults.push(said + ": turned");
		if (box.left < edge.left - 3 * scale || box.right > edge.right + 1 || box.top < edge.top - 3 * scale || box.bottom > edge.bottom + 3 * scale ||
			box.right > innerWidth + 1) faults.push(said + ": cut");
		return faults;
	});
})`

// TestDrawingsAreReadAtEveryWidth looks at the words of every drawing of the fullest dockets, and of every kind of drawing
// in its own examples, on a telephone and at a desk.
func TestDrawingsAreReadAtEveryWidth(t *testing.T) {
	p := signedIn(t, otherSite(t), staff.Watchmaker)
	var pages []string
	for _, sheet := range []string{"regulation", "advice", "trial"} {
		pages = append(pages, "/dockets/"+fullest(t, p, sheet)+"/"+sheet)
	}
	for _, width := range []int64{390, 1440} {
		p.try(p.tab.Look(width, "light"))
		for _, path := range pages {
			p.open(path)
			p.unfoldAll()
			if p.count("svg.chart") == 0 {
				t.Errorf("%s has no drawing", path)
			}
			noneMisdrawn(t, p, path, width)
		}
		p.open("/dockets")
		for _, file := range drawings(t) {
			drawing, err := os.ReadFile(file)
			p.try(err)
			p.js(`(() => { document.querySelector("main").innerHTML = '<div class="charts"><figure class="chart-figure-box"></figure></div>';
				document.querySelector("main figure").innerHTML = ` + quoted(string(drawing)) + `; return true; })()`)
			noneMisdrawn(t, p, filepath.Base(file), width)
		}
	}
}

func noneMisdrawn(t *testing.T, p *person, where string, width int64) {
	t.Helper()
	faults, err := browser.Eval[[]string](p.tab, misdrawn)
	p.try(err)
	if len(faults) > 0 {
		t.Errorf("%s at %d px, words of at least %d px upright within their drawing: %q", where, width, leastTextPx, faults)
	}
}

// drawings are the examples that the drawings are tested with.
func drawings(t *testing.T) []string {
	t.Helper()
	files, err := filepath.Glob("../web/chart/testdata/*.svg")
	if err != nil || len(files) < 40 {
		t.Fatalf("%d drawings found: %v", len(files), err)
	}
	return files
}

var pdfPage = regexp.MustCompile(`/Type\s*/Page\b`)

// TestPagesPrintOnFewSheets prints pages of the fullest dockets as the browser does.
func TestPagesPrintOnFewSheets(t *testing.T) {
	p := signedIn(t, otherSite(t), staff.Watchmaker)
	printed := map[string]int{}
	for sheet, most := range sheetsOfA4 {
		path := "/"
		if sheet != "today" {
			path = strings.TrimSuffix("/dockets/"+fullest(t, p, sheet)+"/"+sheet, "/")
		}
		p.open(path)
		pdf, err := p.tab.OnA4()
		p.try(err)
		n := len(pdfPage.FindAll(pdf, -1))
		printed[sheet] = n
		t.Logf("%s prints on %d sheets", path, n)
		if n == 0 || n > most {
			t.Errorf("%s prints on %d sheets of A4, want %d at most", path, n, most)
		}
	}
	if n := printed["regulation"] + printed["advice"]; n > 3 {
		t.Errorf("regulation and advice print on %d sheets, want three", n)
	}
}
