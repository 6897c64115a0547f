package warranty

import (
	"errors"
	"strings"
	"time"
	"unicode/utf8"

	"ledgerwheel/domain/docket"
)

// Standing is what a card is worth when someone checks it.
type Standing string

// The standings.
const (
	Genuine    Standing = "genuine"
	Expired    Standing = "expired"    // genuine, but its term is over
	Superseded Standing = "superseded" // the shop issued another card in its place
	Void       Standing = "void"       // the shop declared it void
	Mistyped   Standing = "mistyped"   // no card has this code, but one has a code that differs by one slip
	Unknown    Standing = "unknown"    // the shop never issued it, or what is kept of it was altered
)

// Words is the standing as the check page says it.
func (s Standing) Words() string {
	switch s {
	case Genuine:
		return "This card is genuine and the warranty is running."
	case Expired:
		return "This card is genuine, but the warranty has ended."
	case Superseded:
		return "This card was replaced by a newer one and no longer counts."
	case Void:
		return "The shop has declared this card void."
	case Mistyped:
		return "This number looks mistyped: one character is wrong, or two are swapped."
	}
	return "This is no card of this shop."
}

// Fate is what became of a card after it was issued. Both are kept beside the card, which itself
// never changes.
type Fate struct {
	VoidedAt     time.Time // UTC; zero unless voided
	VoidReason   string    // for the shop only, never public
	SupersededBy Code      // the card issued in its place; empty if none
	SupersededAt time.Time // when that was, UTC
}

// ErrVoidReason reports that a card was to be voided without saying why.
var ErrVoidReason = errors.New("write why the card is void")

// ErrSpent reports that a card was already voided or superseded, and so can be neither voided nor reissued.
var ErrSpent = errors.New("this card is void or was replaced already")

// Voided returns the fate of a card voided at the time now. It returns [ErrSpent] or [ErrVoidReason].
func (f Fate) Voided(reason string, now time.Time) (Fate, error) {
	switch {
	case f.spent():
		return f, ErrSpent
	case strings.TrimSpace(reason) == "":
		return f, ErrVoidReason
	}
	f.VoidedAt, f.VoidReason = docket.Moment(now), strings.TrimSpace(reason)
	return f, nil
}

// ReplacedBy returns the fate of a card in whose place next was issued. It returns [ErrSpent].
func (f Fate) ReplacedBy(next Code) (Fate, error) {
	if f.spent() {
		return f, ErrSpent
	}
	f.SupersededBy = next
	return f, nil
}

func (f Fate) spent() bool { return !f.VoidedAt.IsZero() || f.SupersededBy != "" }

// PublicFacts are exactly what the check page may show to anyone. They name no person, no docket, no work
// and no price, and serials only in part. A card that does not stand shows less; an unknown one nothing.
type PublicFacts struct {
	Standing Standing
	Code     Code

	Shop      string    // empty for an unknown card
	StartsOn  time.Time // zero for an unknown card
	ExpiresOn time.Time

	// The rest is empty unless the card is genuine or expired.
	Maker, Model   string
	CaseSerial     string // see Masked
	MovementSerial string
	Covers         string
	MeanSPerDay    float64 // s/d
	DeltaSPerDay   float64 // s/d
	USPerDay       float64 // s/d, k = 2
	Verdict        string
}

// HasFigures reports whether the facts of the watch and its final run may be shown.
func (p PublicFacts) HasFigures() bool { return p.Standing == Genuine || p.Standing == Expired }

// Check judges the card that the shop keeps under code, on the civil date today, and returns what may be
// shown. Pass nil where the shop keeps no such card. Whatever is wrong with a kept card, its signature, its key or
// its code, makes it unknown; the returned error then says what, for the log only.
func Check(code Code, kept *Signed, fate Fate, keys KeySet, today time.Time) (PublicFacts, error) {
	unknown := PublicFacts{Standing: Unknown, Code: code}
	if kept == nil {
		return unknown, nil
	}
	c, err := keys.Verify(*kept)
	if err != nil {
		return unknown, err
	}
	if c.Code != code {
		return unknown, ErrSignature
	}
	return public(c, StandingOf(c, fate, today)), nil
}

// StandingOf judges a card whose signature holds, on the civil date today in the shop's time zone. A card both
// voided and past its term is void.
func StandingOf(c Card, fate Fate, today time.Time) Standing {
	switch {
	case !fate.VoidedAt.IsZero():
		return Void
	case fate.SupersededBy != "":
		return Superseded
	case today.After(c.ExpiresOn):
		return Expired
	}
	return Genuine
}

// public returns what may be shown of a card of the given standing.
func public(c Card, standing Standing) PublicFacts {
	p := PublicFacts{Standing: standing, Code: c.Code}
	if standing == Unknown {
		return p
	}
	p.Shop, p.StartsOn, p.ExpiresOn = c.Shop.Name, c.StartsOn, c.ExpiresOn
	if !p.HasFigures() {
		return p
	}
	p.Maker, p.Model = c.Watch.Maker, c.Watch.Model
	p.CaseSerial, p.MovementSerial = Masked(c.Watch.CaseSerial), Masked(c.Watch.MovementSerial)
	p.Covers = c.Covers
	p.MeanSPerDay, p.DeltaSPerDay, p.USPerDay = c.Final.MeanSPerDay, c.Final.DeltaSPerDay, c.Final.USPerDay
	p.Verdict = c.Final.Verdict
	return p
}

// Masked shows the end of a serial, enough to compare with a watch in the hand: its last four characters,
// but never more than half of it. An empty serial stays empty.
func Masked(serial string) string {
	if serial == "" {
		return ""
	}
	runes := []rune(serial)
	shown := min(4, utf8.RuneCountInString(serial)/2)
	return "\u2026" + string(runes[len(runes)-shown:])
}
