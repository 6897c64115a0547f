package docket

import (
	"slices"
	"strings"
	"time"

	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/tongue"
)

// Charge sets what the customer owes in all, in place of what the estimate says.
type Charge struct {
	Minor  *int64 // in the docket's currency; nil goes back to the estimate
	Reason string
	Word   Word // what lets the charge go above what the customer allowed
}

// Word is what lets a charge go above what the customer allowed: the customer's word, or the owner's decision.
type Word struct {
	How WordHow
	On  time.Time // civil day on which the customer said so
	By  string    // who took the customer's word, or which owner decided
}

// WordHow is how a word was given. The value is kept in the database.
type WordHow string

// The ways in which a word is given. OwnerDecided stands in for the customer's.
const (
	SaidInPerson WordHow = "in-person"
	SaidByPhone  WordHow = "telephone"
	SaidInLetter WordHow = "letter"
	OwnerDecided WordHow = "owner"
)

// WordHows returns the ways that someone of the role may write down, in the order in which a form offers them.
func WordHows(role staff.Role) []WordHow {
	hows := []WordHow{SaidInPerson, SaidByPhone, SaidInLetter}
	if staff.Can(role, staff.ChargeMore) {
		hows = append(hows, OwnerDecided)
	}
	return hows
}

// Words is h in plain words.
func (h WordHow) Words() string {
	switch h {
	case SaidInPerson:
		return "in person"
	case SaidByPhone:
		return "by telephone"
	case SaidInLetter:
		return "by letter or e-mail"
	}
	return "not asked: the owner decides"
}

// Sentence says how it came to a charge above what was agreed; nothing where it is not above.
func (w Word) Sentence() string {
	switch w.How {
	case "":
		return ""
	case OwnerDecided:
		return "Above what was agreed by the owner's decision, " + w.By + "."
	}
	return "The customer agreed " + w.How.Words() + " on " + DayWords(w.On) + ", told to " + w.By + "."
}

const maxWordBy = 200 // characters

// dayAhead is how long before UTC a day begins where it begins first.
const dayAhead = 14 * time.Hour

// Problems says, by form field, what stops c being set at the time now by someone of the role: "charged", "reason",
// "word", "word_on", "word_by". As the estimate stands the customer owes agreedMinor, and has allowed the shop to go up
// to allowedMinor. Charging less than was agreed gives away the shop's money, so it is for whoever may override;
// charging more than was allowed takes the customer's word, or whoever may decide without it.
func (c Charge) Problems(agreedMinor, allowedMinor int64, role staff.Role, now time.Time) map[string]string {
	bad := map[string]string{}
	amountProblem(bad, "charged", c.Minor)
	if c.Minor != nil && bad["charged"] == "" {
		switch {
		case *c.Minor < agreedMinor && !staff.Can(role, staff.Override):
			bad["charged"] = "Only the owner may charge less than was agreed."
		case c.Above(allowedMinor):
			c.Word.problems(bad, role, now)
		}
	}
	switch {
	case strings.TrimSpace(c.Reason) == "":
		bad["reason"] = "Write why: the reason goes into the journal."
	case text.TooLong(c.Reason, maxReason):
		bad["reason"] = "Keep the reason to 2000 characters."
	}
	return bad
}

// Above says that c charges more than the customer allowed.
func (c Charge) Above(allowedMinor int64) bool { return c.Minor != nil && *c.Minor > allowedMinor }

func (w Word) problems(bad map[string]string, role staff.Role, now time.Time) {
	switch {
	case w.How == "":
		bad["word"] = "This is more than the customer agreed to. Ask the customer, and say here how the answer came."
		return
	case !slices.Contains(WordHows(role), w.How):
		bad["word"] = "Ask the customer. Only the owner may charge more without the customer's word."
		return
	case w.How == OwnerDecided:
		return
	}
	switch {
	case w.On.IsZero():
		bad["word_on"] = "Give the day on which the customer said so."
	case w.On.After(now.Add(dayAhead)):
		bad["word_on"] = "That day is still to come."
	}
	switch {
	case strings.TrimSpace(w.By) == "":
		bad["word_by"] = "Say who took the customer's word."
	case text.TooLong(w.By, maxWordBy):
		bad["word_by"] = "Keep the name to 200 characters."
	}
}

// Summary tells what is charged from now on, in the currency named.
func (c Charge) Summary(currency string) string {
	if c.Minor == nil {
		return "Charged as the estimate says."
	}
	return strings.TrimSpace("Charged: " + amountWords(c.Minor, currency) + " in total. " + c.Word.Sentence())
}

// Said is [Word.Sentence] in the customer's language; "" where nothing was charged above what was agreed.
func (w Word) Said(t tongue.Tongue) string {
	switch w.How {
	case "":
		return ""
	case OwnerDecided:
		return t.Say("paper.word.owner", "by", w.By)
	}
	return t.Say("paper.word.customer", "how", t.Say("word."+string(w.How)), "day", t.DayOfWeek(w.On), "by", w.By)
}
