package warranty

import (
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/text"
)

// Basis is what a card takes from the record as it stands: nobody types it.
type Basis struct {
	Docket docket.Number
	Stage  docket.Stage
	Shop   Shop
	Watch  Watch
	Final  Final
	// HandedOverOn is the civil day of hand-over, midnight UTC; zero while the shop keeps the watch.
	HandedOverOn time.Time
}

// Wording is what the owner decides for a card.
type Wording struct {
	WorkDone []string // one line for each piece of work
	Months   int      // calendar months
	Covers   string
	StartsOn time.Time // civil day; after the hand-over it is the day of that, whatever stands here
}

// Tidied returns w with its texts fit to be signed and without empty lines.
func (w Wording) Tidied() Wording {
	var lines []string
	for _, line := range w.WorkDone {
		if line = text.Line(line); line != "" {
			lines = append(lines, line)
		}
	}
	w.WorkDone, w.Covers = lines, text.Lines(w.Covers)
	return w
}

// What the faces of a card hold at a size that can still be read, in characters; MaxCardWork is for all lines together.
const (
	MaxCardWork   = 280
	MaxCardLines  = 10
	MaxCardCovers = 270
)

// addFitProblems notes what would not fit the card.
func (w Wording) addFitProblems(bad map[string]string) {
	length := 0
	for _, line := range w.WorkDone {
		length += utf8.RuneCountInString(line)
	}
	switch {
	case bad["work_done"] != "":
	case len(w.WorkDone) > MaxCardLines:
		bad["work_done"] = fmt.Sprintf("Keep this to %d lines, so that it fits the card; it has %d.", MaxCardLines,
			len(w.WorkDone))
	case length > MaxCardWork:
		bad["work_done"] = fmt.Sprintf("Keep this to %d characters in total, so that it fits the card; it has %d.", MaxCardWork,
			length)
	}
	if why := CoversProblem(w.Covers); why != "" {
		bad["covers"] = why
	}
}

// And adds a line below the work that is named, where there is any and the card has room for it.
func (w Wording) And(line string) Wording {
	more := w
	more.WorkDone = append(slices.Clone(w.WorkDone), line)
	bad := map[string]string{}
	more = more.Tidied()
	more.addFitProblems(bad)
	if len(w.WorkDone) == 0 || bad["work_done"] != "" {
		return w
	}
	return more
}

// CoversProblem says why the card can't hold what a warranty covers; empty where it can. The shop's settings ask the
// same, so that nothing is kept there that no card takes.
func CoversProblem(covers string) string {
	if n := utf8.RuneCountInString(text.Lines(covers)); n > MaxCardCovers {
		return fmt.Sprintf("Keep this to %d characters, so that it fits the card; it has %d.", MaxCardCovers, n)
	}
	return ""
}

// maxStartDays is how long before an expected hand-over a card may be made out.
const maxStartDays = 90

// MayIssue reports whether a watch in the given stage is one for which a card can be issued: ready or handed
// over. A watch that goes back unrepaired has no warranty.
func MayIssue(stage docket.Stage) bool {
	return stage == docket.StageReady || stage == docket.StageHandedOver
}

// Card returns the card that b and w make, still without a code, a time of issue and what it supersedes.
func (b Basis) Card(w Wording) Card {
	start := b.HandedOverOn
	if start.IsZero() {
		start = w.StartsOn
	}
	c := Card{Docket: b.Docket, Shop: b.Shop, Watch: b.Watch, WorkDone: w.WorkDone, Final: b.Final,
		StartsOn: start, Covers: w.Covers}
	if !start.IsZero() {
		c.ExpiresOn = Expires(start, w.Months)
	}
	return c
}

// Problems says, by form field, what stops a card of w being issued on the civil day today: "work_done",
// "months", "covers", "starts_on", and "" for what no field of the form can mend.
func (b Basis) Problems(w Wording, today time.Time) map[string]string {
	bad := Terms{Months: w.Months, Covers: w.Covers}.Problems()
	card := b.Card(w)
	card.Code, card.IssuedAt = blankCode, today
	if bad["months"] != "" {
		card.ExpiresOn = card.StartsOn // said beside the months
	}
	for field, why := range card.Problems() {
		switch field {
		case "work_done", "covers", "starts_on":
			bad[field] = why
		default:
			bad[""] = strings.TrimSpace(bad[""] + " " + why)
		}
	}
	w.addFitProblems(bad)
	if b.HandedOverOn.IsZero() && bad["starts_on"] == "" {
		switch {
		case w.StartsOn.Before(today):
			bad["starts_on"] = "The watch is still here: the warranty can't have begun before today."
		case w.StartsOn.After(today.AddDate(0, 0, maxStartDays)):
			bad["starts_on"] = "Give a day within the next 90 days."
		}
	}
	if !MayIssue(b.Stage) {
		bad[""] = "A card is issued once the watch is ready."
	}
	return bad
}

// blankCode has the shape of a code; it stands for the one that the card will have.
const blankCode Code = "AAAAAAAAAAAAAAAA"

// Corrected returns the card that replaces old: what the record and w now say, under the term of old. Problems
// of a reissue are by the fields of [Basis.Problems], without those of the term.
func (b Basis) Corrected(old Card, w Wording, code Code, now time.Time) (Card, error) {
	next := old.Reissued(code, now)
	next.Shop, next.Watch, next.Final = b.Shop, b.Watch, b.Final
	next.WorkDone, next.Covers = w.WorkDone, w.Covers
	bad := CheckReissue(old, next)
	w.addFitProblems(bad)
	return next, domain.Invalid(bad)
}

// Months is the term in whole calendar months, or 0 where first and last day do not make such a term.
func (c Card) Months() int {
	for n := 1; n <= maxMonths; n++ {
		if Expires(c.StartsOn, n).Equal(c.ExpiresOn) {
			return n
		}
	}
	return 0
}
