package paper

import (
	"math"
	"os"
	"reflect"
	"strconv"
	"strings"
	"testing"

	"ledgerwheel/domain/logo"
	"ledgerwheel/web/paper/drawing"
)

// bearing is a paper whose issuer has a logo; ok is false for one whose issuer is not named on it.
func bearing(p Paper, name logo.Name) (Paper, bool) {
	v := reflect.New(reflect.TypeOf(p)).Elem()
	v.Set(reflect.ValueOf(p))
	issuer := v.FieldByName("Issuer")
	if !issuer.IsValid() {
		return p, false
	}
	is := issuer.Interface().(Issuer)
	is.Logo = name
	issuer.Set(reflect.ValueOf(is))
	return v.Interface().(Paper), true
}

// logos are of every proportion: a band, a usual one, a square and a tower.
func logos(t *testing.T) map[string]logo.Picture {
	t.Helper()
	out := map[string]logo.Picture{}
	for name, box := range map[string]string{"band": "600 100", "usual": "200 100", "square": "100 100", "tower": "50 200"} {
		w, h, _ := strings.Cut(box, " ")
		p, err := logo.Process([]byte(`<svg viewBox="0 0 ` + box + `"><path fill-rule="evenodd" fill="#24456b" d="M0 0H` + w + `V` + h + `H0ZM10 10V40H40V10Z"/></svg>`))
		if err != nil {
			t.Fatal(err)
		}
		out[name] = p
	}
	return out
}

// TestTheLogoStandsOnEveryPaper: poppler finds it in the PDF, in its own proportion and finely enough; it lies within the page
// and on no word; and it takes no card and no ticket a further page.
func TestTheLogoStandsOnEveryPaper(t *testing.T) {
	t.Parallel()
	pictures := logos(t)
	for name, sample := range samples() {
		for shape, picture := range pictures {
			p, ok := bearing(sample, picture.Name)
			if !ok {
				continue
			}
			t.Run(name+" "+shape, func(t *testing.T) {
				t.Parallel()
				sheets, plain := laid(t, p), laid(t, sample)
				if sheets.Pages() != plain.Pages() {
					t.Errorf("%d pages, %d without the logo", sheets.Pages(), plain.Pages())
				}
				inside(t, p)
				boxes := sheets.drawing.Pictured()
				if len(boxes) != 1 {
					t.Fatalf("%d logos", len(boxes))
				}
				at := boxes[0]
				if at.Page != 0 || at.X < sheets.doc.size.side-0.01 || at.Y < 0 || at.X+at.W > sheets.drawing.W-sheets.doc.size.side+0.01 {
					t.Errorf("it stands at %+v", at)
				}
				for _, words := range sheets.drawing.Boxes() {
					if words.Page == at.Page && words.X < at.X+at.W-0.1 && words.X+words.W > at.X+0.1 && words.Y < at.Y+at.H-0.3 && words.Y+words.H > at.Y+0.3 {
						t.Errorf("it lies on %q", words.Text)
					}
				}
				pdf, err := sheets.PDF(made, func(asked string) []byte {
					if asked != string(picture.Name) {
						t.Errorf("asked for %q", asked)
					}
					return picture.PNG
				})
				if err != nil {
					t.Fatal(err)
				}
				file := onDisk(t, name+"-"+shape, pdf)
				if *out != "" {
					_ = os.WriteFile(*out+"/logo-"+name+"-"+shape+".pdf", pdf, 0o644) // for looking only
				}
				rows := strings.Split(strings.TrimSpace(run(t, "pdfimages", "-list", file)), "\n")[2:]
				found := 0
				for _, row := range rows { // page num type width height ... x-ppi y-ppi
					cells := strings.Fields(row)
					if cells[2] != "image" {
						continue
					}
					found++
					x, _ := strconv.ParseFloat(cells[12], 64)
					y, _ := strconv.ParseFloat(cells[13], 64)
					if cells[0] != "1" || cells[3] != strconv.Itoa(picture.WidthPx) || math.Abs(x/y-1) > 0.03 || x < 300 {
						t.Errorf("poppler finds %q", row)
					}
				}
				if found != 1 {
					t.Errorf("poppler finds %d pictures in\n%s", found, strings.Join(rows, "\n"))
				}
				if svg := strings.Join(sheets.drawing.SVG(), ""); strings.Count(svg, `href="`+drawing.PicturePath+string(picture.Name)+`"`) != 1 {
					t.Error("the page does not print it once")
				}
			})
		}
	}
}
