package invoice

import (
	"slices"
	"strings"
	"time"

	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/tongue"
)

// Basis is what the record of a docket says of its bill before anybody chose anything.
type Basis struct {
	Docket, Watch string
	// WatchReference and WatchSerial tell it from others of its model; "" for none.
	WatchReference, WatchSerial string
	Tongue                      tongue.Tongue
	TaxName                     string
	Currency                    string
	Seller, Buyer               Party
	Reference                   string          // the buyer's own order number
	Lines                       []estimate.Line // that were agreed
	Rule                        estimate.TaxRule
	// OwedMinor is what the customer owes in all, tax included: what was agreed, or is charged in its place, and Why says why.
	OwedMinor int64
	Why       string
	// UsualBasisPoints is the rate of tax of a sum that no line gives one.
	UsualBasisPoints int
	Notes            []string // on the bill, such as how the watch was tested
	Deposits         []SetOff // what is left of deposit invoices, oldest first
}

// Choices are what whoever issues a bill chooses.
type Choices struct {
	Treatment Treatment
	Sentence  string
	Reference string
	Supplied  time.Time
	// LineOffBasisPoints is the discount on each of the agreed lines by its place, in hundredths of a per cent.
	LineOffBasisPoints map[int]int
	// OffBasisPoints and OffMinor are the discount on the whole: one of them. OffMinor is as prices are: with tax where
	// they hold it.
	OffBasisPoints int
	OffMinor       int64
}

// Tidied returns c without stray spaces, and with the words that the law has for a treatment in the buyer's language.
func (c Choices) Tidied(t tongue.Tongue) Choices {
	c.Sentence, c.Reference = text.Line(c.Sentence), text.Line(c.Reference)
	switch c.Treatment {
	case Standard:
		c.Sentence = ""
	case ReverseCharge:
		// Whatever else is written, these words must stand there (VAT Directive, article 226(11a)).
		if law := t.Say("paper.reverse_charge"); !strings.Contains(strings.ToLower(c.Sentence), strings.ToLower(law)) {
			c.Sentence = strings.TrimSpace(law + ". " + c.Sentence)
		}
	}
	return c
}

// Bill makes the invoice: the agreed lines, a line that brings them to what is owed, the discounts, and the deposits that
// it takes off. What of the deposits is more than the bill comes to is left over, for a credit note. The error is
// estimate.ErrTooLarge.
func (b Basis) Bill(c Choices, on time.Time) (d Document, left []SetOff, err error) {
	c = c.Tidied(b.Tongue)
	d = b.document(Bill, on)
	d.SuppliedOn, d.Treatment, d.Sentence = c.Supplied, c.Treatment, c.Sentence
	if c.Reference != "" {
		d.Reference = c.Reference
	}
	d.Rule, d.Lines, d.Notes = b.Rule, slices.Clone(b.Lines), slices.Clone(b.Notes)
	if err := d.charge(b); err != nil {
		return d, nil, err
	}
	if err := d.discount(b, c); err != nil {
		return d, nil, err
	}
	rest, err := d.Totals()
	if err != nil {
		return d, nil, err
	}
	for _, s := range b.Deposits {
		taken, over := meet(s.Totals, rest)
		if taken.GrossMinor > 0 {
			d.SetOffs = append(d.SetOffs, SetOff{s.Number, taken})
			rest = rest.Plus(Minus(taken))
		}
		if over.GrossMinor > 0 {
			left = append(left, SetOff{s.Number, over})
		}
	}
	return d, left, nil
}

func (b Basis) document(kind Kind, on time.Time) Document {
	return Document{Kind: kind, IssuedOn: on, Seller: b.Seller, Buyer: b.Buyer, Reference: b.Reference, Tongue: b.Tongue, Docket: b.Docket,
		About: b.Watch, AboutReference: b.WatchReference, AboutSerial: b.WatchSerial, TaxName: b.TaxName, Currency: b.Currency, Rule: b.Rule}
}

// charge adds the lines that bring d to what is owed: more at the rate of tax that the lines have in common, or the usual
// one; less off each rate by its share.
func (d *Document) charge(b Basis) error {
	sum, err := estimate.Sum(d.Lines, d.Rule)
	if err != nil || sum.GrossMinor == b.OwedMinor {
		return err
	}
	rest := b.OwedMinor - sum.GrossMinor
	words := b.Tongue.Say("paper.adjustment", "why", b.Why)
	if len(d.Lines) == 0 && b.Why != "" {
		words = b.Why
	}
	parts := []Share{{b.UsualBasisPoints, rest}}
	switch {
	case rest < 0:
		parts = Spread(rest, weightsOf(sum))
	case len(sum.ByRate) == 1:
		parts[0].TaxBasisPoints = sum.ByRate[0].TaxBasisPoints
	}
	return d.add(parts, words)
}

// add adds a line for each part, an amount with its tax, so that each rate's gross changes by exactly that.
func (d *Document) add(parts []Share, words string) error {
	before, err := d.Totals()
	if err != nil {
		return err
	}
	for _, p := range parts {
		line := estimate.Line{Kind: estimate.Other, Description: cut(words), QuantityMilli: 1000, UnitMinor: p.Minor,
			TaxBasisPoints: p.TaxBasisPoints}
		if p.Minor < 0 {
			line.Kind = estimate.Discount
		}
		if !d.Rule.PricesIncludeTax {
			one, err := estimate.Sum([]estimate.Line{line}, estimate.TaxRule{PricesIncludeTax: true, Rounding: d.Rule.Rounding})
			if err != nil {
				return err
			}
			// What is left of the rate has neither its net nor its tax below zero.
			was := rateOf(before, p.TaxBasisPoints)
			line.UnitMinor = min(max(was.NetMinor+one.NetMinor, 0), was.GrossMinor+p.Minor) - was.NetMinor
			if p.Minor > 0 {
				line.UnitMinor = max(0, line.UnitMinor)
			}
		}
		d.Lines = append(d.Lines, line)
	}
	after, err := d.Totals()
	if err != nil {
		return err
	}
	for _, p := range parts {
		off := rateOf(before, p.TaxBasisPoints).GrossMinor + p.Minor - rateOf(after, p.TaxBasisPoints).GrossMinor
		d.shift(p.TaxBasisPoints, off)
	}
	return d.keepAbove()
}

// keepAbove has no rate's tax below zero or above its gross, where each line was rounded by itself.
func (d *Document) keepAbove() error {
	sum, err := d.Totals()
	if err != nil {
		return err
	}
	for _, r := range sum.ByRate {
		if d.Rule.PricesIncludeTax && r.GrossMinor >= 0 {
			d.shift(r.TaxBasisPoints, max(0, min(r.GrossMinor, r.TaxMinor))-r.TaxMinor)
		} else if r.NetMinor >= 0 {
			d.shift(r.TaxBasisPoints, max(0, r.TaxMinor)-r.TaxMinor)
		}
	}
	return nil
}

// shift adds to the tax of a rate.
func (d *Document) shift(basisPoints int, minor int64) {
	if minor == 0 {
		return
	}
	for i := range d.Tax {
		if d.Tax[i].TaxBasisPoints == basisPoints {
			d.Tax[i].Minor += minor
			return
		}
	}
	d.Tax = append(d.Tax, Share{basisPoints, minor})
}

// discount takes off what was chosen: of each line, then of the whole.
func (d *Document) discount(b Basis, c Choices) error {
	for i, l := range b.Lines {
		off := c.LineOffBasisPoints[i]
		if off == 0 {
			continue
		}
		amount, err := l.AmountMinor(d.Rule.Rounding)
		if err != nil {
			return err
		}
		words := b.Tongue.Say("paper.discount_on", "percent", estimate.FormatPercent(off), "what", l.Description)
		d.Lines = append(d.Lines, estimate.Line{Kind: estimate.Discount, Description: cut(words), QuantityMilli: 1000,
			UnitMinor: -PercentOff(amount, off), TaxBasisPoints: l.TaxBasisPoints})
	}
	off, words := c.OffMinor, b.Tongue.Say("paper.discount")
	if c.OffBasisPoints > 0 {
		sum, err := estimate.Sum(d.Lines, d.Rule)
		if err != nil {
			return err
		}
		priced := sum.NetMinor
		if d.Rule.PricesIncludeTax {
			priced = sum.GrossMinor
		}
		off, words = PercentOff(priced, c.OffBasisPoints), b.Tongue.Say("paper.discount_percent", "percent", estimate.FormatPercent(c.OffBasisPoints))
	}
	if off <= 0 {
		return nil
	}
	lines, err := DiscountLines(d.Lines, d.Rule, off, words)
	d.Lines = append(d.Lines, lines...)
	if err != nil {
		return err
	}
	return d.keepAbove()
}

// Problems says, by form field, what stops the choices: "off", "off_percent", "line_off.i", "supplied_on".
func (c Choices) Problems(today time.Time) map[string]string {
	bad := map[string]string{}
	if c.OffMinor < 0 {
		bad["off"] = "Give an amount above zero."
	}
	if c.OffMinor > 0 && c.OffBasisPoints > 0 {
		bad["off"] = "Give the discount as an amount or in per cent, not both."
	}
	if c.Supplied.After(today) {
		bad["supplied_on"] = "That day is still to come."
	}
	return bad
}

// DepositInvoice makes a deposit invoice over grossMinor of what is agreed and not asked for by an earlier one, whose tax
// takes no more of any rate than is left of it. The error is ErrDeposit or estimate.ErrTooLarge.
func (b Basis) DepositInvoice(grossMinor int64, c Choices, on time.Time) (Document, error) {
	c = c.Tidied(b.Tongue)
	d := b.document(Deposit, on)
	d.Treatment, d.Sentence = c.Treatment, c.Sentence
	if c.Reference != "" {
		d.Reference = c.Reference
	}
	d.Rule = DepositRule(b.Rule)
	whole, _, err := Basis{Tongue: b.Tongue, Lines: b.Lines, Rule: b.Rule, OwedMinor: b.OwedMinor, UsualBasisPoints: b.UsualBasisPoints}.Bill(Choices{Treatment: c.Treatment}, on)
	if err != nil {
		return d, err
	}
	left, err := whole.Whole()
	if err != nil {
		return d, err
	}
	for _, s := range b.Deposits {
		left = left.Plus(Minus(s.Totals))
	}
	d.Lines, err = DepositLines(left, grossMinor, b.Tongue.Say("paper.deposit_on", "docket", b.Docket))
	if err != nil {
		return d, err
	}
	return d, d.keepWithin(left)
}

// keepWithin has the tax of each rate of d take no more net and no more tax than is left, and all of both where it takes
// all of the gross.
func (d *Document) keepWithin(left estimate.Totals) error {
	sum, err := d.Totals()
	if err != nil {
		return err
	}
	for _, r := range sum.ByRate {
		l := rateOf(left, r.TaxBasisPoints)
		tax := r.TaxMinor
		if d.Rule.PricesIncludeTax {
			tax = splitWithin(r.GrossMinor, r.TaxMinor, l)
		} else if r.NetMinor == l.NetMinor {
			tax = l.TaxMinor
		} else {
			tax = min(tax, l.TaxMinor)
		}
		d.shift(r.TaxBasisPoints, tax-r.TaxMinor)
	}
	return nil
}

// splitWithin is the tax of a gross amount, as near to tax as may be so that neither tax nor net is more than is left.
func splitWithin(gross, tax int64, left estimate.RateTotal) int64 {
	return max(0, min(gross, max(min(tax, left.TaxMinor), gross-left.NetMinor)))
}

// meet parts a deposit into what a bill of which rest is left takes off, rate by rate, and what it does not.
func meet(deposit, rest estimate.Totals) (taken, over estimate.Totals) {
	for _, p := range deposit.ByRate {
		r := rateOf(rest, p.TaxBasisPoints)
		gross := max(0, min(p.GrossMinor, r.GrossMinor))
		tax := p.TaxMinor
		if gross < p.GrossMinor {
			tax = r.TaxMinor
		}
		taken = taken.Plus(oneRate(p.TaxBasisPoints, gross, splitWithin(gross, tax, r)))
		if beyond := p.GrossMinor - gross; beyond > 0 {
			was := rateOf(taken, p.TaxBasisPoints)
			over = over.Plus(oneRate(p.TaxBasisPoints, beyond, max(0, min(beyond, p.TaxMinor-was.TaxMinor))))
		}
	}
	return taken, over
}

func oneRate(basisPoints int, gross, tax int64) estimate.Totals {
	return estimate.Totals{NetMinor: gross - tax, TaxMinor: tax, GrossMinor: gross,
		ByRate: []estimate.RateTotal{{TaxBasisPoints: basisPoints, NetMinor: gross - tax, TaxMinor: tax, GrossMinor: gross}}}
}

func rateOf(t estimate.Totals, basisPoints int) estimate.RateTotal {
	for _, r := range t.ByRate {
		if r.TaxBasisPoints == basisPoints {
			return r
		}
	}
	return estimate.RateTotal{TaxBasisPoints: basisPoints}
}

// weightsOf are the gross of each rate.
func weightsOf(t estimate.Totals) []Share {
	var list []Share
	for _, r := range t.ByRate {
		list = append(list, Share{r.TaxBasisPoints, r.GrossMinor})
	}
	return list
}

// cut keeps words to what a line may say.
func cut(words string) string {
	if runes := []rune(words); len(runes) > estimate.MaxDescription {
		return string(runes[:estimate.MaxDescription-1]) + "…"
	}
	return words
}
