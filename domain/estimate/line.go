package estimate

import (
	"errors"
	"fmt"
	"math/big"
	"slices"
	"strings"

	"ledgerwheel/domain/figure"
	"ledgerwheel/domain/money"
	"ledgerwheel/domain/text"
)

// Kind is what a line charges for.
type Kind string

// The kinds of line.
const (
	Labour      Kind = "labour"
	Part        Kind = "part"
	OutsideWork Kind = "outside-work"
	Other       Kind = "other"
	Discount    Kind = "discount" // the only kind whose price is below nought
)

// Kinds lists every Kind in the order a form shows them.
var Kinds = []Kind{Labour, Part, OutsideWork, Other, Discount}

// Words says k in plain words.
func (k Kind) Words() string { return strings.ReplaceAll(string(k), "-", " ") }

// MaxQuantityMilli is the greatest quantity of a line, in thousandths;
// MaxDescription and MaxNote are the longest texts, in characters; MaxLines is
// the most lines of a revision.
const (
	MaxQuantityMilli = 100_000_000
	MaxDescription   = 300
	MaxNote          = 4000
	MaxLines         = 200
)

// Line is one priced line.
type Line struct {
	ID             int64
	Kind           Kind
	Description    string
	QuantityMilli  int64 // thousandths: 1500 is one and a half hours or pieces
	UnitMinor      int64 // price of one, in minor units, with or without tax by the revision's TaxRule
	TaxBasisPoints int   // rate of tax, hundredths of a per cent: 770 is 7.7 %
	Optional       bool  // the customer may leave it out and approve the rest
	Declined       bool  // the customer left it out
	PartID         int64 // of a Part: the part of the catalogue, 0 for none
}

// AmountMinor returns what the line comes to in minor units, rounded once. The
// error is ErrTooLarge where that is beyond money.Max.
func (l Line) AmountMinor(mode Rounding) (int64, error) {
	exact := new(big.Int).Mul(big.NewInt(l.QuantityMilli), big.NewInt(l.UnitMinor))
	if exact.CmpAbs(big.NewInt(money.Max*1000)) > 0 {
		return 0, ErrTooLarge
	}
	return mulDiv(l.QuantityMilli, l.UnitMinor, 1000, mode), nil
}

// Problems says, by form field, what stops l being saved.
func (l Line) Problems() map[string]string {
	bad := map[string]string{}
	if !slices.Contains(Kinds, l.Kind) {
		bad["kind"] = "Choose what the line is for."
	}
	switch {
	case l.Description == "":
		bad["description"] = "Say what is charged for."
	case text.TooLong(l.Description, MaxDescription):
		bad["description"] = "Keep the description to at most 300 characters."
	}
	if l.QuantityMilli < 1 || l.QuantityMilli > MaxQuantityMilli {
		bad["quantity"] = "Give a quantity above 0 and at most 100000, with at most three decimals."
	}
	switch _, err := l.AmountMinor(HalfUp); {
	case l.Kind == Discount && l.UnitMinor > 0:
		bad["unit_price"] = "Give a discount as an amount below zero."
	case l.Kind != Discount && l.UnitMinor < 0:
		bad["unit_price"] = "Give an amount of zero or more; only a discount is below it."
	case err != nil || l.UnitMinor > money.Max || l.UnitMinor < -money.Max:
		bad["unit_price"] = "This comes to more than can be saved."
	}
	if l.TaxBasisPoints < 0 || l.TaxBasisPoints > MaxTaxBasisPoints {
		bad["tax_rate"] = "Give a rate of tax from 0 to 100 %, with at most two decimals."
	}
	if l.Optional && l.Kind == Discount {
		bad["optional"] = "A discount can't be optional."
	}
	return bad
}

// LineForm is a line as typed.
type LineForm struct {
	Kind, Description, Quantity, UnitPrice, TaxRate string
	Optional                                        bool
	PartID                                          int64 // of the catalogue; kept only by a Part
}

// Blank reports whether nothing was typed in the texts of f, so that a spare
// row of a form can be passed over.
func (f LineForm) Blank() bool {
	return strings.TrimSpace(f.Description) == "" && strings.TrimSpace(f.UnitPrice) == ""
}

// Check reads f, priced in the ISO 4217 currency code by a shop of the given locale, and returns the line with
// what stops it being saved, by form field. Nothing typed for the quantity
// means one, and for the rate of tax, none. A discount may be typed with or
// without its minus.
func (f LineForm) Check(code, locale string) (Line, map[string]string) {
	l := Line{Kind: Kind(strings.TrimSpace(f.Kind)), Description: text.Line(f.Description), QuantityMilli: 1000,
		Optional: f.Optional}
	if l.Kind == Part {
		l.PartID = f.PartID
	}
	var errQuantity, errPrice, errTax error
	if strings.TrimSpace(f.Quantity) != "" {
		l.QuantityMilli, errQuantity = ParseQuantity(f.Quantity)
	}
	l.UnitMinor, errPrice = money.Parse(f.UnitPrice, code, locale)
	if l.Kind == Discount && l.UnitMinor > 0 {
		l.UnitMinor = -l.UnitMinor
	}
	if strings.TrimSpace(f.TaxRate) != "" {
		l.TaxBasisPoints, errTax = ParsePercent(f.TaxRate)
	}
	bad := l.Problems()
	if errQuantity != nil {
		bad["quantity"] = "Give a quantity above 0 and at most 100000, with at most three decimals."
	}
	if errPrice != nil {
		bad["unit_price"] = money.Problem(errPrice, code)
	}
	if errTax != nil {
		bad["tax_rate"] = "Give a rate of tax from 0 to 100 %, with at most two decimals."
	}
	return l, bad
}

// Form returns l, priced in the currency code, as it would be typed.
func (l Line) Form(code string) LineForm {
	return LineForm{
		Kind: string(l.Kind), Description: l.Description, Quantity: FormatQuantity(l.QuantityMilli),
		UnitPrice: money.Plain(l.UnitMinor, code), TaxRate: FormatPercent(l.TaxBasisPoints), Optional: l.Optional, PartID: l.PartID,
	}
}

var errFigure = errors.New("figure not understood")

// ParseQuantity reads a quantity such as 2, 1.5 or 1,25 and returns it in
// thousandths.
func ParseQuantity(typed string) (milli int64, err error) {
	return parseFixed(typed, 3, MaxQuantityMilli)
}

// ParsePercent reads a rate such as 20, 7.7 or '8,1 %' and returns it in
// hundredths of a per cent.
func ParsePercent(typed string) (basisPoints int, err error) {
	n, err := parseFixed(typed, 2, MaxTaxBasisPoints, "%")
	return int(n), err
}

// FormatQuantity writes thousandths without needless noughts: 1500 gives 1.5.
func FormatQuantity(milli int64) string { return formatFixed(milli, 3) }

// FormatPercent writes hundredths of a per cent without needless noughts and
// without the sign: 770 gives 7.7.
func FormatPercent(basisPoints int) string { return formatFixed(int64(basisPoints), 2) }

// parseFixed reads a figure from nought to the limit with at most so many
// decimals, and returns it without its decimal mark.
func parseFixed(typed string, decimals int, limit int64, units ...string) (int64, error) {
	n, err := figure.Parse(typed, units...)
	if err != nil {
		return 0, err
	}
	fixed, exact := n.Fixed(decimals)
	if !exact || fixed < 0 || fixed > limit {
		return 0, fmt.Errorf("%q: %w", typed, errFigure)
	}
	return fixed, nil
}

func formatFixed(n int64, decimals int) string {
	s := fmt.Sprintf("%0*d", decimals+1, n)
	whole, part := s[:len(s)-decimals], strings.TrimRight(s[len(s)-decimals:], "0")
	if part == "" {
		return whole
	}
	return whole + "." + part
}
