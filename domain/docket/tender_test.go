package docket_test

import (
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"ledgerwheel/domain/docket"
)

func TestTenderSettles(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		tender docket.Tender
		paid   string // method and minor units of each payment
		change int64
		bad    string
		says   string
	}{
		"nothing said":       {docket.Tender{}, "", 0, "pay", "how"},
		"odd way":            {docket.Tender{Way: "barter"}, "", 0, "pay", "how"},
		"later":              {docket.Tender{Way: docket.PayLater}, "", 0, "", ""},
		"all by card":        {docket.Tender{Way: docket.PayCard, Given: 5}, "card 21700", 0, "", ""},
		"all by transfer":    {docket.Tender{Way: docket.PayTransfer}, "transfer 21700", 0, "", ""},
		"cash uncounted":     {docket.Tender{Way: docket.PayCash}, "cash 21700", 0, "", ""},
		"cash counted":       {docket.Tender{Way: docket.PayCash, Given: 22000}, "cash 21700", 300, "", ""},
		"cash, others typed": {docket.Tender{Way: docket.PayCash, Given: 21700, Card: 100}, "cash 21700", 0, "", ""},
		"cash short":         {docket.Tender{Way: docket.PayCash, Given: 20000}, "", 0, "given-cash", "17.00 GBP of the 217.00 GBP"},
		"in parts": {docket.Tender{Way: docket.PayInParts, Given: 2000, Card: 10000, Transfer: 9700, Other: 500,
			Note: "voucher 7"}, "cash 1500, card 10000, transfer 9700, other 500", 500, "", ""},
		"parts without cash": {docket.Tender{Way: docket.PayInParts, Card: 20000, Transfer: 1700}, "card 20000, transfer 1700", 0, "", ""},
		"parts short":        {docket.Tender{Way: docket.PayInParts, Card: 20000}, "", 0, "given-cash", "17.00 GBP"},
		"no parts":           {docket.Tender{Way: docket.PayInParts}, "", 0, "given-cash", "each way"},
		"too much by card":   {docket.Tender{Way: docket.PayInParts, Card: 21701}, "", 0, "given-card", "more than"},
		"too much":           {docket.Tender{Way: docket.PayInParts, Card: 1, Transfer: 21700}, "", 0, "given-transfer", "more than"},
		"cash not needed":    {docket.Tender{Way: docket.PayInParts, Card: 21700, Given: 100}, "", 0, "given-cash", "no cash"},
		"below zero":         {docket.Tender{Way: docket.PayInParts, Card: 21800, Transfer: -100}, "", 0, "given-transfer", "above zero"},
		"absurd":             {docket.Tender{Way: docket.PayCash, Given: 1 << 60}, "", 0, "given-cash", "too large"},
		"otherwise, how":     {docket.Tender{Way: docket.PayInParts, Other: 21700}, "", 0, "given-note", "how"},
	} {
		got, bad := c.tender.Settle(21700, "GBP")
		if fields(bad) != c.bad || c.bad != "" && !strings.Contains(bad[c.bad], c.says) {
			t.Errorf("%s: problems %v, want %q saying %q", name, bad, c.bad, c.says)
		}
		if paid := paidWords(got); paid != c.paid || got.ChangeMinor != c.change {
			t.Errorf("%s: %q and %d back, want %q and %d", name, paid, got.ChangeMinor, c.paid, c.change)
		}
	}
	for _, due := range []int64{0, -100} {
		if got, bad := (docket.Tender{Way: docket.PayCard}).Settle(due, "GBP"); len(got.Payments)+len(bad) > 0 {
			t.Errorf("due %d: %v %v", due, got, bad)
		}
	}
}

func paidWords(s docket.Settlement) string {
	var words []string
	for _, p := range s.Payments {
		words = append(words, string(p.Method)+" "+strconv.FormatInt(p.Minor, 10))
	}
	return strings.Join(words, ", ")
}

// Whatever is typed: what is accepted comes to what is due to the minor unit, and cash given less cash kept is the change.
func TestTenderAddsUp(t *testing.T) {
	t.Parallel()
	settled := 0
	rapid.Check(t, func(t *rapid.T) {
		due := rapid.Int64Range(1, 100000).Draw(t, "due")
		part := rapid.OneOf(rapid.Just(int64(0)), rapid.Int64Range(-10, due+10), rapid.Just(due))
		tender := docket.Tender{Way: rapid.SampledFrom(docket.PayWays()).Draw(t, "way"), Given: part.Draw(t, "given"),
			Card: part.Draw(t, "card"), Transfer: part.Draw(t, "transfer"), Other: part.Draw(t, "other"), Note: "voucher"}
		if rapid.Bool().Draw(t, "enough") {
			tender.Given = due
		}
		got, bad := tender.Settle(due, "EUR")
		if len(bad) > 0 || tender.Way == docket.PayLater {
			if len(got.Payments) > 0 || got.ChangeMinor != 0 {
				t.Fatalf("refused with %v, yet %+v", bad, got)
			}
			return
		}
		settled++
		sum, change := int64(0), int64(0)
		for _, p := range got.Payments {
			if problems := p.Problems(0, due); len(problems) > 0 {
				t.Fatalf("a payment that is no payment: %v", problems)
			}
			sum, change = sum+p.Minor, change+p.ChangeMinor()
		}
		if sum != due || change != got.ChangeMinor || change < 0 {
			t.Fatalf("%+v pays %d of %d, change %d", got, sum, due, change)
		}
	})
	if settled == 0 {
		t.Error("nothing was ever settled")
	}
}
