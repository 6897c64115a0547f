package warranty

import (
	"strings"
	"time"

	"ledgerwheel/domain/tongue"
)

// FactName is one thing that a code states, whatever language it is named in.
type FactName string

// The facts of a code.
const (
	FactCard      FactName = "card"
	FactShop      FactName = "shop"
	FactWatch     FactName = "watch"
	FactReference FactName = "reference"
	FactCalibre   FactName = "calibre"
	FactCase      FactName = "case"
	FactMovement  FactName = "movement"
	FactFrom      FactName = "from"
	FactUntil     FactName = "until"
	FactWork      FactName = "work"
	FactRates     FactName = "rates"
	FactMean      FactName = "mean"
	FactVerdict   FactName = "verdict"
	FactCovers    FactName = "covers"
)

// FactNames are all facts in the order in which they are shown.
var FactNames = []FactName{FactCard, FactShop, FactWatch, FactReference, FactCalibre, FactCase, FactMovement, FactFrom, FactUntil,
	FactWork, FactRates, FactMean, FactVerdict, FactCovers}

// Words name f.
func (f FactName) Words(in tongue.Tongue) string { return in.Say("proof.fact." + string(f)) }

// Fact is one thing that a code states, for people. What a person wrote stays as it was signed.
type Fact struct{ Name, Value string }

// Facts are what the code states, named in a language, with days as day writes them and figures as a locale (BCP 47) does.
func (p Proof) Facts(in tongue.Tongue, locale string, day func(time.Time) string) []Fact {
	c, between := p.Card, in.Say("proof.between")
	var rates []string
	for _, rate := range c.Final.Rates {
		rates = append(rates, rate.Position+"\u00a0"+tongue.Figures(c.Final.RateWords(rate.RateSPerDay), locale))
	}
	mean := ""
	if len(rates) > 0 {
		mean = tongue.Figures(c.Final.RateWords(c.Final.MeanSPerDay), locale) + between + tongue.Figures(c.Final.SpreadWords(), locale)
	}
	values := map[FactName]string{FactCard: c.Code.Grouped(), FactShop: strings.Trim(c.Shop.Name+", "+c.Shop.Place, ", "),
		FactWatch: strings.TrimSpace(c.Watch.Maker + " " + c.Watch.Model), FactReference: c.Watch.Reference,
		FactCalibre: c.Watch.Calibre, FactCase: c.Watch.CaseSerial, FactMovement: c.Watch.MovementSerial,
		FactFrom: day(c.StartsOn), FactUntil: day(c.ExpiresOn), FactWork: strings.Join(c.WorkDone, "\n"),
		FactRates: strings.Join(rates, between), FactMean: mean, FactVerdict: c.Final.Verdict, FactCovers: c.Covers}
	var list []Fact
	for _, name := range FactNames {
		if values[name] != "" {
			list = append(list, Fact{name.Words(in), values[name]})
		}
	}
	return list
}

// LeftOut is the sentence that names what the code leaves out or shortens; "" where it has all.
func (p Proof) LeftOut(in tongue.Tongue) string {
	var names []string
	for _, part := range append(append([]ProofPart{}, p.Short...), p.Absent...) {
		names = append(names, part.Words(in))
	}
	if len(names) == 0 {
		return ""
	}
	return in.Say("proof.partly", "what", strings.Join(names, ", "))
}
