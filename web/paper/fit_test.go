package paper

import (
	"fmt"
	"reflect"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// Texts that forms have held: endless, unbroken, of every script, and junk.
var torture = map[string]string{
	"sentence":  strings.Repeat("the hand catches on the dial near four o'clock and then lets go; ", 14),
	"unbroken":  strings.Repeat("WWWWWWWWWW", 30),
	"czech":     strings.Repeat("Příliš žluťoučký kůň úpěl ďábelské ódy. ", 8),
	"greek":     strings.Repeat("Το ρολόι σταματά κάθε νύχτα στις δύο. ", 8),
	"cyrillic":  strings.Repeat("Часы отстают на минуту в сутки. ", 8),
	"hebrew":    strings.Repeat("השעון נעצר כל לילה (בשעה 02:10) ", 8),
	"arabic":    strings.Repeat("الساعة تتوقف كل ليلة بعد 12 ساعة، لا تتأخر. ", 8),
	"han":       strings.Repeat("時計が毎晩止まる。", 20),
	"marks":     strings.Repeat("e\u0301\u0323\u0308 ", 40) + strings.Repeat("\u0301", 50),
	"emoji":     strings.Repeat("⌚👨‍🔧🇬🇧", 15),
	"control":   "a\x00b\tc\r\nd\u202Ee\u2066f\u200B" + string([]byte{0xff, 0xfe}) + strings.Repeat("\n", 40) + "end",
	"delimiter": strings.Repeat(`)(\>>BT ET endstream `, 8),
	"empty":     "",
	"space":     "   \n \t ",
}

// kept are the fields that codes are made of, whose length is refused, not fitted.
var kept = map[string]bool{"Docket": true, "Code": true, "ApprovalURL": true, "Lang": true}

// flooded fills every text of a paper with text and doubles its lists.
func flooded[T any](t *testing.T, paper T, text string) T {
	t.Helper()
	v := reflect.New(reflect.TypeOf(paper)).Elem()
	v.Set(reflect.ValueOf(paper))
	flood(v, text)
	return v.Interface().(T)
}

func flood(v reflect.Value, text string) {
	switch v.Kind() {
	case reflect.String:
		v.SetString(text)
	case reflect.Struct:
		for i := range v.NumField() {
			if !kept[v.Type().Field(i).Name] {
				flood(v.Field(i), text)
			}
		}
	case reflect.Slice:
		if v.Type().Elem().Kind() == reflect.Uint8 {
			return
		}
		double := reflect.AppendSlice(reflect.AppendSlice(reflect.MakeSlice(v.Type(), 0, 2*v.Len()), v), v)
		for i := range double.Len() {
			flood(double.Index(i), text)
		}
		v.Set(double)
	}
}

// frame is what a page keeps text inside of, in mm.
type frame struct{ left, top, right, bottom float64 }

func inset(w, h, side float64) frame { return frame{side, side, w - side, h - side} }

// laid sets a paper and gives its sheet and the frame its margins make. The foot
// of A4 stands below the body, down to 10 mm from the edge.
func laid(t *testing.T, m sheetMaker) (*sheet, frame) {
	t.Helper()
	var s *sheet
	var f frame
	var err error
	a4 := func(fl *flow, e error) {
		if err = e; e == nil {
			fl.feet()
			s, f = fl.sheet, frame{marginSide, marginTop, a4Width - marginSide, a4Height - 10}
		}
	}
	switch p := m.(type) {
	case ClaimTicket:
		var tk *ticket
		if tk, err = p.layout(made); err == nil {
			s, f = tk.sheet, inset(tk.w, tk.h, tk.margin-2.2) // captions of codes reach into the white zone
		}
	case BagLabel:
		if s, err = p.layout(made); err == nil {
			f = inset(s.w, s.h, 1)
		}
	case WarrantyCard:
		if s, err = p.layout(made); err == nil {
			f = inset(s.w, s.h, 2.9)
		}
	case Estimate:
		a4(p.layout(made))
	case Invoice:
		a4(p.layout(made))
	case Bulletin:
		a4(p.layout(made))
	case TrialBulletin:
		a4(p.layout(made))
	default:
		t.Fatalf("no frame for %T", m)
	}
	if err != nil {
		t.Fatal(err)
	}
	return s, f
}

// inside checks that every line drawn lies in the frame and that no two lines,
// and no line and code, cross.
func inside(t *testing.T, m sheetMaker) {
	t.Helper()
	s, f := laid(t, m)
	if len(s.boxes) == 0 {
		t.Fatal("nothing was drawn")
	}
	const slack = 0.05 // mm; widths are rounded to a thousandth of the type size
	byPage := map[int][]textBox{}
	for _, b := range s.boxes {
		if b.x < f.left-slack || b.y < f.top-slack || b.x+b.w > f.right+slack || b.y+b.h > f.bottom+slack {
			t.Errorf("page %d: %.40q at (%.2f, %.2f) to (%.2f, %.2f) leaves (%.2f, %.2f) to (%.2f, %.2f)",
				b.page, b.text, b.x, b.y, b.x+b.w, b.y+b.h, f.left, f.top, f.right, f.bottom)
		}
		byPage[b.page] = append(byPage[b.page], capitals(b))
	}
	for _, b := range s.codes {
		if b.x < 0 || b.y < 0 || b.x+b.w > s.w || b.y+b.h > s.h {
			t.Errorf("page %d: a code leaves the page: %+v", b.page, b)
		}
		byPage[b.page] = append(byPage[b.page], b)
	}
	for page, boxes := range byPage {
		for i, a := range boxes {
			for _, b := range boxes[:i] {
				if a.x < b.x+b.w-slack && b.x < a.x+a.w-slack && a.y < b.y+b.h-slack && b.y < a.y+a.h-slack {
					t.Errorf("page %d: %.40q at (%.2f, %.2f) and %.40q at (%.2f, %.2f) cross", page, a.text, a.x, a.y, b.text, b.x,
						b.y)
				}
			}
		}
	}
}

// capitals shrinks a line's box to the height of its capitals: ascender and
// descender of lines set close may share their white space.
func capitals(b textBox) textBox {
	const ascent, cap, height = 0.93, 0.729, 0.93 + 0.24 // of the size, as in style
	b.y += b.h * (ascent - cap) / height
	b.h *= cap / height
	return b
}

func TestNothingOverflows(t *testing.T) {
	t.Parallel()
	for name, m := range samples() {
		t.Run(name, func(t *testing.T) { t.Parallel(); inside(t, m) })
		for kind, text := range torture {
			t.Run(name+" "+kind, func(t *testing.T) {
				t.Parallel()
				switch p := m.(type) {
				case ClaimTicket:
					inside(t, flooded(t, p, text))
				case BagLabel:
					inside(t, flooded(t, p, text))
				case WarrantyCard:
					inside(t, flooded(t, p, text))
				case Estimate:
					inside(t, flooded(t, p, text))
				case Invoice:
					inside(t, flooded(t, p, text))
				case Bulletin:
					inside(t, flooded(t, p, text))
				default:
					t.Fatalf("not flooded: %T", m)
				}
			})
		}
	}
}

var wordBox = regexp.MustCompile(`<word xMin="(-?[0-9.]+)" yMin="(-?[0-9.]+)" xMax="(-?[0-9.]+)" yMax="(-?[0-9.]+)">`)
var pageBox = regexp.MustCompile(`<page width="([0-9.]+)" height="([0-9.]+)">`)

// The same, as an independent reader of the finished file sees it.
func TestNothingOverflowsAsRead(t *testing.T) {
	t.Parallel()
	papers := map[string]sheetMaker{}
	for _, kind := range []string{"sentence", "unbroken", "arabic", "greek"} {
		papers["card "+kind] = flooded(t, sampleWarranty(), torture[kind])
		papers["label "+kind] = flooded(t, sampleLabel(), torture[kind])
		papers["ticket "+kind] = flooded(t, sampleTicket(TicketA6), torture[kind])
		papers["roll "+kind] = flooded(t, sampleTicket(TicketRoll), torture[kind])
		papers["bulletin "+kind] = flooded(t, sampleBulletin(), torture[kind])
	}
	for name, m := range papers {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			xml := run(t, "pdftotext", "-bbox", onDisk(t, "flooded", pdfOf(t, strings.ReplaceAll(name, " ", "-"), m)), "-")
			words := 0
			for _, page := range strings.Split(xml, "<page ")[1:] {
				size := numbers(t, pageBox.FindStringSubmatch("<page "+page))
				for _, m := range wordBox.FindAllStringSubmatch(page, -1) {
					words++
					at := numbers(t, m)
					if at[0] < 0 || at[1] < 0 || at[2] > size[0] || at[3] > size[1] {
						t.Errorf("a word at %v leaves the page of %v", at, size)
					}
				}
			}
			if words == 0 {
				t.Error("no words were read")
			}
		})
	}
}

func numbers(t *testing.T, match []string) []float64 {
	t.Helper()
	if match == nil {
		t.Fatal("pdftotext -bbox printed something else than boxes")
	}
	out := make([]float64, len(match)-1)
	for i := range out {
		v, err := strconv.ParseFloat(match[i+1], 64)
		if err != nil {
			t.Fatal(err)
		}
		out[i] = v
	}
	return out
}

func TestFit(t *testing.T) {
	t.Parallel()
	st := style{sans, 10, textInk}
	natural := st.width("Halvorsen & Pike")
	tests := []struct {
		name            string
		width, least    float64
		smaller, shorts bool
	}{
		{"room enough", natural + 1, 6, false, false},
		{"a little smaller", natural * 0.8, 6, true, false},
		{"cut", natural * 0.4, 6, true, true},
	}
	for _, tt := range tests {
		line, got := st.fit("Halvorsen & Pike", tt.least, tt.width)
		if got.width(line) > tt.width {
			t.Errorf("%s: %q is %.3f mm wide in %.3f", tt.name, line, got.width(line), tt.width)
		}
		if smaller := got.size < st.size; smaller != tt.smaller || got.size < tt.least {
			t.Errorf("%s: set at %v points", tt.name, got.size)
		}
		if short := strings.HasSuffix(line, "…"); short != tt.shorts {
			t.Errorf("%s: %q", tt.name, line)
		}
	}
}

func TestCutKeepsMarks(t *testing.T) {
	t.Parallel()
	st := style{sans, 10, textInk}
	line := strings.Repeat("q\u0303", 40) // no composed form
	for width := 4.0; width < 30; width += 0.37 {
		got := strings.TrimSuffix(st.cut(line, width), "…")
		if strings.Count(got, "q") != strings.Count(got, "\u0303") {
			t.Fatalf("a mark was parted from its base at %.2f mm: %q", width, got)
		}
	}
}

func TestWrap(t *testing.T) {
	t.Parallel()
	st := style{sans, 9, textInk}
	text := torture["sentence"] + "\nnext " + torture["unbroken"]
	var all strings.Builder
	for _, line := range st.wrap(text, 50) {
		if w := st.width(line.text); w > 50 {
			t.Errorf("%q is %.3f mm wide", line.text, w)
		}
		all.WriteString(line.text)
	}
	squeeze := func(s string) string { return strings.Join(strings.Fields(s), "") }
	if squeeze(all.String()) != squeeze(text) {
		t.Error("wrapping lost or added characters")
	}
	if got := st.wrap(" \n ", 50); len(got) != 0 {
		t.Errorf("white space alone wraps to %v", got)
	}
	directions := st.wrap("abc\nשלום\nabc", 50)
	if len(directions) != 3 || directions[0].rtl || !directions[1].rtl || directions[2].rtl {
		t.Errorf("paragraphs keep their own direction: %v", directions)
	}
}

func TestFitBlock(t *testing.T) {
	t.Parallel()
	st := style{sans, 9, textInk}
	for kind, text := range torture {
		for _, height := range []float64{4, 10, 25} {
			b := st.fitBlock(text, 5, 40, height)
			if b.height() > height {
				t.Errorf("%s: %.2f mm high in %.2f", kind, b.height(), height)
			}
			if b.style.size < 5 || b.style.size > 9 {
				t.Errorf("%s: set at %v points", kind, b.style.size)
			}
			for _, line := range b.lines {
				if w := b.style.width(line.text); w > 40 {
					t.Errorf("%s: %q is %.2f mm wide", kind, line.text, w)
				}
			}
		}
	}
	if b := st.fitBlock(torture["sentence"], 5, 40, 10); !strings.HasSuffix(b.lines[len(b.lines)-1].text, "…") {
		t.Error("what was cut does not say so")
	}
	if b := st.fitBlock("short", 5, 40, 10); len(b.lines) != 1 || b.style != st {
		t.Errorf("what fits was changed: %v", b)
	}
}

// Our widths come from the font, the file's from the writer: pdftotext measures
// the latter.
func TestWidthsAgreeWithTheFile(t *testing.T) {
	t.Parallel()
	c := sampleWarranty()
	c.Watch = "Žďár–Ωμέγα–Часовой–12"
	s, _ := laid(t, c)
	xml := run(t, "pdftotext", "-bbox", onDisk(t, "card", pdfOf(t, "card-scripts", c)), "-")
	at := regexp.MustCompile(`<word xMin="([0-9.]+)" yMin="[0-9.]+" xMax="([0-9.]+)" yMax="[0-9.]+">` +
		c.Watch).FindStringSubmatch(xml)
	got := numbers(t, at)
	for _, b := range s.boxes {
		if b.text == c.Watch {
			if w := (got[1] - got[0]) * mmPerPoint; w < b.w-0.02 || w > b.w+0.02 { // the file holds hundredths of a point
				t.Errorf("%.3f mm in the file, %.3f mm measured", w, b.w)
			}
			return
		}
	}
	t.Error("the watch was not drawn")
}

func BenchmarkPapers(b *testing.B) {
	for name, m := range samples() {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				pdfOf(b, name, m)
			}
		})
	}
}

func BenchmarkLongInvoice(b *testing.B) {
	v := sampleInvoice()
	for i := range 500 {
		v.Lines = append(v.Lines, Line{fmt.Sprintf("Part %d", i), "as found", "1", "£1.00", "20 %", "£1.00"})
	}
	for b.Loop() {
		if _, err := v.PDF(made); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkQRSVG(b *testing.B) {
	for b.Loop() {
		if _, err := QRSVG(sampleCard); err != nil {
			b.Fatal(err)
		}
	}
}
