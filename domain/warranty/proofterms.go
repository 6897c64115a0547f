package warranty

import (
	"strings"
	"time"
)

// What is said beside the facts of a card that proves itself; the second begins the list of what its code leaves out.
const (
	ProofCompare = "Compare with the watch and the card in your hand: if anything differs, the card was altered or belongs to another watch."
	ProofPartly  = "Not or not wholly in the code, for want of room, and to be asked of the shop:"
)

// Fact is one thing that a code states, for people.
type Fact struct{ Name, Value string }

// Facts are what the code states, with days as day writes them.
func (p Proof) Facts(day func(time.Time) string) []Fact {
	c := p.Card
	var rates []string
	for _, rate := range c.Final.Rates {
		rates = append(rates, rate.Position+"\u00a0"+c.Final.RateWords(rate.RateSPerDay))
	}
	mean := ""
	if len(rates) > 0 {
		mean = c.Final.RateWords(c.Final.MeanSPerDay) + ", " + c.Final.SpreadWords()
	}
	var list []Fact
	for _, f := range []Fact{{"Card", c.Code.Grouped()}, {"Shop", strings.Trim(c.Shop.Name+", "+c.Shop.Place, ", ")},
		{"Watch", strings.TrimSpace(c.Watch.Maker + " " + c.Watch.Model)}, {"Reference", c.Watch.Reference},
		{"Calibre", c.Watch.Calibre}, {"Case number", c.Watch.CaseSerial}, {"Movement number", c.Watch.MovementSerial},
		{"From", day(c.StartsOn)}, {"Until", day(c.ExpiresOn)}, {"Work done", strings.Join(c.WorkDone, "\n")},
		{"Final rates, s/d", strings.Join(rates, ", ")}, {"Mean and delta, s/d", mean},
		{"Verdict on the final run", c.Final.Verdict}, {"Covers", c.Covers}} {
		if f.Value != "" {
			list = append(list, f)
		}
	}
	return list
}

// LeftOut is the sentence that names what the code leaves out or shortens; "" where it has all.
func (p Proof) LeftOut() string {
	if len(p.Short)+len(p.Absent) == 0 {
		return ""
	}
	return ProofPartly + " " + strings.Join(append(append([]string{}, p.Short...), p.Absent...), ", ") + "."
}
