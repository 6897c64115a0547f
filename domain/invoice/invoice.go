package invoice

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/money"
	"ledgerwheel/domain/taxnumber"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/tongue"
)

// Kind is what a document of the series is.
type Kind string

// The kinds.
const (
	Bill    Kind = "invoice"
	Deposit Kind = "deposit-invoice" // asks for money before the work is done
	Credit  Kind = "credit-note"     // answers one of the others, in whole or in part
)

// Kinds lists every Kind.
var Kinds = []Kind{Bill, Deposit, Credit}

// Words says k in plain words.
func (k Kind) Words() string { return strings.ReplaceAll(string(k), "-", " ") }

// Treatment is how a document is taxed.
type Treatment string

// The treatments. Standard is the zero value: each line at its own rate.
const (
	Standard      Treatment = ""
	ReverseCharge Treatment = "reverse-charge" // the buyer owes the tax (VAT Directive, articles 194 to 199 and 226(11a))
	Exempt        Treatment = "exempt"         // no tax is due, and the document says by what rule (article 226(11))
)

// Treatments lists every Treatment in the order a form shows them.
var Treatments = []Treatment{Standard, ReverseCharge, Exempt}

// Words says t in plain words.
func (t Treatment) Words() string {
	switch t {
	case ReverseCharge:
		return "reverse charge: the buyer owes the tax"
	case Exempt:
		return "exempt from tax"
	}
	return "each line at its rate of tax"
}

// Party is who sells or buys.
type Party struct {
	Name      string
	Address   string // lines
	TaxNumber string // under which they are registered for VAT, as taxnumber.Tidied keeps it; "" for none
	// OtherNumber is another that the seller's country asks for, as it is written there; "" for none.
	OtherNumber string
}

// SetOff is a deposit invoice, or what is left of it, that a bill takes off.
type SetOff struct {
	Number string // of the deposit invoice
	Totals estimate.Totals
}

// Document is what was issued, whole: nothing of it is looked up again, so that it stands as the buyer has it. Totals of
// a credit note are what it takes off, above zero.
type Document struct {
	Kind       Kind
	Number     string
	Answers    string // of a credit note: the number it answers
	Why        string // of a credit note
	IssuedOn   time.Time
	SuppliedOn time.Time // when the work was done, or the deposit came; zero where it is the day of issue
	Seller     Party
	Buyer      Party
	Reference  string // the buyer's own order number
	Docket     string // number of the docket that it is about, "" for none
	About      string // maker and model of the watch, as the docket had it
	// AboutReference and AboutSerial tell the watch from others of its model; "" where the docket had none.
	AboutReference, AboutSerial string
	Tongue                      tongue.Tongue
	TaxName                     string   // as "VAT"
	Notes                       []string // such as at what overpressure the watch was tested, by what and when
	Currency                    string
	Rule                        estimate.TaxRule
	Treatment                   Treatment
	Sentence                    string // that goes with a treatment
	Lines                       []estimate.Line
	// Tax is by how much the tax of a rate differs from what the lines come to, since rounding goes with the sum that was
	// agreed or is left: what is priced stays, so that where prices hold the tax the net gives way, else the gross.
	Tax     []Share
	SetOffs []SetOff
}

const (
	maxSentence  = 300
	maxReference = 60
)

// Problems says, by form field, what stops d being issued. What the law of the place asks beyond it is for the owner's
// adviser. Source of what must be there: VAT Directive 2006/112/EC, article 226.
func (d Document) Problems() map[string]string {
	bad := map[string]string{}
	if !slices.Contains(Kinds, d.Kind) {
		bad["kind"] = "Choose what is issued."
	}
	if d.Seller.Name == "" {
		bad["seller"] = "The settings lack the shop's name."
	}
	if d.Buyer.Name == "" {
		bad["buyer"] = "Say who buys."
	}
	if !slices.Contains(Treatments, d.Treatment) {
		bad["treatment"] = "Choose how it is taxed."
	}
	d.taxProblems(bad)
	if d.Kind == Credit && text.Line(d.Why) == "" {
		bad["why"] = "Say why it is credited."
	}
	if d.Kind == Credit && d.Answers == "" {
		bad["answers"] = "A credit note names the invoice that it answers."
	}
	if text.TooLong(d.Why, maxSentence) {
		bad["why"] = "Keep the reason to 300 characters."
	}
	if text.TooLong(d.Reference, maxReference) {
		bad["reference"] = "Keep the reference to 60 characters."
	}
	if d.Kind != Bill && len(d.SetOffs) > 0 {
		bad["setoffs"] = "Only an invoice takes deposits off."
	}
	if _, ok := money.Digits(d.Currency); !ok {
		bad["currency"] = "Give a three-letter currency code such as EUR."
	}
	d.lineProblems(bad)
	return bad
}

func (d Document) taxProblems(bad map[string]string) {
	if d.Treatment == Standard {
		return
	}
	if text.Line(d.Sentence) == "" {
		bad["sentence"] = "Write the sentence by which the invoice says so; ask your adviser."
	} else if text.TooLong(d.Sentence, maxSentence) {
		bad["sentence"] = "Keep the sentence to 300 characters."
	}
	if d.Treatment == ReverseCharge {
		d.reverseProblems(bad)
	}
}

// reverseProblems asks for both numbers, of two countries: the buyer owes the tax where the service is taxed, at the buyer's
// place (VAT Directive, articles 44 and 196).
func (d Document) reverseProblems(bad map[string]string) {
	seller, buyer := taxnumber.Country(d.Seller.TaxNumber), taxnumber.Country(d.Buyer.TaxNumber)
	switch {
	case d.Seller.TaxNumber == "" && d.Buyer.TaxNumber == "":
		bad["treatment"] = "Reverse charge needs both tax numbers: the shop's, in the settings under Money, and the customer's, on the customer's page under Correct."
	case d.Seller.TaxNumber == "":
		bad["treatment"] = "Reverse charge needs the shop's tax number: the owner enters it in the settings, under Money."
	case d.Buyer.TaxNumber == "":
		bad["treatment"] = "Reverse charge needs the customer's tax number: enter it on the customer's page, under Correct."
	case seller == buyer:
		bad["treatment"] = "Both tax numbers are of one country: reverse charge is for a firm that is registered in another."
	}
}

func (d Document) lineProblems(bad map[string]string) {
	if len(d.Lines) == 0 {
		bad["lines"] = "Give at least one line."
		return
	}
	for i, l := range d.Lines {
		for field, why := range l.Problems() {
			bad[fmt.Sprintf("lines.%d.%s", i, field)] = why
		}
	}
	sum, err := d.Totals()
	if err != nil {
		bad["lines"] = "The lines come to more than can be kept."
		return
	}
	for _, r := range sum.ByRate {
		if r.GrossMinor < 0 || r.NetMinor < 0 || r.TaxMinor < 0 {
			bad["lines"] = "What is taken off comes to more than the lines at " + estimate.FormatPercent(r.TaxBasisPoints) + " % tax."
		}
	}
}

// Totals is what d comes to by rate, after the deposits that it takes off. Where no tax is charged, what the lines come to
// without tax is owed.
func (d Document) Totals() (estimate.Totals, error) {
	sum, err := estimate.Sum(d.Lines, d.Rule)
	if err != nil {
		return estimate.Totals{}, err
	}
	for _, t := range d.Tax {
		shift := estimate.RateTotal{TaxBasisPoints: t.TaxBasisPoints, NetMinor: -t.Minor, TaxMinor: t.Minor}
		if !d.Rule.PricesIncludeTax {
			shift.NetMinor, shift.GrossMinor = 0, t.Minor
		}
		sum = sum.Plus(estimate.Totals{NetMinor: shift.NetMinor, TaxMinor: shift.TaxMinor, GrossMinor: shift.GrossMinor,
			ByRate: []estimate.RateTotal{shift}})
	}
	if d.Treatment != Standard {
		net := sum.NetMinor
		sum = estimate.Totals{NetMinor: net, GrossMinor: net, ByRate: []estimate.RateTotal{{NetMinor: net, GrossMinor: net}}}
	}
	for _, s := range d.SetOffs {
		sum = sum.Plus(Minus(s.Totals))
	}
	return sum, nil
}

// Minus is t with every sign turned.
func Minus(t estimate.Totals) estimate.Totals {
	out := estimate.Totals{NetMinor: -t.NetMinor, TaxMinor: -t.TaxMinor, GrossMinor: -t.GrossMinor}
	for _, r := range t.ByRate {
		out.ByRate = append(out.ByRate, estimate.RateTotal{TaxBasisPoints: r.TaxBasisPoints, NetMinor: -r.NetMinor,
			TaxMinor: -r.TaxMinor, GrossMinor: -r.GrossMinor})
	}
	return out
}

// Whole is what d comes to before the deposits that it takes off.
func (d Document) Whole() (estimate.Totals, error) {
	d.SetOffs = nil
	return d.Totals()
}

// ErrDeposit reports a deposit of more than was agreed, or of nothing.
var ErrDeposit = errors.New("not a deposit on what was agreed")

// DepositLines are the lines of a deposit invoice over grossMinor of what was agreed: tax falls due on what is received
// (VAT Directive, article 65), so the deposit is spread over the rates of tax as the agreed lines are. They are priced
// with tax, under [DepositRule], whatever the estimate's own rule. The error is ErrDeposit.
func DepositLines(agreed estimate.Totals, grossMinor int64, description string) ([]estimate.Line, error) {
	if grossMinor <= 0 || grossMinor > agreed.GrossMinor {
		return nil, ErrDeposit
	}
	var weights []Share
	for _, r := range agreed.ByRate {
		weights = append(weights, Share{r.TaxBasisPoints, r.GrossMinor})
	}
	var lines []estimate.Line
	for _, s := range Spread(grossMinor, weights) {
		lines = append(lines, estimate.Line{Kind: estimate.Other, Description: description, QuantityMilli: 1000, UnitMinor: s.Minor,
			TaxBasisPoints: s.TaxBasisPoints})
	}
	return lines, nil
}

// DepositRule is r for a deposit invoice: an amount received holds its tax.
func DepositRule(r estimate.TaxRule) estimate.TaxRule {
	r.PricesIncludeTax = true
	return r
}

// Left is what credit notes have left of a document, by rate.
func Left(of estimate.Totals, credits ...estimate.Totals) estimate.Totals {
	for _, c := range credits {
		of = of.Plus(Minus(c))
	}
	return of
}

// ErrNothingCredited reports a credit note over nothing.
var ErrNothingCredited = errors.New("nothing is credited")

// ErrOverCredited reports a credit note over more than is left of what it answers.
var ErrOverCredited = errors.New("more is credited than is left of the invoice")

// MayCredit reports whether a credit note over so much may answer a document of which left is left. The error is
// ErrOverCredited.
func MayCredit(left, credit estimate.Totals) error {
	rest := Left(left, credit)
	for _, r := range rest.ByRate {
		// A deposit's rounding may have left less than nothing of net or tax: no credit note has to mend it, or may add to it.
		was := rateOf(left, r.TaxBasisPoints)
		if r.GrossMinor < 0 || r.NetMinor < min(0, was.NetMinor) || r.TaxMinor < min(0, was.TaxMinor) {
			return ErrOverCredited
		}
	}
	return nil
}
