package ledger

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/money"
	"ledgerwheel/domain/text"
)

// Source is the number under which a supplier has a part.
type Source struct {
	SupplierID int64
	Number     string
}

// Part is a part of the shop's catalogue.
type Part struct {
	ID             int64
	Number         string // the shop's own, as on the drawer's label
	Name           string
	Unit           string // that is counted: piece, bottle, metre
	Drawer         string
	Fits           []string // calibres and references
	Currency       string
	CostMinor      *int64 // of one, without tax; nil where nobody said
	PriceMinor     *int64 // of one, to the customer; nil where it is priced each time
	IncludesTax    bool   // the price does
	TaxBasisPoints int
	ReorderAt      *int // with so few free ones it is ordered again; nil for never by itself
	ReorderTo      int  // up to so many
	Ages           bool // kept in lots with their life
	Sources        []Source
	Ended          bool
}

const (
	maxNumber  = 40
	maxName    = 200
	maxUnit    = 20
	maxDrawer  = 40
	maxFits    = 60
	maxSources = 10
)

// Tidied returns p with its texts fit to be kept.
func (p Part) Tidied() Part {
	p.Number, p.Name, p.Unit, p.Drawer = strings.ToUpper(text.Line(p.Number)), text.Line(p.Name), text.Line(p.Unit), text.Line(p.Drawer)
	if p.Unit == "" {
		p.Unit = "piece"
	}
	var fits []string
	for _, f := range p.Fits {
		if f = text.Line(f); f != "" && !slices.Contains(fits, f) {
			fits = append(fits, f)
		}
	}
	p.Fits, p.Sources = fits, slices.Clone(p.Sources)
	for i := range p.Sources {
		p.Sources[i].Number = text.Line(p.Sources[i].Number)
	}
	return p
}

// Problems says, by form field, what stops p being kept: "number", "name", "unit", "drawer", "fits", "cost", "price",
// "tax_rate", "reorder_at", "reorder_to", "sources".
func (p Part) Problems() map[string]string {
	bad := map[string]string{}
	switch {
	case p.Number == "":
		bad["number"] = "Give the part the shop's own number."
	case text.TooLong(p.Number, maxNumber):
		bad["number"] = "Keep the number to 40 characters."
	}
	switch {
	case p.Name == "":
		bad["name"] = "Say which part."
	case text.TooLong(p.Name, maxName):
		bad["name"] = "Keep the name to 200 characters."
	}
	if p.Unit == "" || text.TooLong(p.Unit, maxUnit) {
		bad["unit"] = "Say what is counted, in at most 20 characters: piece, bottle, metre."
	}
	if text.TooLong(p.Drawer, maxDrawer) {
		bad["drawer"] = "Keep the place to 40 characters."
	}
	if len(p.Fits) > maxFits || slices.ContainsFunc(p.Fits, func(f string) bool { return text.TooLong(f, maxName) }) {
		bad["fits"] = "Keep to 60 lines of at most 200 characters."
	}
	p.moneyProblems(bad)
	p.reorderProblems(bad)
	if len(p.Sources) > maxSources {
		bad["sources"] = "Keep to ten suppliers' numbers."
	}
	for _, s := range p.Sources {
		if s.SupplierID == 0 || s.Number == "" || text.TooLong(s.Number, maxName) {
			bad["sources"] = "Give each supplier's number, of at most 200 characters."
		}
	}
	return bad
}

func (p Part) moneyProblems(bad map[string]string) {
	if _, ok := money.Digits(p.Currency); !ok {
		bad["price"] = "Give a three-letter currency code such as EUR."
	}
	for field, minor := range map[string]*int64{"cost": p.CostMinor, "price": p.PriceMinor} {
		if minor != nil && (*minor < 0 || *minor > money.Max) {
			bad[field] = "Give an amount of 0 or more."
		}
	}
	if p.TaxBasisPoints < 0 || p.TaxBasisPoints > estimate.MaxTaxBasisPoints {
		bad["tax_rate"] = "Give a rate of tax from 0 to 100 %, with at most two decimals."
	}
}

func (p Part) reorderProblems(bad map[string]string) {
	if p.ReorderAt == nil {
		return
	}
	if *p.ReorderAt < 0 || *p.ReorderAt > MaxPieces {
		bad["reorder_at"] = "Give a number of pieces, 0 or more."
	} else if p.ReorderTo <= *p.ReorderAt || p.ReorderTo > MaxPieces {
		bad["reorder_to"] = "Give more than the number at which it is ordered again."
	}
}

// ToOrder is how many pieces are to be ordered so that it has as many as it should, with so many free and so many on
// their way; 0 where it has enough.
func (p Part) ToOrder(free, coming int) int {
	if p.ReorderAt == nil || p.Ended || free+coming > *p.ReorderAt {
		return 0
	}
	return p.ReorderTo - free - coming
}

// Tidied returns l with its texts fit to be kept.
func (l Lot) Tidied() Lot {
	l.Number = text.Line(l.Number)
	return l
}

// Problems says, by form field, what stops l being kept on the civil day today: "lot", "made_on", "usable_to".
func (l Lot) Problems(today time.Time) map[string]string {
	bad := map[string]string{}
	if l.Number == "" || text.TooLong(l.Number, maxName) {
		bad["lot"] = "Give the number of the lot, as the label has it."
	}
	if l.MadeOn.After(today) {
		bad["made_on"] = "That day is still to come."
	}
	if !l.UsableTo.IsZero() && !l.MadeOn.IsZero() && l.UsableTo.Before(l.MadeOn) {
		bad["usable_to"] = "Its life can't end before it was made."
	}
	return bad
}

// KeptSummary is what the shop's journal tells of a part that was added or changed.
func (p Part) KeptSummary() string { return "Catalogue: " + p.Number + ", " + p.Name + " was saved." }

// Title is p as it is named in a list.
func (p Part) Title() string { return p.Number + " " + p.Name }

// NeedsReason says what lacks where m needs a reason in words and has none.
func (m Move) NeedsReason() string {
	if (m.Kind == Counted || m.Kind == WrittenOff || m.Kind == SentBack) && text.Line(m.Why) == "" {
		return "Say why, or that nobody knows."
	}
	return ""
}

// Words says what there is too little of.
func (e *ShortError) Words() string {
	if e.There == 0 {
		return "None is " + e.What + "."
	}
	return fmt.Sprintf("Only %d %s.", e.There, e.What)
}

// OfPart says of which part there is too little, and what to do.
func (e *ShortError) OfPart(name string) string {
	return fmt.Sprintf("%s: %d needed, %d %s. Order the rest, or count the drawer if more lie in it.", name, e.Asked, e.There, e.What)
}

// MovedSummary is what a journal tells of moves of a part, after which it stands so.
func MovedSummary(title string, moves []Move, b Balance) string {
	var said []string
	for _, m := range moves {
		said = append(said, fmt.Sprintf("%d %s", m.Pieces, m.Kind.Words()))
	}
	return fmt.Sprintf("Stock of %s: %s; %d in the drawer, %d of them reserved.", title, strings.Join(said, ", "), b.OnHand(), b.Reserved())
}

// CountedSummary is what a journal tells of a stocktake that made those moves, after which the part stands so.
func CountedSummary(title string, moves []Move, b Balance) string {
	if len(moves) == 0 {
		return fmt.Sprintf("Stock of %s counted: %d in the drawer, as the book has it.", title, b.OnHand())
	}
	return MovedSummary(title, moves, b)
}

// Chosen is the one part that letters typed mean of those found by them: the one with that number, or the only one. Else
// choices are those found.
func Chosen(found []Part, typed string) (part Part, choices []Part, ok bool) {
	for _, p := range found {
		if strings.EqualFold(p.Number, text.Line(typed)) {
			return p, nil, true
		}
	}
	if len(found) == 1 {
		return found[0], nil, true
	}
	return Part{}, found, false
}
