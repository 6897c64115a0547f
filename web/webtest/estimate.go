package webtest

import (
	"fmt"
	"net/http"
	"net/url"
	"strconv"
)

// PricedLine is a line as typed: kind, description, quantity, unit price, tax rate and, if any more, optional.
type PricedLine []string

var Service165 = PricedLine{"labour", "Full service", "1", "165.00", "20"}

// DraftForm is the editor as it is filled in. Prices are without tax.
func DraftForm(version string, lines ...PricedLine) url.Values {
	f := url.Values{"do": {"save"}, "version": {version}, "rows": {strconv.Itoa(len(lines))}, "includes_tax": {"no"},
		"note": {"The crystal stays."}, "valid_until": {"2026-12-24"}}
	for i, l := range lines {
		for j, name := range []string{"kind", "description", "quantity", "unit_price", "tax_rate", "optional"} {
			if j < len(l) {
				f.Set(fmt.Sprintf("lines.%d.%s", i, name), l[j])
			}
		}
	}
	return f
}

// ThreeLines come to 165.00 + 24.50 + 1.5 × 40.00 = 249.50, tax of 20 % 49.90, in all 299.40; without the optional
// one to 189.50 + 37.90 = 227.40.
var ThreeLines = []PricedLine{Service165, {"part", "Mainspring", "1", "24,50", "20"}, {"labour", "Polish", "1.5", "€40",
	"20", "yes"}}

// Sent has an estimate of the three lines sent for a new docket.
func (s *Site) Sent() (number string) {
	s.T.Helper()
	number = s.TakeIn()
	s.Send(number)
	return number
}

func (s *Site) Send(number string) {
	s.T.Helper()
	f := DraftForm(s.Version(number), ThreeLines...)
	f.Set("do", "send")
	s.As(s.Watchmaker).Post("/dockets/"+number+"/estimate", f).Want(http.StatusSeeOther)
}
