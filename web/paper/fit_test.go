package paper

import (
	"fmt"
	"reflect"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"ledgerwheel/web/paper/drawing"
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
// States of wind, symbols of positions and what scanning does are the program's own and short.
var kept = map[string]bool{"Docket": true, "Visit": true, "Code": true, "ApprovalURL": true, "URL": true, "PartNumber": true, "Lang": true, "States": true,
	"Symbol": true, "CodeWords": true, "Proof": true, "Tongue": true}

// flooded fills every text of a paper with text and doubles its lists.
func flooded(p Paper, text string) Paper {
	v := reflect.New(reflect.TypeOf(p)).Elem()
	v.Set(reflect.ValueOf(p))
	flood(v, text)
	return v.Interface().(Paper)
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

// laid sets a paper.
func laid(t testing.TB, p Paper) Sheets {
	t.Helper()
	s, err := Set(p)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// inside checks that every line drawn lies within the margins and that no two lines, and no line and code, cross. Feet
// stand below the body; captions of codes reach into their white zone.
func inside(t *testing.T, p Paper) {
	t.Helper()
	s := laid(t, p)
	d := s.drawing
	const slack = 0.05 // mm; widths are rounded to a thousandth of the type size
	edge := map[string]float64{"a4": 10, "a6": 3, "ticket": 2, "label": 1, "card": 2.9}[s.Size()]
	side := map[string]float64{"a4": 20, "a6": 5.8, "ticket": 1.8, "label": 1, "card": 2.9}[s.Size()]
	byPage := map[int][]drawing.Box{}
	if len(d.Boxes()) == 0 {
		t.Fatal("nothing was drawn")
	}
	for _, b := range d.Boxes() {
		if b.X < side-slack || b.Y < edge-slack || b.X+b.W > d.W-side+slack || b.Y+b.H > d.H-edge+slack {
			t.Errorf("page %d: %.40q at (%.2f, %.2f) to (%.2f, %.2f) leaves the page of %v x %v", b.Page+1, b.Text, b.X, b.Y,
				b.X+b.W, b.Y+b.H, d.W, d.H)
		}
		byPage[b.Page] = append(byPage[b.Page], capitals(b))
	}
	for _, b := range d.Codes() {
		if b.X < 0 || b.Y < 0 || b.X+b.W > d.W || b.Y+b.H > d.H {
			t.Errorf("page %d: a code leaves the page: %+v", b.Page+1, b)
		}
		byPage[b.Page] = append(byPage[b.Page], b)
	}
	for page, boxes := range byPage {
		for i, a := range boxes {
			for _, b := range boxes[:i] {
				if a.X < b.X+b.W-slack && b.X < a.X+a.W-slack && a.Y < b.Y+b.H-slack && b.Y < a.Y+a.H-slack {
					t.Errorf("page %d: %.40q at (%.2f, %.2f) and %.40q at (%.2f, %.2f) cross", page+1, a.Text, a.X, a.Y, b.Text,
						b.X, b.Y)
				}
			}
		}
	}
}

// capitals shrinks a line's box to the height of its capitals: ascender and
// descender of lines set close may share their white space.
func capitals(b drawing.Box) drawing.Box {
	const ascent, cap, height = 0.93, 0.698, 0.93 + 0.24 // of the size, as in drawing.Style
	b.Y += b.H * (ascent - cap) / height
	b.H *= cap / height
	return b
}

func TestNothingOverflows(t *testing.T) {
	t.Parallel()
	for name, p := range samples() {
		t.Run(name, func(t *testing.T) { t.Parallel(); inside(t, p) })
		for kind, text := range torture {
			t.Run(name+" "+kind, func(t *testing.T) {
				t.Parallel()
				inside(t, flooded(p, text))
			})
		}
	}
}

var wordBox = regexp.MustCompile(`<word xMin="(-?[0-9.]+)" yMin="(-?[0-9.]+)" xMax="(-?[0-9.]+)" yMax="(-?[0-9.]+)">`)
var pageBox = regexp.MustCompile(`<page width="([0-9.]+)" height="([0-9.]+)">`)

// The same, as an independent reader of the finished file sees it.
func TestNothingOverflowsAsRead(t *testing.T) {
	t.Parallel()
	papers := map[string]Paper{}
	for _, kind := range []string{"sentence", "unbroken", "arabic", "greek"} {
		papers["card "+kind] = flooded(sampleWarranty(), torture[kind])
		papers["label "+kind] = flooded(sampleLabel(), torture[kind])
		papers["ticket "+kind] = flooded(sampleTicket(TicketA6), torture[kind])
		papers["address "+kind] = flooded(sampleAddress(), torture[kind])
		papers["visit "+kind] = flooded(sampleVisit(), torture[kind])
		papers["roll "+kind] = flooded(sampleTicket(TicketRoll), torture[kind])
		papers["bulletin "+kind] = flooded(sampleBulletin(), torture[kind])
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

// Our widths come from the font, the file's from the writer: pdftotext measures
// the latter.
func TestWidthsAgreeWithTheFile(t *testing.T) {
	t.Parallel()
	c := sampleWarranty()
	c.Watch = "Žďár–Ωμέγα–Часовой–12"
	xml := run(t, "pdftotext", "-bbox", onDisk(t, "card", pdfOf(t, "card-scripts", c)), "-")
	at := regexp.MustCompile(`<word xMin="([0-9.]+)" yMin="[0-9.]+" xMax="([0-9.]+)" yMax="[0-9.]+">` +
		c.Watch).FindStringSubmatch(xml)
	got := numbers(t, at)
	for _, b := range laid(t, c).drawing.Boxes() {
		if b.Text == c.Watch {
			w := (got[1] - got[0]) * drawing.MMPerPoint
			if w < b.W-0.02 || w > b.W+0.02 { // the file holds hundredths of a point
				t.Errorf("%.3f mm in the file, %.3f mm measured", w, b.W)
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
		if _, err := PDF(v, made, nil); err != nil {
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
