package web

import (
	"fmt"
	"net/http"
	"net/url"
	"strconv"
)

// pricedLine is a line as typed: kind, description, quantity, unit price, tax rate and, if any more, optional.
type pricedLine []string

var service165 = pricedLine{"labour", "Full service", "1", "165.00", "20"}

// draftForm is the editor as it is filled in. Prices are without tax.
func draftForm(version string, lines ...pricedLine) url.Values {
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

// three lines come to 165.00 + 24.50 + 1.5 × 40.00 = 249.50, tax of 20 % 49.90, in all 299.40; without the optional
// one to 189.50 + 37.90 = 227.40.
var threeLines = []pricedLine{service165, {"part", "Mainspring", "1", "24,50", "20"}, {"labour", "Polish", "1.5", "€40", "20", "yes"}}

// sent has an estimate of the three lines sent for a new docket.
func (s *site) sent() (number string) {
	s.t.Helper()
	number = s.takeIn()
	s.send(number)
	return number
}

func (s *site) send(number string) {
	s.t.Helper()
	f := draftForm(s.version(number), threeLines...)
	f.Set("do", "send")
	s.as(s.watchmaker).post("/dockets/"+number+"/estimate", f).want(http.StatusSeeOther)
}
