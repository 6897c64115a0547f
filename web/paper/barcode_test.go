package paper

import (
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"strings"
	"testing"

	"ledgerwheel/web/paper/drawing"
)

func TestCodesOfPapersScan(t *testing.T) {
	t.Parallel()
	ticket := sampleTicket(TicketA6)
	label := sampleLabel()
	longClaim := sampleTicket(TicketRoll)
	longClaim.Code = "https://a-rather-long-host-name.of-some-shop.example:8443/claim/" + strings.Repeat("Ab3_", 14)
	card := sampleWarranty()
	card.Code += "&s=" + strings.Repeat("Zq8-", 22) // an Ed25519 signature is 86 characters of base64
	proven := provenWarranty()
	var codes []string
	for _, c := range sampleBenchSheet().Codes {
		codes = append(codes, "CODE-128:"+c.Code)
	}
	tests := []struct {
		name  string
		paper Paper
		want  []string
	}{
		{"codes", sampleBenchSheet(), codes},
		{"ticket-a6", ticket, []string{"CODE-128:" + sampleDocket, "QR-Code:" + sampleClaim}},
		{"ticket-roll", longClaim, []string{"CODE-128:" + sampleDocket, "QR-Code:" + longClaim.Code}},
		{"label", label, []string{"CODE-128:" + sampleDocket, "QR-Code:" + sampleDocket}},
		{"drawer label", sampleDrawer("MS-120"), []string{"CODE-128:BIN17", "QR-Code:https://ternquay.example/stock/17"}},
		{"estimate", sampleEstimate(), []string{"CODE-128:" + sampleDocket, "QR-Code:" + sampleEstimate().ApprovalURL}},
		{"invoice", sampleInvoice(), []string{"CODE-128:" + sampleDocket}},
		{"receipt", sampleReceipt(), []string{"CODE-128:" + sampleDocket}},
		{"receipt for several", sampleVisitReceipt(), []string{"CODE-128:V-00042-D"}},
		{"notice", sampleNotice(), []string{"CODE-128:" + sampleDocket}},
		{"bulletin", sampleBulletin(), []string{"CODE-128:" + sampleDocket}},
		{"card", sampleWarranty(), []string{"QR-Code:" + sampleCard}},
		{"card-signed", card, []string{"QR-Code:" + card.Code}},
		{"card-proven", proven, []string{"QR-Code:" + proven.Code + proven.Proof}},
	}
	for _, tt := range tests {
		for _, dpi := range []int{150, 300} {
			if dpi < 300 && tt.name == "card-proven" {
				continue // its modules are made for a printer of 300 dpi
			}
			t.Run(fmt.Sprintf("%s at %d dpi", tt.name, dpi), func(t *testing.T) {
				t.Parallel()
				file := onDisk(t, tt.name, pdfOf(t, tt.name, tt.paper))
				codes := scan(t, raster(t, file, 1, dpi))
				if len(codes) != len(tt.want) {
					t.Errorf("read %v, want %v", codes, tt.want)
				}
				for _, want := range tt.want {
					if !codes[want] {
						t.Errorf("read %v, want %s among them", codes, want)
					}
				}
			})
		}
	}
}

// TestSealScans reads the whole seal back from its print, line by line: that is the file that the record is held against.
func TestSealScans(t *testing.T) {
	t.Parallel()
	for _, dpi := range []int{200, 300} {
		file := onDisk(t, fmt.Sprintf("seal-%d", dpi), pdfOf(t, "seal", sampleSeal()))
		if got := run(t, "zbarimg", "-q", "--nodbus", "--raw", "-Sdisable", "-Sqrcode.enable", "--", raster(t, file, 1, dpi)); strings.TrimSpace(got) !=
			strings.TrimSpace(sampleSeal().Code) {
			t.Errorf("at %d dpi it reads %q", dpi, got)
		}
	}
}

func TestSVGCodesScan(t *testing.T) {
	t.Parallel()
	for _, text := range []string{sampleDocket, "26-12345-0", "A", "345678", "abcdef", sampleClaim} {
		t.Run(text, func(t *testing.T) {
			t.Parallel()
			linear, err := Code128SVG(text)
			if err != nil {
				t.Fatal(err)
			}
			matrix, err := QRSVG(text)
			if err != nil {
				t.Fatal(err)
			}
			if got := scan(t, rasterSVG(t, linear, 2)); !got["CODE-128:"+text] {
				t.Errorf("Code 128: read %v", got)
			}
			if got := scan(t, rasterSVG(t, matrix, 3)); !got["QR-Code:"+text] {
				t.Errorf("QR: read %v", got)
			}
		})
	}
}

// QR symbols carry any script as UTF-8.
func TestQRCarriesUTF8(t *testing.T) {
	t.Parallel()
	const text = "Hodinář Šimůnek · ωρολογοποιός"
	svg, err := QRSVG(text)
	if err != nil {
		t.Fatal(err)
	}
	if got := scan(t, rasterSVG(t, svg, 4)); !got["QR-Code:"+text] {
		t.Errorf("read %v", got)
	}
}

func TestSVGIsAccessibleAndPlain(t *testing.T) {
	t.Parallel()
	const text = `<A&"b>` // must come out escaped
	for name, make := range map[string]func(string) (string, error){"barcode-code128": Code128SVG, "barcode-qr": QRSVG} {
		svg, err := make(text)
		if err != nil {
			t.Fatal(err)
		}
		var root struct {
			XMLName xml.Name `xml:"http://www.w3.org/2000/svg svg"`
			Role    string   `xml:"role,attr"`
			Class   string   `xml:"class,attr"`
			Title   string   `xml:"title"`
		}
		if err := xml.Unmarshal([]byte(svg), &root); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if root.Role != "img" || root.Class != "barcode "+name || !strings.HasSuffix(root.Title, ": "+text) {
			t.Errorf("%s: %+v", name, root)
		}
		d := xml.NewDecoder(strings.NewReader(svg))
		for {
			token, err := d.Token()
			if errors.Is(err, io.EOF) {
				break
			}
			if err != nil {
				t.Fatal(err)
			}
			if e, ok := token.(xml.StartElement); ok {
				for _, a := range e.Attr {
					if a.Name.Local == "style" || strings.HasPrefix(a.Name.Local, "on") {
						t.Errorf("%s: attribute %s is forbidden by the content policy", name, a.Name.Local)
					}
				}
			}
		}
	}
}

func TestCodesRefuse(t *testing.T) {
	t.Parallel()
	for _, text := range []string{"", "26-0004²", "é", strings.Repeat("A", 81)} {
		if _, err := Code128SVG(text); err == nil {
			t.Errorf("Code 128 took %q", text)
		}
	}
	if _, err := QRSVG(""); err == nil {
		t.Error("QR took the empty text")
	}
	if _, err := QRSVG(strings.Repeat("x", 5000)); err == nil {
		t.Error("QR took 5000 characters")
	}
	label := sampleLabel()
	label.Docket = strings.Repeat("Aa", 30)
	if _, err := PDF(label, made, nil); !errors.Is(err, drawing.ErrCodeTooLong) {
		t.Errorf("a docket number too long for the label: %v", err)
	}
	card := sampleWarranty()
	card.Code = strings.Repeat("x", 1500)
	if _, err := PDF(card, made, nil); !errors.Is(err, drawing.ErrCodeTooLong) {
		t.Errorf("a link too long for the card: %v", err)
	}
}
