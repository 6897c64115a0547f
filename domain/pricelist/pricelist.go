// Package pricelist has the shop's own jobs: what each costs from which day on, how long it usually takes, and which
// parts it usually needs. An estimate drafted from them is edited freely, and keeps the prices it was given.
package pricelist

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/figure"
	"ledgerwheel/domain/money"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/watch"
)

// Price is what a job costs from a day on.
type Price struct {
	From           time.Time // civil day as midnight UTC
	Minor          int64     // of one, in minor units of Currency
	Currency       string    // ISO 4217
	IncludesTax    bool
	TaxBasisPoints int // hundredths of a per cent
}

// Under is what p comes to where prices are written with tax or without, in minor units, rounded as the rule rounds.
func (p Price) Under(rule estimate.TaxRule) (int64, error) {
	line := estimate.Line{QuantityMilli: 1000, UnitMinor: p.Minor, TaxBasisPoints: p.TaxBasisPoints}
	sum, err := estimate.Sum([]estimate.Line{line}, estimate.TaxRule{PricesIncludeTax: p.IncludesTax, Rounding: rule.Rounding})
	switch {
	case err != nil:
		return 0, err
	case rule.PricesIncludeTax:
		return sum.GrossMinor, nil
	}
	return sum.NetMinor, nil
}

// UsualPart is a part that the job usually needs.
type UsualPart struct {
	Description string
	Pieces      int
	Optional    bool   // priced so that the customer may leave it out
	PartID      int64  // of the catalogue, 0 for one that is priced each time
	Number      string // its number there
	Price       *Price // as the catalogue has it today; nil where it has none
}

// Job is one line of the price list.
type Job struct {
	ID       int64
	Code     string // a few letters that find it: FS
	Name     string // as it stands on the estimate
	NameDe   string // for customers written to in German and French; "" is Name
	NameFr   string
	Kind     estimate.Kind   // Labour, OutsideWork or Other
	Windings []watch.Winding // what the watches it is for are driven by, none for all
	Minutes  int             // that it usually takes at the bench, 0 where nobody said
	Prices   []Price         // in the order of their days
	Parts    []UsualPart
	Ended    bool // offered no longer
}

// Kinds are what a job may be: parts have prices of their own, and a discount is no job.
var Kinds = []estimate.Kind{estimate.Labour, estimate.OutsideWork, estimate.Other}

const (
	maxCode    = 12
	maxMinutes = 60 * 100
	maxParts   = 20
	maxPieces  = 1000
)

// Typed reads usual parts as they are typed, one a line: "Mainspring", "2 × gasket", "crown?" for one that the customer may
// leave out.
func Typed(lines string) []UsualPart {
	var list []UsualPart
	for line := range strings.Lines(lines) {
		words := text.Line(line)
		if words == "" {
			continue
		}
		p := UsualPart{Description: words, Pieces: 1}
		if cut, ok := strings.CutSuffix(p.Description, "?"); ok {
			p.Description, p.Optional = strings.TrimSpace(cut), true
		}
		if before, after, ok := strings.Cut(strings.Replace(p.Description, " x ", " × ", 1), "×"); ok {
			if n, err := figure.ParseWhole(strings.TrimSpace(before)); err == nil {
				p.Pieces, p.Description = n, strings.TrimSpace(after)
			}
		}
		list = append(list, p)
	}
	return list
}

// Words is p as it would be typed.
func (p UsualPart) Words() string {
	words := cmp.Or(p.Number, p.Description)
	if p.Pieces != 1 {
		words = fmt.Sprintf("%d × %s", p.Pieces, words)
	}
	if p.Optional {
		words += "?"
	}
	return words
}

// Tidied returns j with its texts fit to be kept, and its prices in order.
func (j Job) Tidied() Job {
	j.Code = strings.ToUpper(text.Line(j.Code))
	j.Name, j.NameDe, j.NameFr = text.Line(j.Name), text.Line(j.NameDe), text.Line(j.NameFr)
	j.Prices, j.Parts = slices.Clone(j.Prices), slices.Clone(j.Parts)
	slices.SortStableFunc(j.Prices, func(a, b Price) int { return a.From.Compare(b.From) })
	for i := range j.Parts {
		j.Parts[i].Description = text.Line(j.Parts[i].Description)
	}
	return j
}

// Problems says, by form field, what stops j being kept: "code", "name", "name_de", "name_fr", "kind", "minutes", "windings",
// "prices.i.price", "prices.i.tax_rate", "prices.i.from", "parts", "parts.i.description", "parts.i.pieces".
func (j Job) Problems() map[string]string {
	bad := map[string]string{}
	switch {
	case j.Code == "":
		bad["code"] = "Give a few letters to find it by."
	case text.TooLong(j.Code, maxCode) || strings.Contains(j.Code, " "):
		bad["code"] = "Keep the code to 12 letters and digits, without spaces."
	}
	if j.Name == "" {
		bad["name"] = "Name the job as it stands on the estimate."
	}
	for field, name := range map[string]string{"name": j.Name, "name_de": j.NameDe, "name_fr": j.NameFr} {
		if text.TooLong(name, estimate.MaxDescription) {
			bad[field] = "Keep the name to 300 characters."
		}
	}
	if !slices.Contains(Kinds, j.Kind) {
		bad["kind"] = "Choose what is charged for."
	}
	if j.Minutes < 0 || j.Minutes > maxMinutes {
		bad["minutes"] = "Give the minutes it usually takes, 0 to 6000."
	}
	j.priceProblems(bad)
	for _, w := range j.Windings {
		if w == watch.WindingUnknown || !slices.Contains(watch.Windings, w) {
			bad["windings"] = "Choose what the watches are driven by."
		}
	}
	if len(j.Parts) > maxParts {
		bad["parts"] = "Keep to 20 usual parts."
	}
	for i, p := range j.Parts {
		if p.Description == "" || text.TooLong(p.Description, estimate.MaxDescription) {
			bad[fmt.Sprintf("parts.%d.description", i)] = "Say which part, in at most 300 characters."
		}
		if p.Pieces < 1 || p.Pieces > maxPieces {
			bad[fmt.Sprintf("parts.%d.pieces", i)] = "Give the number of pieces, from 1 to 1000."
		}
	}
	return bad
}

func (j Job) priceProblems(bad map[string]string) {
	for i, p := range j.Prices {
		if p.Minor < 0 || p.Minor > money.Max {
			bad[fmt.Sprintf("prices.%d.price", i)] = "Give a price of 0 or more."
		}
		if _, ok := money.Digits(p.Currency); !ok {
			bad[fmt.Sprintf("prices.%d.price", i)] = "Give a three-letter currency code such as EUR."
		}
		if p.TaxBasisPoints < 0 || p.TaxBasisPoints > estimate.MaxTaxBasisPoints {
			bad[fmt.Sprintf("prices.%d.tax_rate", i)] = "Give a rate of tax from 0 to 100 %, with at most two decimals."
		}
		if p.From.IsZero() || i > 0 && !p.From.After(j.Prices[i-1].From) {
			bad[fmt.Sprintf("prices.%d.from", i)] = "Give the day from which it holds, one for each price."
		}
	}
}

// PriceOn is what j costs on a civil day. ok is false before its first price.
func (j Job) PriceOn(day time.Time) (p Price, ok bool) {
	for _, q := range j.Prices {
		if !q.From.After(day) {
			p, ok = q, true
		}
	}
	return p, ok
}

// Repriced is j with the price p from its day on, in place of one of the same day. Where p says what holds on that day
// anyway, j is as it was.
func (j Job) Repriced(p Price) Job {
	if was, ok := j.PriceOn(p.From); ok {
		was.From = p.From
		if was == p {
			return j
		}
	}
	j.Prices = append(slices.DeleteFunc(slices.Clone(j.Prices), func(q Price) bool { return q.From.Equal(p.From) }), p)
	slices.SortStableFunc(j.Prices, func(a, b Price) int { return a.From.Compare(b.From) })
	return j
}

// NameIn is the job's name in a language (BCP 47: "de", "fr"), its own name where none was given.
func (j Job) NameIn(language string) string {
	switch language {
	case "de":
		return cmp.Or(j.NameDe, j.Name)
	case "fr":
		return cmp.Or(j.NameFr, j.Name)
	}
	return j.Name
}

// For reports whether j is offered for a watch that is driven so.
func (j Job) For(w watch.Winding) bool {
	return !j.Ended && (w == watch.WindingUnknown || len(j.Windings) == 0 || slices.Contains(j.Windings, w))
}

// ErrNoPrice reports that a job has no price in the currency on the day.
var ErrNoPrice = errors.New("no price on this day in this currency")

// Drafted are the lines of an estimate over a job on a civil day, in a currency and under the estimate's rule: the job,
// then its usual parts, those of the catalogue at its price, others at zero, to be priced before it is sent. The error wraps ErrNoPrice, or is
// estimate.ErrTooLarge.
func (j Job) Drafted(day time.Time, language, currency string, rule estimate.TaxRule) ([]estimate.Line, error) {
	price, ok := j.PriceOn(day)
	if !ok || price.Currency != currency {
		return nil, fmt.Errorf("%s: %w", j.Code, ErrNoPrice)
	}
	minor, err := price.Under(rule)
	if err != nil {
		return nil, err
	}
	lines := []estimate.Line{{Kind: j.Kind, Description: j.NameIn(language), QuantityMilli: 1000, UnitMinor: minor,
		TaxBasisPoints: price.TaxBasisPoints}}
	for _, p := range j.Parts {
		line := estimate.Line{Kind: estimate.Part, Description: p.Description, QuantityMilli: int64(p.Pieces) * 1000,
			TaxBasisPoints: price.TaxBasisPoints, Optional: p.Optional, PartID: p.PartID}
		if p.Price != nil && p.Price.Currency == currency {
			line.TaxBasisPoints = p.Price.TaxBasisPoints
			if line.UnitMinor, err = p.Price.Under(rule); err != nil {
				return nil, err
			}
		}
		lines = append(lines, line)
	}
	return lines, nil
}

// Title is j as it is chosen from a list: its code and its name.
func (j Job) Title() string { return j.Code + " " + j.Name }

// Found are the jobs that letters typed find, the best first: those whose code was typed, alone or before other words;
// whose code begins so; whose name has every word typed. Those that have ended are left out.
func Found(list []Job, typed string, w watch.Winding) []Job {
	typed = strings.ToUpper(text.Line(typed))
	type hit struct {
		rank int
		job  Job
	}
	var hits []hit
	for _, j := range list {
		if !j.For(w) {
			continue
		}
		switch name := strings.ToUpper(j.Name); {
		case j.Code == typed, strings.HasPrefix(typed, j.Code+" "):
			hits = append(hits, hit{0, j})
		case strings.HasPrefix(j.Code, typed):
			hits = append(hits, hit{1, j})
		case !slices.ContainsFunc(strings.Fields(typed), func(w string) bool { return !strings.Contains(name, w) }):
			hits = append(hits, hit{2, j})
		}
	}
	slices.SortStableFunc(hits, func(a, b hit) int {
		return cmp.Or(cmp.Compare(a.rank, b.rank), cmp.Compare(a.job.Code, b.job.Code))
	})
	found := make([]Job, len(hits))
	for i, h := range hits {
		found[i] = h.job
	}
	return found
}

// Chosen is the one job that letters typed mean: the best found, where no other is found as well. Else choices are those
// that were found, none where nothing is typed.
func Chosen(list []Job, typed string, w watch.Winding) (job Job, choices []Job, ok bool) {
	if text.Line(typed) == "" {
		return Job{}, nil, false
	}
	found := Found(list, typed, w)
	if len(found) == 0 {
		found = Found(list, typed, watch.WindingUnknown) // said plainly, it may be for any watch
	}
	upper := strings.ToUpper(text.Line(typed))
	switch {
	case len(found) == 1, len(found) > 1 && (found[0].Code == upper || strings.HasPrefix(upper, found[0].Code+" ")):
		return found[0], nil, true
	}
	return Job{}, found, false
}

// KeptSummary is what the shop's journal tells of a job that was added or changed, EndedSummary of one offered no longer.
func (j Job) KeptSummary() string { return "Price list: " + j.Code + ", " + j.Name + " was saved." }

// EndedSummary is what it tells of one that is offered no longer.
func (j Job) EndedSummary() string {
	return "Price list: " + j.Code + ", " + j.Name + " is offered no longer."
}
