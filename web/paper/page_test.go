package paper

import (
	"errors"
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"ledgerwheel/web/paper/drawing"
)

var (
	mediaBox = regexp.MustCompile(`/MediaBox \[0 0 ([0-9.]+) ([0-9.]+)\]`)
	infoSize = regexp.MustCompile(`Page +\d+ size: +([0-9.]+) x ([0-9.]+) pts`)
)

// ISO/IEC 7810 ID-1 is 85.60 x 53.98 mm, ISO 216 A4 210 x 297 mm and A6
// 105 x 148 mm; a point is 1/72 inch of 25.4 mm (ISO 32000-1, 8.3.2.3).
func TestPageSizes(t *testing.T) {
	t.Parallel()
	tests := []struct {
		name  string
		paper Paper
		w, h  float64 // mm
		pages int
	}{
		{"card", sampleWarranty(), 85.60, 53.98, 2},
		{"label", sampleLabel(), 62, 29, 1},
		{"drawer label", sampleDrawer("MS-120"), 62, 29, 1},
		{"drawer labels", sampleDrawers(), 210, 297, 2},
		{"ticket-a6", sampleTicket(TicketA6), 105, 148, 1},
		{"ticket-visit", sampleVisit(), 105, 148, 1},
		{"address-label", sampleAddress(), 105, 148, 1},
		{"loan-slip", sampleSlip(), 105, 148, 1},
		{"order", sampleOrder(), 210, 297, 1},
		{"estimate", sampleEstimate(), 210, 297, 1},
		{"invoice", sampleInvoice(), 210, 297, 1},
		{"receipt", sampleReceipt(), 105, 148, 1},
		{"receipt for several", sampleVisitReceipt(), 105, 148, 1},
		{"notice", sampleNotice(), 210, 297, 1},
		{"bulletin", sampleBulletin(), 210, 297, 2},
		{"codes", sampleBenchSheet(), 210, 297, 1},
		{"letter", sampleLetter(), 210, 297, 1},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			pdf := pdfOf(t, tt.name, tt.paper)
			boxes := mediaBox.FindAllStringSubmatch(string(pdf), -1)
			if len(boxes) == 0 { // pages of one size inherit it from the page tree (ISO 32000-1, 7.7.3.4)
				t.Fatal("no media box")
			}
			for _, box := range boxes {
				near(t, "MediaBox", box, tt.w, tt.h, 0.0051) // the file holds hundredths of a point
			}
			info := run(t, "pdfinfo", "-f", "1", "-l", "99", onDisk(t, tt.name, pdf))
			sizes := infoSize.FindAllStringSubmatch(info, -1)
			if len(sizes) != tt.pages {
				t.Fatalf("pdfinfo shows %d pages, want %d:\n%s", len(sizes), tt.pages, info)
			}
			for _, size := range sizes {
				near(t, "pdfinfo", size, tt.w, tt.h, 0.0051)
			}
		})
	}
}

func TestCardInPoints(t *testing.T) {
	t.Parallel()
	if pdf := string(pdfOf(t, "card", sampleWarranty())); strings.Count(pdf,
		"/MediaBox [0 0 242.65 153.01]") != strings.Count(pdf, "/MediaBox") {
		t.Error("a face of the card is not 242.65 x 153.01 pt")
	}
}

// near compares a size in points with one in mm.
func near(t *testing.T, what string, got []string, w, h, tolerance float64) {
	t.Helper()
	for i, want := range []float64{w, h} {
		pt, err := strconv.ParseFloat(got[i+1], 64)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(pt-want*72/25.4) > tolerance {
			t.Errorf("%s: %v pt, want %.3f", what, pt, want*72/25.4)
		}
	}
}

func TestRollIsAsLongAsItNeeds(t *testing.T) {
	t.Parallel()
	short, long := sampleTicket(TicketRoll), sampleTicket(TicketRoll)
	short.Complaint, short.Terms = "", nil
	long.Complaint = strings.Repeat("It stops every night at ten past two. ", 30)
	height := func(c ClaimTicket) float64 {
		d := laid(t, c).drawing
		if d.W != 80 {
			t.Errorf("the roll is %v mm wide", d.W)
		}
		return d.H
	}
	if s, l := height(short), height(long); !(l > s+40) {
		t.Errorf("thirty sentences take %v mm, none %v mm", l, s)
	}
}

// A receipt on a roll prints 72 of its 80 mm, and is as long as the payments ask.
func TestReceiptOnARoll(t *testing.T) {
	t.Parallel()
	short, long := onRoll(sampleReceipt()), onRoll(sampleReceipt())
	for range 12 {
		long.Payments = append(long.Payments, long.Payments[0])
	}
	height := func(p Paper) float64 {
		d := laid(t, p).drawing
		if d.W != 80 || d.Pages() != 1 {
			t.Errorf("the roll is %v mm wide and has %d pages", d.W, d.Pages())
		}
		for _, b := range d.Boxes() {
			if b.X < 3.95 || b.X+b.W > 76.05 {
				t.Errorf("%q lies from %.2f to %.2f mm, beyond the 72 mm that a printer of rolls prints", b.Text, b.X, b.X+b.W)
			}
		}
		return d.H
	}
	if s, l := height(short), height(long); !(l > s+40) {
		t.Errorf("twelve payments more take %v mm, without them %v mm", l, s)
	}
	height(visitOnRoll(sampleVisitReceipt()))
}

func TestFontsAreEmbeddedSubsets(t *testing.T) {
	t.Parallel()
	for name, m := range samples() {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			pdf := pdfOf(t, name, m)
			const largest = 150_000 // bytes; the faces whole come to 2.5 million
			if len(pdf) > largest {
				t.Errorf("%d bytes: are the fonts cut down?", len(pdf))
			}
			lines := strings.Split(strings.TrimSpace(run(t, "pdffonts", onDisk(t, name, pdf))), "\n")[2:]
			if len(lines) < 3 {
				t.Errorf("%d fonts, want serif, sans and its strong weight at least", len(lines))
			}
			for _, line := range lines {
				// name, type, encoding, then emb, sub, uni and the object's two numbers
				f := strings.Fields(line)
				if flags := f[len(f)-5 : len(f)-2]; strings.Join(flags, " ") != "yes yes yes" {
					t.Errorf("embedded, subset, with Unicode: %v in %q", flags, line)
				}
				if !strings.Contains(line, "PlexSans") && !strings.Contains(line, "Vollkorn") {
					t.Errorf("font of another house: %q", line)
				}
			}
		})
	}
}

func TestMetadata(t *testing.T) {
	t.Parallel()
	c := sampleTicket(TicketA6)
	c.Issuer.Name, c.Lang = "Hodinářství Šimůnek", "cs-CZ"
	pdf := pdfOf(t, "ticket-cs", c)
	info := run(t, "pdfinfo", "-enc", "UTF-8", "-isodates", onDisk(t, "ticket", pdf))
	for _, want := range []string{
		"Title:           Claim ticket " + sampleDocket,
		"Author:          Hodinářství Šimůnek",
		"CreationDate:    2026-11-24T09:30:00",
		"ModDate:         2026-11-24T09:30:00",
	} {
		if !strings.Contains(info, want) {
			t.Errorf("pdfinfo lacks %q:\n%s", want, info)
		}
	}
	if !strings.Contains(string(pdf), "/Lang (cs-CZ)") {
		t.Error("the catalogue does not name the language")
	}
	if plain := string(pdfOf(t, "label", sampleLabel())); !strings.Contains(plain, "/Lang (en-GB)") {
		t.Error("the language is not British English when none is given")
	}
}

func TestRefusals(t *testing.T) {
	t.Parallel()
	for name, m := range samples() {
		if _, err := PDF(m, time.Time{}, nil); !errors.Is(err, drawing.ErrNoDate) {
			t.Errorf("%s without a date: %v", name, err)
		}
	}
	c := sampleTicket(TicketA6)
	c.Lang = "en) /AA <<"
	if _, err := PDF(c, made, nil); err == nil {
		t.Error("a language tag that would break out of its string was taken")
	}
}

// Tables flow over pages, repeat their headings, and every page knows its number.
func TestTablesFlow(t *testing.T) {
	t.Parallel()
	e := sampleEstimate()
	for i := range 120 {
		e.Lines = append(e.Lines, Line{fmt.Sprintf("Part number %03d", i), "as found", "1", "£1.00", "20 %", "£1.00"})
	}
	e.Lines[60].Description = strings.Repeat("one row that is longer than a whole page ", 220)
	pdf := pdfOf(t, "estimate-long", e)
	file := onDisk(t, "estimate", pdf)
	pages := strings.Count(string(pdf), "/Type /Page\n")
	if pages < 5 {
		t.Fatalf("%d pages", pages)
	}
	headed := 0
	for n := 1; n <= pages; n++ {
		text := run(t, "pdftotext", "-f", strconv.Itoa(n), "-l", strconv.Itoa(n), "-layout", file, "-")
		if !strings.Contains(text, fmt.Sprintf("Page %d of %d", n, pages)) {
			t.Errorf("page %d of %d does not say so", n, pages)
		}
		if strings.Contains(text, "Work and parts") {
			headed++
		}
	}
	if headed < pages-1 { // the last may hold the signature alone
		t.Errorf("%d of %d pages carry the table's headings", headed, pages)
	}
	text := run(t, "pdftotext", "-layout", file, "-")
	for i := range 120 {
		if want := fmt.Sprintf("Part number %03d", i); i != 55 && strings.Count(text, want) != 1 {
			t.Errorf("%q stands %d times", want, strings.Count(text, want))
		}
	}
	// a few are parted between lines or pages
	if n := strings.Count(strings.Join(strings.Fields(text), " "), "whole page"); n < 215 {
		t.Errorf("of the long row, %d of 220 repetitions are printed", n)
	}
}
