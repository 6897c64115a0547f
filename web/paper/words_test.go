package paper

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"testing"
	"unicode"

	"golang.org/x/net/html"
	"golang.org/x/text/unicode/norm"

	"ledgerwheel/web/paper/script"
	"ledgerwheel/web/paper/typeface"
)

// letters are the characters of text in order of code, white space left out: two renderings that break lines
// differently have the same.
func letters(text string) string {
	runes := []rune(strings.Map(func(r rune) rune {
		if unicode.IsSpace(r) || script.Invisible(r) {
			return -1
		}
		return r
	}, norm.NFKC.String(script.Plain(script.Prepare(text)))))
	slices.Sort(runes)
	return string(runes)
}

// readOut is what the reading of a paper says, captions for listeners left out.
func readOut(t testing.TB, s Sheets) string {
	t.Helper()
	var b strings.Builder
	if err := s.Page().Render(context.Background(), &b); err != nil {
		t.Fatal(err)
	}
	root, err := html.Parse(strings.NewReader(b.String()))
	if err != nil {
		t.Fatal(err)
	}
	var out strings.Builder
	var walk func(n *html.Node)
	walk = func(n *html.Node) {
		for _, a := range n.Attr {
			if a.Key == "class" && (a.Val == "aside" || strings.HasPrefix(a.Val, "leaves")) {
				return
			}
		}
		if n.Type == html.TextNode {
			out.WriteString(n.Data + "\n")
		}
		for c := n.FirstChild; c != nil; c = c.NextSibling {
			walk(c)
		}
	}
	walk(root)
	return out.String()
}

// printed is what stands on the sheets, but for what repeats on each.
func printed(s Sheets) string {
	var out strings.Builder
	for _, b := range s.drawing.Boxes() {
		if !b.Repeating {
			out.WriteString(b.Text + "\n")
		}
	}
	return out.String()
}

// apart says which characters two sorted texts do not share.
func apart(a, b string) (onlyA, onlyB string) {
	count := map[rune]int{}
	for _, r := range a {
		count[r]++
	}
	for _, r := range b {
		count[r]--
	}
	for r, n := range count {
		if n > 0 {
			onlyA += strings.Repeat(string(r), min(n, 5))
		} else if n < 0 {
			onlyB += strings.Repeat(string(r), min(-n, 5))
		}
	}
	return onlyA, onlyB
}

// hostile are texts that shops and customers have: long, of several scripts, without a place to break.
var hostile = map[string]string{
	"long":  "The Honourable Society of Clock and Watch Makers of Saltby, Upper Saltby and the Seven Harbours, Incorporated",
	"mixed": "ساعات محمد العربية الفاخرة (Tern Quay) وأبناؤه Watch Works 1984, Ωρολόγια Часы שעונים",
	"solid": "Donaudampfschifffahrtselektrizitätenhauptbetriebswerkbauunterbeamtengesellschaft",
}

// Page and paper say the same, whatever stands on them: the first is read, the second drawn, both are made of one
// description, and nothing is cut, dropped or said by one alone.
func TestPageAndPaperSayTheSame(t *testing.T) {
	t.Parallel()
	papers := samples()
	for name, p := range samples() {
		for kind, text := range hostile {
			papers[name+" "+kind] = flooded(p, text)
		}
	}
	for kind, p := range manyLines() {
		papers[kind] = p
	}
	for name, p := range papers {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			s := laid(t, p)
			read, drawn := letters(readOut(t, s)), letters(printed(s))
			onlyRead, onlyDrawn := apart(read, drawn)
			if _, labels := p.(DrawerLabels); labels || s.doc.draw != nil && s.Overflows() {
				onlyDrawn = "" // a further card, or a line below a label, says again what the first had no room for
			}
			if onlyRead != "" || onlyDrawn != "" {
				t.Errorf("only read: %q; only printed: %q\nread:\n%s\nprinted:\n%s", onlyRead, onlyDrawn, readOut(t, s), printed(s))
			}
		})
	}
}

// The file holds what was drawn: an independent reader finds the same letters.
func TestFileHoldsWhatWasDrawn(t *testing.T) {
	t.Parallel()
	papers := samples()
	papers["estimate mixed"] = flooded(sampleEstimate(), hostile["mixed"])
	papers["ticket mixed"] = flooded(sampleTicket(TicketA6), hostile["mixed"])
	for name, p := range papers {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			s := laid(t, p)
			var all strings.Builder
			for _, b := range s.drawing.Boxes() {
				all.WriteString(b.Text + "\n")
			}
			file := run(t, "pdftotext", "-raw", onDisk(t, "paper", pdfOf(t, strings.ReplaceAll(name, " ", "-"), p)), "-")
			onlyFile, onlyDrawn := apart(letters(file), letters(all.String()))
			if onlyFile != "" || onlyDrawn != "" {
				t.Errorf("only in the file: %q; only drawn: %q", onlyFile, onlyDrawn)
			}
		})
	}
}

func manyLines() map[string]Paper {
	e, v := sampleEstimate(), sampleInvoice()
	e.Lines, v.Lines = nil, nil
	for i := range 40 {
		line := Line{fmt.Sprintf("Work number %d on the movement", i+1), "as found", "1", "£1.00", "20 %", "£1.00"}
		e.Lines, v.Lines = append(e.Lines, line), append(v.Lines, line)
	}
	return map[string]Paper{"forty lines estimated": e, "forty lines billed": v}
}

// Forty lines begin on the first page and fill it: they don't wait for the second.
func TestFortyLinesFillTheFirstPage(t *testing.T) {
	t.Parallel()
	for name, p := range manyLines() {
		s := laid(t, p)
		low := 0.0
		for _, b := range s.drawing.Boxes() {
			if b.Page == 0 && !b.Repeating {
				low = max(low, b.Y+b.H)
			}
		}
		if bottom := a4.h - a4.bottom; low < bottom-15 || low > bottom {
			t.Errorf("%s: the first page is filled down to %.1f mm of %.1f", name, low, bottom)
		}
		if s.Pages() < 2 || s.Pages() > 3 {
			t.Errorf("%s: %d pages", name, s.Pages())
		}
		inside(t, p)
	}
}

// A long name with long terms keeps code, complaint and condition on the ticket, which runs on to a second page.
func TestTicketKeepsItsContent(t *testing.T) {
	t.Parallel()
	c := sampleTicket(TicketA6)
	c.Issuer.Name = hostile["long"]
	c.Terms = []string{strings.Repeat("We work up to the limit you agreed and ask before going beyond it. ", 40)}
	s := laid(t, c)
	if s.Pages() < 2 || !s.Overflows() {
		t.Errorf("%d pages", s.Pages())
	}
	if len(s.drawing.Codes()) != 2 {
		t.Errorf("%d bar codes", len(s.drawing.Codes()))
	}
	for _, want := range []string{c.Complaint, c.Condition, c.Terms[0], c.Issuer.Name} {
		if !strings.Contains(squeezed(printed(s)), squeezed(want)) {
			t.Errorf("%.40q is not printed whole", want)
		}
	}
	inside(t, c)
	c = sampleTicket(TicketA6)
	if s := laid(t, c); s.Pages() != 1 {
		t.Errorf("the usual ticket takes %d pages", s.Pages())
	}
}

func squeezed(text string) string { return strings.Join(strings.Fields(text), "") }

// The card holds all that may be typed for it: terms of 270 characters, and six positions, in type no smaller than its least.
func TestCardHoldsItsBound(t *testing.T) {
	t.Parallel()
	c := sampleWarranty()
	c.Covers = strings.Repeat("Faults of the work named here, and of parts. ", 6)
	c.Rates = append(c.Rates, CardRate{"Mean", "+2.2", ""}, CardRate{"Delta", "5.4", ""})
	s := laid(t, c)
	if len(c.Covers) != 270 || s.Pages() != 2 || s.Overflows() {
		t.Errorf("%d characters take %d faces", len(c.Covers), s.Pages())
	}
	c.Watch = strings.Repeat(hostile["long"]+" ", 6)
	if s := laid(t, c); s.Pages() < 3 || !strings.Contains(squeezed(printed(s)), squeezed(c.Watch)) {
		t.Errorf("a name with no room on the card is not whole on a further one: %d faces", s.Pages())
	}
}

// Not parallel: it adds a type and takes it away again. Emoji are told, printed as a sign, and kept in the text.
func TestScriptsOfTheFarEast(t *testing.T) {
	e := sampleEstimate()
	e.Issuer.Name, e.Lines[0].Amount = "時計工房 \U0001F600", "￥12,500"
	s := laid(t, e)
	if got := string(s.Lacking()); got != "時計工房\U0001F600" {
		t.Errorf("without a type for them, lacking %q", got)
	}
	if where := strings.Join(s.LackingIn(), "|"); where != e.Issuer.Name {
		t.Errorf("they stand in %q", where)
	}
	if !strings.Contains(printed(s), "¥12,500") {
		t.Error("the wide sign of yen is not set as the plain one")
	}
	pdfOf(t, "estimate-emoji", e) // must not panic
	ttf := farEastern(t)
	if err := typeface.Add(ttf); err != nil {
		t.Fatal(err)
	}
	defer func() { _ = typeface.Add(nil) }()
	s = laid(t, e)
	if got := string(s.Lacking()); got != "\U0001F600" {
		t.Errorf("with a type for them, lacking %q", got)
	}
	pdf := pdfOf(t, "estimate-japanese", e)
	if text := run(t, "pdftotext", onDisk(t, "japanese", pdf), "-"); !strings.Contains(text, "時計工房") {
		t.Errorf("the file does not hold the name:\n%s", text)
	}
	if fonts := run(t, "pdffonts", onDisk(t, "japanese", pdf)); !strings.Contains(fonts, "DroidSansFallback") || len(pdf) > 200_000 {
		t.Errorf("%d bytes, fonts:\n%s", len(pdf), fonts)
	}
}
