package e2e

import (
	"bytes"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// Papers are looked at with tools that know nothing of the program: poppler's pdfinfo, pdftotext and pdftoppm, and
// zbarimg, a reader of bar codes.

// ptPerMM: a point of PDF (ISO 32000-1, 8.3.2.3) is 1/72 inch, an inch is 25.4 mm.
const ptPerMM = 72 / 25.4

// paperSize is a sheet in millimetres.
type paperSize struct{ width, height float64 }

// The sizes the papers must have: cards are ID-1 of ISO/IEC 7810, tickets A6 of ISO 216.
var (
	cardSize   = paperSize{85.60, 53.98}
	ticketSize = paperSize{105, 148}
	a4         = paperSize{210, 297}
	labelSize  = paperSize{62, 29}
)

// paper is one printed document.
type paper struct {
	t    *testing.T
	file string
	// byFirefox prints on the sheet at hand, whatever a named page asks for, and draws variable type as outlines: pages
	// and bar codes can be read, sizes and words can't.
	byFirefox bool
}

// printed keeps a PDF for the tools.
func printed(t *testing.T, name string, pdf []byte) paper {
	t.Helper()
	if !bytes.HasPrefix(pdf, []byte("%PDF-")) {
		t.Fatalf("%s is no PDF: %.80q", name, pdf)
	}
	p := paper{t: t, file: filepath.Join(t.TempDir(), name+".pdf")}
	if err := os.WriteFile(p.file, pdf, 0o600); err != nil {
		t.Fatal(err)
	}
	return p
}

// prints prints the page in the window as the page itself sets its paper.
func (p *person) prints(name string) paper {
	p.t.Helper()
	pdf, err := p.tab.PDF()
	p.try(err)
	sheet := printed(p.t, name, pdf)
	sheet.byFirefox = p.tab.InFirefox()
	return sheet
}

// download fetches a PDF that the program makes.
func (p *person) download(name, path string) paper {
	p.t.Helper()
	res, body := p.get(path)
	if res.StatusCode != 200 || !strings.HasPrefix(res.Header.Get("Content-Type"), "application/pdf") {
		p.fatalf("%s: %s %s: %.200s", path, res.Status, res.Header.Get("Content-Type"), body)
	}
	return printed(p.t, name, body)
}

func (d paper) tool(name string, args ...string) string {
	d.t.Helper()
	out, err := exec.Command(name, args...).CombinedOutput()
	if err != nil {
		d.t.Fatalf("%s %v: %v: %s", name, args, err, out)
	}
	return string(out)
}

var (
	pageCount = regexp.MustCompile(`(?m)^Pages:\s+(\d+)`)
	pageSize  = regexp.MustCompile(`(?m)^Page\s+\d+ size:\s+([\d.]+) x ([\d.]+) pts`)
)

// measures checks every page's size against the sheet, within a tolerance.
func (d paper) measures(size paperSize, within paperSize, pages int) {
	d.t.Helper()
	info := d.tool("pdfinfo", "-l", "99", d.file)
	if n, _ := strconv.Atoi(firstGroup(pageCount.FindStringSubmatch(info))); n != pages {
		d.t.Errorf("%s has %d pages, want %d\n%s", filepath.Base(d.file), n, pages, info)
	}
	if d.byFirefox {
		return
	}
	sizes := pageSize.FindAllStringSubmatch(info, -1)
	if len(sizes) == 0 {
		d.t.Fatalf("pdfinfo tells no size:\n%s", info)
	}
	for _, m := range sizes {
		w, _ := strconv.ParseFloat(m[1], 64)
		h, _ := strconv.ParseFloat(m[2], 64)
		w, h = w/ptPerMM, h/ptPerMM
		if math.Abs(w-size.width) > within.width || math.Abs(h-size.height) > within.height {
			d.t.Errorf("%s is %.2f x %.2f mm, want %.2f x %.2f within %.2f x %.2f", filepath.Base(d.file),
				w, h, size.width, size.height, within.width, within.height)
		}
	}
}

// How true to size a sheet must be, in millimetres.
var (
	// A browser's print rounds the sheet up to whole points; the paper in the tray is cut no truer (ISO 216 allows 1.5
	// mm).
	browserMM = paperSize{0.353, 0.353}
	// What ISO/IEC 7810 allows an ID-1 card above its nominal size, the lesser of its two sides (from memory: 85.47 to
	// 85.72 by 53.92 to 54.03).
	cardMM = paperSize{0.12, 0.05}
	// The program's own PDFs state the sheet exactly; pdfinfo shows two decimals of a point.
	exactMM = paperSize{0.006, 0.006}
)

func firstGroup(match []string) string {
	if len(match) < 2 {
		return ""
	}
	return match[1]
}

// text is everything written on the paper.
func (d paper) text() string {
	d.t.Helper()
	return strings.Join(strings.Fields(d.tool("pdftotext", "-layout", d.file, "-")), " ")
}

// says checks that the paper reads each of the words.
func (d paper) says(words ...string) {
	d.t.Helper()
	if d.byFirefox {
		return
	}
	text := d.text()
	for _, w := range words {
		if !strings.Contains(text, w) {
			d.t.Errorf("%s does not say %q:\n%s", filepath.Base(d.file), w, text)
		}
	}
}

// codes lists what zbarimg reads from the paper at 300 dots per inch, as "QR-Code:text" and "CODE-128:text".
func (d paper) codes() []string {
	d.t.Helper()
	dir := filepath.Dir(d.file)
	d.tool("pdftoppm", "-r", "300", "-png", d.file, filepath.Join(dir, "page"))
	images, err := filepath.Glob(filepath.Join(dir, "page*.png"))
	if err != nil || len(images) == 0 {
		d.t.Fatalf("no picture of %s (%v)", d.file, err)
	}
	var found []string
	for _, image := range images {
		out, err := exec.Command("zbarimg", "-q", "--nodbus", "-Sdisable", "-Scode128.enable", "-Sqrcode.enable", image).Output()
		if exit, ok := err.(*exec.ExitError); err != nil && (!ok || exit.ExitCode() != 4) { // 4: nothing to read on it
			d.t.Fatalf("zbarimg: %v", err)
		}
		found = append(found, strings.Fields(string(out))...)
	}
	return found
}

// bears checks that the paper carries a code of that symbology and text.
func (d paper) bears(symbology, text string) {
	d.t.Helper()
	if codes := d.codes(); !slices.Contains(codes, symbology+":"+text) {
		d.t.Errorf("%s bears %q, want %s:%s", filepath.Base(d.file), codes, symbology, text)
	}
}
