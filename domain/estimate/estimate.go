// Package estimate holds what a repair will cost: priced lines in numbered
// revisions, their tax, and the customer's answer to them. Money is kept in
// minor units of an ISO 4217 currency.
package estimate

import (
	"errors"
	"fmt"
	"slices"
	"time"

	"ledgerwheel/domain/money"
	"ledgerwheel/domain/text"
)

// State is where a revision stands.
type State string

// The states. A revision is edited only as a draft; once sent it stays as the
// customer saw it.
const (
	Draft      State = "draft"
	Sent       State = "sent"
	Approved   State = "approved"
	Declined   State = "declined"
	Superseded State = "superseded" // another revision was sent or approved in its place
)

// Words says s in plain words.
func (s State) Words() string {
	if s == Sent {
		return "waiting for the customer"
	}
	return string(s)
}

// Revision is one numbered state of the estimate, with the rules it was priced
// by.
type Revision struct {
	ID         int64
	Number     int    // 1, 2, ... within the docket
	Currency   string // ISO 4217
	Rule       TaxRule
	Lines      []Line
	State      State
	Note       string    // shown to the customer
	ValidUntil time.Time // last day on which it may be approved, as midnight UTC; zero for no end
	SentAt     time.Time // UTC; zero until sent
	Answer     *Answer   // nil until the customer answers
}

// Problems says what stops r being saved. A fault in the line at index i is
// keyed "lines.i.FIELD"; one of the whole, "lines".
func (r Revision) Problems() map[string]string {
	bad := map[string]string{}
	if _, ok := money.Digits(r.Currency); !ok {
		bad["currency"] = "Give a three-letter currency code such as EUR."
	}
	for i, l := range r.Lines {
		for field, why := range l.Problems() {
			bad[fmt.Sprintf("lines.%d.%s", i, field)] = why
		}
	}
	if text.TooLong(r.Note, MaxNote) {
		bad["note"] = "Keep the note to at most 4000 characters."
	}
	if why := r.linesProblem(); why != "" {
		bad["lines"] = why
	}
	return bad
}

func (r Revision) linesProblem() string {
	switch {
	case len(r.Lines) == 0:
		return "Give at least one line."
	case len(r.Lines) > MaxLines:
		return "Keep to at most 200 lines."
	}
	if _, err := Sum(r.Lines, r.Rule); err != nil {
		return "The lines come to more than can be saved."
	}
	// Optional lines only add, so no choice of them can come out lower.
	required, err := Sum(r.required(), r.Rule)
	if err != nil {
		return "The lines come to more than can be saved."
	}
	for _, rate := range required.ByRate {
		if rate.GrossMinor < 0 {
			return "The discounts at " + FormatPercent(rate.TaxBasisPoints) +
				" % tax come to more than the lines at that rate that can't be left out."
		}
	}
	return ""
}

// required returns the lines that can't be left out.
func (r Revision) required() []Line {
	return slices.DeleteFunc(slices.Clone(r.Lines), func(l Line) bool { return l.Optional })
}

// AgreedLines returns the lines the customer did not leave out.
func (r Revision) AgreedLines() []Line {
	return slices.DeleteFunc(slices.Clone(r.Lines), func(l Line) bool { return l.Declined })
}

// Totals sums every line, declined ones too: what the revision offers.
func (r Revision) Totals() (Totals, error) { return Sum(r.Lines, r.Rule) }

// AgreedTotals sums the lines the customer did not leave out: what is due once
// the revision is approved.
func (r Revision) AgreedTotals() (Totals, error) { return Sum(r.AgreedLines(), r.Rule) }

// Expired reports whether r can no longer be approved on the day today, a
// civil date as midnight UTC.
func (r Revision) Expired(today time.Time) bool {
	return !r.ValidUntil.IsZero() && today.After(r.ValidUntil)
}

// The ways a change to an estimate is refused.
var (
	ErrNoRevision   = errors.New("no such revision")
	ErrDraftOpen    = errors.New("a draft revision is open already")
	ErrNotDraft     = errors.New("only a draft can be changed: start a new revision")
	ErrNotWaiting   = errors.New("this revision is not waiting for an answer")
	ErrSuperseded   = errors.New("a newer revision has taken this one's place")
	ErrExpired      = errors.New("this revision's time for approval is over")
	ErrNotOptional  = errors.New("only optional lines can be left out")
	ErrOtherTotal   = errors.New("the total that was shown is not what these lines come to")
	ErrNotSaveable  = errors.New("the revision has problems")
	ErrAnswerFaulty = errors.New("the answer has problems")
)

// Estimate is all the revisions of one docket, lowest number first. Its
// methods return a changed copy and leave the receiver as it was.
type Estimate struct {
	Revisions []Revision
}

// Find returns the revision of that number.
func (e Estimate) Find(number int) (Revision, bool) {
	for _, r := range e.Revisions {
		if r.Number == number {
			return r, true
		}
	}
	return Revision{}, false
}

// OpenDraft returns the revision that is being drafted.
func (e Estimate) OpenDraft() (Revision, bool) { return e.last(Draft) }

// Waiting returns the revision that waits for the customer's answer.
func (e Estimate) Waiting() (Revision, bool) { return e.last(Sent) }

// InForce returns the approved revision that work goes by. It stays in force
// until another is approved: a customer who declines more work has not taken
// back what was agreed.
func (e Estimate) InForce() (Revision, bool) { return e.last(Approved) }

func (e Estimate) last(s State) (Revision, bool) {
	for _, r := range slices.Backward(e.Revisions) {
		if r.State == s {
			return r, true
		}
	}
	return Revision{}, false
}

// Begin adds a draft with the content of r under the next number, which it
// returns. The error is ErrDraftOpen while there is another draft.
func (e Estimate) Begin(r Revision) (Estimate, int, error) {
	if _, open := e.OpenDraft(); open {
		return e, 0, ErrDraftOpen
	}
	n := 1
	if len(e.Revisions) > 0 {
		n = e.Revisions[len(e.Revisions)-1].Number + 1
	}
	fresh := Revision{
		Number: n, Currency: r.Currency, Rule: r.Rule, State: Draft, Note: r.Note,
		ValidUntil: r.ValidUntil, Lines: slices.Clone(r.Lines),
	}
	for i := range fresh.Lines {
		fresh.Lines[i].ID, fresh.Lines[i].Declined = 0, false
	}
	return Estimate{Revisions: append(slices.Clone(e.Revisions), fresh)}, n, nil
}

// Edit gives the draft of that number the lines, note, rule and last day of r.
// The error is ErrNoRevision, or ErrNotDraft once it was sent.
func (e Estimate) Edit(number int, r Revision) (Estimate, error) {
	return e.change(number, func(was *Revision) error {
		if was.State != Draft {
			return ErrNotDraft
		}
		was.Currency, was.Rule, was.Lines = r.Currency, r.Rule, slices.Clone(r.Lines)
		was.Note, was.ValidUntil = r.Note, r.ValidUntil
		return nil
	})
}

// Send shows the draft of that number to the customer and supersedes any other
// revision that waits. The error is ErrNoRevision, ErrNotDraft, or
// ErrNotSaveable where Problems finds any or the last day is before today, a
// civil date as midnight UTC.
func (e Estimate) Send(number int, at, today time.Time) (Estimate, error) {
	next, err := e.change(number, func(r *Revision) error {
		switch {
		case r.State != Draft:
			return ErrNotDraft
		case len(r.Problems()) > 0 || r.Expired(today):
			return ErrNotSaveable
		}
		r.State, r.SentAt = Sent, at
		return nil
	})
	if err == nil {
		next.supersede(Sent, number)
	}
	return next, err
}

// Decide records the customer's answer. today is the civil date of the answer
// in the shop's time zone, as midnight UTC. Only the latest revision sent can
// be answered: the error is ErrSuperseded for an older one, ErrNotWaiting for
// one not sent or answered already, ErrExpired for an approval after its last
// day, ErrNotOptional, ErrOtherTotal for an approval by the link of another
// total than the lines agreed come to, ErrAnswerFaulty or ErrNoRevision. An
// approval supersedes the revision approved before.
func (e Estimate) Decide(a Answer, today time.Time) (Estimate, error) {
	next, err := e.change(a.Revision, func(r *Revision) error {
		switch {
		case r.State == Superseded:
			return ErrSuperseded
		case r.State != Sent:
			return ErrNotWaiting
		case len(a.Problems()) > 0:
			return ErrAnswerFaulty
		case a.Approve && r.Expired(today):
			return ErrExpired
		}
		return r.answer(a)
	})
	if err == nil && a.Approve {
		next.supersede(Approved, a.Revision)
	}
	return next, err
}

func (r *Revision) answer(a Answer) error {
	r.Answer = &a
	if !a.Approve {
		r.State = Declined
		return nil
	}
	sum, err := r.Without(a.DeclinedLines)
	if err != nil {
		return err
	}
	if a.By == ByLink && (a.ShownMinor == nil || *a.ShownMinor != sum.GrossMinor) {
		return ErrOtherTotal
	}
	for _, i := range a.DeclinedLines {
		r.Lines[i].Declined = true
	}
	if c := a.Consent; c != nil {
		if sum.GrossMinor != c.TotalMinor {
			return &TotalError{SaidMinor: c.TotalMinor, ComesToMinor: sum.GrossMinor}
		}
	}
	r.State = Approved
	return nil
}

// Without sums the lines of r but the optional ones at those indexes: what an
// approval that leaves them out agrees to. The error is ErrNotOptional for a
// line that can't be left out.
func (r Revision) Without(declined []int) (Totals, error) {
	lines := slices.Clone(r.Lines)
	for _, i := range declined {
		if i < 0 || i >= len(lines) || !lines[i].Optional {
			return Totals{}, ErrNotOptional
		}
		lines[i].Declined = true
	}
	r.Lines = lines
	return r.AgreedTotals()
}

// change applies f to a copy of the revision of that number.
func (e Estimate) change(number int, f func(*Revision) error) (Estimate, error) {
	at := slices.IndexFunc(e.Revisions, func(r Revision) bool { return r.Number == number })
	if at < 0 {
		return e, fmt.Errorf("revision %d: %w", number, ErrNoRevision)
	}
	next := Estimate{Revisions: slices.Clone(e.Revisions)}
	r := &next.Revisions[at]
	r.Lines = slices.Clone(r.Lines)
	if err := f(r); err != nil {
		return e, fmt.Errorf("revision %d: %w", number, err)
	}
	return next, nil
}

// supersede retires every revision in state s but the one of that number.
func (e Estimate) supersede(s State, but int) {
	for i := range e.Revisions {
		if r := &e.Revisions[i]; r.State == s && r.Number != but {
			r.State = Superseded
		}
	}
}

// WithinLimit reports whether work that comes to grossMinor may start without
// asking, the customer having set limitMinor; nil means always ask.
func WithinLimit(grossMinor int64, limitMinor *int64) bool {
	return limitMinor != nil && grossMinor <= *limitMinor
}

// What became of a revision, as the journal tells it; see [Answer.Done] for the customer's answer.
const (
	ToldDrafted   = "drafted"
	ToldSent      = "sent"
	ToldDiscarded = "thrown away"
)

// Summary is what the journal tells of r, of which that was done, with what the customer pays in all.
func (r Revision) Summary(done string) string {
	sum, _ := r.AgreedTotals() // what could not be summed was never kept
	return fmt.Sprintf("Estimate, revision %d, %s: %s %s.", r.Number, done, r.Currency,
		money.Plain(sum.GrossMinor, r.Currency))
}

// DraftProblems are the Problems of r and what else a draft must say: "valid_until".
func (r Revision) DraftProblems() map[string]string {
	bad := r.Problems()
	if r.ValidUntil.IsZero() {
		bad["valid_until"] = "Give the last day on which the estimate may be approved."
	}
	return bad
}
