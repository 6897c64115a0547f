package pricelist_test

import (
	"errors"
	"slices"
	"testing"
	"time"

	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/pricelist"
	"ledgerwheel/domain/watch"
)

func day(m time.Month, d int) time.Time { return time.Date(2027, m, d, 0, 0, 0, 0, time.UTC) }

func service() pricelist.Job {
	return pricelist.Job{ID: 1, Code: "fs", Name: " Full service, manual ", NameDe: "Vollservice, Handaufzug", Kind: estimate.Labour, Minutes: 240,
		Windings: []watch.Winding{watch.WindingHand}, Prices: []pricelist.Price{{day(6, 1), 21000, "GBP", true, 2000}, {day(1, 1), 18500, "GBP", true, 2000}},
		Parts: pricelist.Typed(" Mainspring\n\n2 x gasket\ncrown ?\n")}.Tidied()
}

// A price holds from its day on, and an estimate has the price of the day it is drafted on.
func TestPricesChangeByDate(t *testing.T) {
	t.Parallel()
	j := service()
	if bad := j.Problems(); len(bad) > 0 {
		t.Fatal(bad)
	}
	for on, want := range map[time.Time]int64{day(1, 1): 18500, day(5, 31): 18500, day(6, 1): 21000, day(12, 31): 21000} {
		if p, ok := j.PriceOn(on); !ok || p.Minor != want {
			t.Errorf("on %s it costs %d, want %d", on.Format(time.DateOnly), p.Minor, want)
		}
	}
	if _, ok := j.PriceOn(day(1, 1).AddDate(0, 0, -1)); ok {
		t.Error("it has a price before its first")
	}
	lines, err := j.Drafted(day(5, 31), "de", "GBP", estimate.TaxRule{PricesIncludeTax: true})
	want := []estimate.Line{{Kind: estimate.Labour, Description: "Vollservice, Handaufzug", QuantityMilli: 1000, UnitMinor: 18500, TaxBasisPoints: 2000},
		{Kind: estimate.Part, Description: "Mainspring", QuantityMilli: 1000, TaxBasisPoints: 2000},
		{Kind: estimate.Part, Description: "gasket", QuantityMilli: 2000, TaxBasisPoints: 2000},
		{Kind: estimate.Part, Description: "crown", QuantityMilli: 1000, TaxBasisPoints: 2000, Optional: true}}
	if err != nil || !slices.Equal(lines, want) {
		t.Errorf("drafted %+v, %v", lines, err)
	}
	// 120.00 with 20 % is 100.00 without: the VAT fraction of one sixth (HMRC Notice 700, section 17).
	p := pricelist.Price{Minor: 12000, Currency: "GBP", IncludesTax: true, TaxBasisPoints: 2000}
	if net, err := p.Under(estimate.TaxRule{}); err != nil || net != 10000 {
		t.Errorf("without tax it is %d: %v", net, err)
	}
	p.Minor, p.IncludesTax = 10000, false
	if gross, err := p.Under(estimate.TaxRule{PricesIncludeTax: true}); err != nil || gross != 12000 {
		t.Errorf("with tax it is %d: %v", gross, err)
	}
	if _, err := j.Drafted(day(5, 31), "", "EUR", estimate.TaxRule{}); !errors.Is(err, pricelist.ErrNoPrice) {
		t.Errorf("in another currency: %v", err)
	}
}

func TestUsualPartsAreReadAsWritten(t *testing.T) {
	t.Parallel()
	for _, p := range service().Parts {
		if again := pricelist.Typed(p.Words()); len(again) != 1 || again[0] != p {
			t.Errorf("%q reads as %+v", p.Words(), again)
		}
	}
}

func TestJobsAreFound(t *testing.T) {
	t.Parallel()
	list := []pricelist.Job{service(), {ID: 2, Code: "FSA", Name: "Full service, automatic", Windings: []watch.Winding{watch.WindingAutomatic}},
		{ID: 3, Code: "WT", Name: "Water test"}, {ID: 4, Code: "FSX", Name: "Full service of old", Ended: true}}
	ids := func(found []pricelist.Job) (ids []int64) {
		for _, j := range found {
			ids = append(ids, j.ID)
		}
		return ids
	}
	for _, c := range []struct {
		typed   string
		winding watch.Winding
		want    []int64
	}{{"fs", "", []int64{1, 2}}, {"fs", watch.WindingAutomatic, []int64{2}}, {"serv man", "", []int64{1}}, {"water", watch.WindingHand, []int64{3}}, {"x", "", nil}} {
		if got := ids(pricelist.Found(list, c.typed, c.winding)); !slices.Equal(got, c.want) {
			t.Errorf("%q for %q finds %v, want %v", c.typed, c.winding, got, c.want)
		}
	}
}

func TestTheJobThatIsMeant(t *testing.T) {
	t.Parallel()
	list := []pricelist.Job{service(), {ID: 2, Code: "FSA", Name: "Full service, automatic", Windings: []watch.Winding{watch.WindingAutomatic}}, {ID: 3, Code: "WT", Name: "Water test"}}
	for _, c := range []struct {
		typed   string
		want    int64
		choices int
	}{{"fs", 1, 0}, {"fsa", 2, 0}, {"FSA Full service, automatic", 2, 0}, {"FS Full service, manual", 1, 0}, {"full", 0, 2}, {"glass", 0, 0},
		{"", 0, 0}, {"test", 3, 0}} {
		if j, choices, ok := pricelist.Chosen(list, c.typed, watch.WindingUnknown); j.ID != c.want || ok != (c.want != 0) || len(choices) != c.choices {
			t.Errorf("%q means %d, %d choices", c.typed, j.ID, len(choices))
		}
	}
	if j, _, ok := pricelist.Chosen(list, "fs", watch.WindingAutomatic); !ok || j.ID != 2 {
		t.Errorf("for an automatic, FS means %d", j.ID)
	}
}

func TestPricesAreReplacedByTheirDay(t *testing.T) {
	t.Parallel()
	j := service()
	same := j.Prices[0]
	same.From = day(3, 1)
	if got := j.Repriced(same); len(got.Prices) != 2 {
		t.Errorf("the same price again: %+v", got.Prices)
	}
	same.Minor++
	if got := j.Repriced(same); len(got.Prices) != 3 || got.Prices[1] != same {
		t.Errorf("another price between: %+v", got.Prices)
	}
	same.From = day(6, 1)
	if got := j.Repriced(same); len(got.Prices) != 2 || got.Prices[1] != same {
		t.Errorf("another price of a day that has one: %+v", got.Prices)
	}
	if j.Prices[1].Minor != 21000 {
		t.Error("the job itself was changed")
	}
}

func TestJobsThatCantBeKept(t *testing.T) {
	t.Parallel()
	for field, spoil := range map[string]func(*pricelist.Job){
		"code":                func(j *pricelist.Job) { j.Code = "F S" },
		"name":                func(j *pricelist.Job) { j.Name = "" },
		"kind":                func(j *pricelist.Job) { j.Kind = estimate.Discount },
		"minutes":             func(j *pricelist.Job) { j.Minutes = -1 },
		"prices.1.from":       func(j *pricelist.Job) { j.Prices[1].From = j.Prices[0].From },
		"prices.0.price":      func(j *pricelist.Job) { j.Prices[0].Minor = -1 },
		"prices.0.tax_rate":   func(j *pricelist.Job) { j.Prices[0].TaxBasisPoints = 10001 },
		"parts.0.pieces":      func(j *pricelist.Job) { j.Parts[0].Pieces = 0 },
		"parts.0.description": func(j *pricelist.Job) { j.Parts[0].Description = "" },
	} {
		j := service()
		spoil(&j)
		if bad := j.Problems(); bad[field] == "" || len(bad) != 1 {
			t.Errorf("%s: %v", field, bad)
		}
	}
}
