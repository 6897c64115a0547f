package docket

import (
	"fmt"
	"strings"

	"ledgerwheel/domain/text"
	"ledgerwheel/domain/watch"
)

// What the journal's entries say of a docket, for people. The words are hashed with their entries: those written before
// stay as they are, whatever these say.

// ReceivedSummary tells that a watch was taken in, and who brought it before where that was another.
func ReceivedSummary(watchTitle, customer, broughtBefore string) string {
	if broughtBefore != "" {
		return fmt.Sprintf("Taken in: %s, from %s; brought before by %s.", watchTitle, customer, broughtBefore)
	}
	return fmt.Sprintf("Taken in: %s, from %s.", watchTitle, customer)
}

// TogetherSummary tells with which other watch of the same customer a watch came in.
func TogetherSummary(with Number) string {
	return "Taken in together with " + with.String() + ", on one ticket."
}

// LimitPassedSummary says that a watch was taken in all the same, with what its taker was warned of.
func LimitPassedSummary(warned string) string { return "Taken in after a warning. " + warned }

// ComebackSummary tells on the new docket from which earlier one its watch comes back.
func ComebackSummary(earlier Number) string {
	return "Comes back under the warranty of docket " + earlier.String() + "."
}

// CameBackSummary tells on the earlier docket under which its watch came back.
func CameBackSummary(now Number) string {
	return "The watch came back under warranty as docket " + now.String() + "."
}

// MessageSummary tells of a word to the customer: what of, by which way, and what became of it so far.
func MessageSummary(topic, way, state string) string {
	return fmt.Sprintf("Word to the customer, %s, %s: %s.", topic, way, state)
}

// ListedSummary tells of an entry of the watch list in words that may be read by anyone: a match is a reason to ask,
// not a finding.
func ListedSummary(e watch.WatchListEntry, m watch.SerialMatch) string {
	return fmt.Sprintf("Note %d of the shop's list: %s.", e.ID, m.Words())
}

// ConditionSummary counts the marks noted.
func ConditionSummary(c watch.Condition) string {
	switch len(c.Marks) {
	case 0:
		return "Condition noted: no marks seen."
	case 1:
		return "Condition noted: one mark."
	}
	return fmt.Sprintf("Condition noted: %d marks.", len(c.Marks))
}

// ConditionFacts are the marks and the parts without any, as the journal keeps them.
func ConditionFacts(c watch.Condition) map[string]any {
	marks := []string{}
	for _, m := range c.Marks {
		words := m.Words()
		if m.Placed {
			words += fmt.Sprintf(", %s (%.0f %% from the left, %.0f %% from the top)", m.PlaceWords(), 100*m.X, 100*m.Y)
		}
		marks = append(marks, words)
	}
	var clear []string
	for _, p := range c.NoMarksSeen {
		clear = append(clear, p.Words())
	}
	return map[string]any{"marks": marks, "no marks seen": strings.Join(clear, ", ")}
}

// ReceivedFacts are what was handed over and said at the counter, as the journal keeps it: what was not said is left
// out.
func ReceivedFacts(customer, broughtBefore string, w watch.Watch, in Intake, at Place) map[string]string {
	facts := map[string]string{}
	for _, f := range [][2]string{
		{"customer", customer}, {"brought before by", broughtBefore}, {"maker", w.Maker}, {"model", w.Model},
		{"reference", w.Reference}, {"serial", w.Serial}, {"movement serial", w.MovementSerial}, {"calibre", w.CalibreName},
		{"case material", w.CaseMaterial}, {"strap", w.Strap}, {"lume", w.Lume.Words()}, {"winding", w.Winding.Words()},
		{"water resistance marked", w.WaterResistanceMarked}, {"complaint", in.Complaint}, {"order number", in.OrderNumber},
		{"service wanted", in.Wanted.Label()}, {"declared value", amountWords(in.DeclaredValueMinor, in.Currency)},
		{"approval limit", amountWords(in.ApprovalLimitMinor, in.Currency)}, {"promised for", DayWords(in.PromisedOn)},
		{"place", at.String()}, {"language of papers", in.tongueWords()},
	} {
		if f[1] != "" {
			facts[f[0]] = f[1]
		}
	}
	return facts
}

// tongueWords name the language of the papers; "" where none was chosen.
func (in Intake) tongueWords() string {
	if in.Tongue == "" {
		return ""
	}
	return in.Tongue.Words()
}

// ComebackFacts name the docket from which the watch comes back.
func ComebackFacts(earlier Number) map[string]string {
	return map[string]string{"comeback of": earlier.String()}
}

// CameBackFacts name the docket under which the watch came back.
func CameBackFacts(now Number) map[string]string {
	return map[string]string{"came back as": now.String()}
}

// PromisedSummary tells which day is promised now.
func (in Intake) PromisedSummary() string {
	if in.PromisedOn.IsZero() {
		return "No day is promised any more."
	}
	return "Promised for " + DayWords(in.PromisedOn) + "."
}

// OwnerAllowedSummary tells that the owner's reason stands in for an unmet need.
const OwnerAllowedSummary = "The owner let the watch go on without what the rules ask."

// Summary tells of a move and where the watch lies after it.
func (m Move) Summary(at Place) string {
	return fmt.Sprintf("From %s to %s. The watch: %s.", m.From.Label(), m.To.Label(), at)
}

// LeftSummary tells who took the watch along: of a finished one it is a hand-over.
func (m Move) LeftSummary(collectedBy string) string {
	if m.To == StageHandedOver {
		return "Handed over to " + collectedBy + "."
	}
	return "Handed back to " + collectedBy + "."
}

// PlacedSummary tells that the watch lies elsewhere.
func PlacedSummary(from, to Place) string {
	return fmt.Sprintf("The watch went from %s to %s.", from, to)
}

// InHandSummary tells who has the work in hand; "" is nobody.
func InHandSummary(name string) string {
	if name == "" {
		return "Nobody has the work in hand."
	}
	return "The work is in the hands of " + name + "."
}

// CollectedSummary tells who collects the watch, and by what right.
func (l Leaving) CollectedSummary() string {
	if l.Proof == ProofIdentity {
		return "Collected by " + l.CollectedBy + ", without the claim ticket."
	}
	return "Collected by " + l.CollectedBy + ", against the claim ticket."
}

// Summary tells what becomes of the old parts.
func (o OldParts) Summary() string { return "Old parts: " + o.Words() + "." }

// Summary tells of the money that passed, in the currency named.
func (p Payment) Summary(currency string) string {
	amount, done := p.Minor, "paid"
	if p.Minor < 0 {
		amount, done = -p.Minor, "given back"
	}
	return amountWords(&amount, currency) + " " + done + ", " + p.Method.Words() + "."
}

// IssuedSummary tells that a document was issued: what kind, in words, its number, and what it comes to.
func IssuedSummary(kind, number string, grossMinor int64, currency string) string {
	return text.Capital(kind) + " " + number + " issued: " + amountWords(&grossMinor, currency) + "."
}

// What is told of the customer's private link.
const (
	LinkMadeSummary  = "Private link made for the customer."
	LinkEndedSummary = "The customer's private link was ended."
)

// What was made of an answer of a bench tool: each begins with the tool's name.

// BenchFindingSummary tells that it became a finding on a component.
func BenchFindingSummary(tool, component string) string {
	return tool + ": kept as a finding on the " + component + "."
}

// BenchPartSummary tells that it became a part that the docket needs.
func BenchPartSummary(tool, part string) string { return tool + ": kept as a part, " + part + "." }

// BenchCalibreSummary tells that the calibre was corrected by it.
func BenchCalibreSummary(tool, calibre string) string {
	return tool + ": calibre " + calibre + " corrected."
}

// What the journal tells of a question by the private link, and of its answer; the words stand below.
const (
	AskedSummary    = "The customer asks by the private link."
	AnsweredSummary = "The customer's question is answered on their page."
)
