package docket

import (
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"ledgerwheel/domain/tongue"
)

// Docket is one watch's stay in the shop: the job record.
type Docket struct {
	ID     int64
	Number Number
	Stage  Stage
	Place  Place
	// Version is the sequence of the journal's newest entry; a writer that holds an older one is refused.
	Version int64
	// Head is the hash of that entry.
	Head Hash

	Intake

	ReceivedAt time.Time // UTC
	// HandedBackAt is when the watch left with the customer, UTC; zero while the shop keeps it. Set in
	// the stages handed over, declined and withdrawn.
	HandedBackAt time.Time
	// WorkSince is when the watch was last worked on: when the docket entered service or regulation, or bench
	// work was recorded after that. TestSince is when it last entered final test, or was last worked on after.
	// Both UTC; zero if never. Older runs and tests no longer count (see [Facts]).
	WorkSince, TestSince time.Time
	// RateLimitsVersion is the version of the rate limits by which the docket is judged; 0 until the
	// first run is judged.
	RateLimitsVersion int64
	// OwnerReason is the owner's written reason for letting the watch go without a passed final test;
	// empty if none stands. It lapses when the docket is reopened (see [Move.Reopens]).
	OwnerReason string
}

// Closed reports whether the watch has left the shop, after which nothing on the docket moves.
func (d Docket) Closed() bool {
	return d.Stage == StageHandedOver || !d.HandedBackAt.IsZero()
}

// Overdue reports whether the watch was promised for a day before today and is neither ready nor gone.
// Both are civil dates in the shop's time zone at midnight UTC.
func (d Docket) Overdue(today time.Time) bool {
	return !d.PromisedOn.IsZero() && d.PromisedOn.Before(today) &&
		!d.Closed() && d.Stage != StageReady && !d.Stage.Exit()
}

// PromisedSoon reports whether the watch is promised for one of the seven days that begin with today, and is neither ready nor
// gone.
func (d Docket) PromisedSoon(today time.Time) bool {
	return !d.PromisedOn.IsZero() && !d.PromisedOn.Before(today) && d.PromisedOn.Before(today.AddDate(0, 0, 7)) &&
		!d.Closed() && d.Stage != StageReady && !d.Stage.Exit()
}

// Delayed reports whether a promise for the civil day to is later than the one that stands, for a watch that is still
// worked on.
func (d Docket) Delayed(to time.Time) bool {
	return !d.PromisedOn.IsZero() && to.After(d.PromisedOn) && !d.Closed() && d.Stage != StageReady && !d.Stage.Exit()
}

// RelocateProblems says, by form field, what stops the watch being put at p without a change of stage.
func (d Docket) RelocateProblems(p Place) map[string]string {
	bad := p.Problems()
	switch {
	case d.Closed():
		bad["place"] = "The watch has left the shop, so this docket is closed."
	case p.Kind == PlaceCustomer:
		bad["place"] = "A watch goes to its customer by handing it over."
	}
	return bad
}

// Intake is what the counter records when it takes in a watch.
type Intake struct {
	CustomerID int64
	WatchID    int64
	// Complaint is what is wrong, in the customer's words.
	Complaint string
	Wanted    Wanted
	// OrderNumber is the number that a firm gives its order; "" for none.
	OrderNumber string
	// Currency is the ISO 4217 code of every amount on the docket.
	Currency string
	// DeclaredValueMinor is what the customer says the watch is worth, in minor units, for the shop's
	// insurance; nil if not declared.
	DeclaredValueMinor *int64
	// ApprovalLimitMinor is the total, tax included, up to which work may start without asking the
	// customer, in minor units; nil means always ask. 0 allows work that costs the customer nothing.
	ApprovalLimitMinor *int64
	// ReceivedOn and PromisedOn are civil dates in the shop's time zone, kept as midnight UTC. A zero
	// PromisedOn means that nothing was promised.
	ReceivedOn time.Time
	PromisedOn time.Time
	// Tongue is the language of the papers that the customer gets, chosen at taking in; "" is English.
	Tongue tongue.Tongue
	// WarrantyOf is the docket this one comes back from under warranty; 0 if it is no comeback.
	WarrantyOf int64
}

// Comeback reports whether the watch returns under warranty.
func (in Intake) Comeback() bool { return in.WarrantyOf != 0 }

const (
	maxComplaint   = 4000 // characters
	maxOrderNumber = 60
	maxAmountMinor = 99_999_999_999 // a typing slip beyond any watch
	maxPromiseDays = 2 * 366        // a year typed wrongly
)

// Problems says, by form field, what stops the intake being saved.
func (in Intake) Problems() map[string]string {
	bad := map[string]string{}
	if in.CustomerID <= 0 {
		bad["customer"] = "Choose the customer, or add a new one."
	}
	if in.WatchID <= 0 {
		bad["watch"] = "Choose the watch, or add a new one."
	}
	switch {
	case strings.TrimSpace(in.Complaint) == "":
		bad["complaint"] = "Write down what the customer says is wrong."
	case utf8.RuneCountInString(in.Complaint) > maxComplaint:
		bad["complaint"] = "Keep the complaint to 4000 characters."
	}
	if utf8.RuneCountInString(in.OrderNumber) > maxOrderNumber {
		bad["order_number"] = "Keep the order number to 60 characters."
	}
	if !in.Wanted.Known() {
		bad["service_wanted"] = "Choose the service wanted."
	}
	if !currencyShape(in.Currency) {
		bad["currency"] = "Give a currency code of three letters, such as EUR."
	}
	amountProblem(bad, "declared_value", in.DeclaredValueMinor)
	amountProblem(bad, "approval_limit", in.ApprovalLimitMinor)
	if in.Tongue != "" && !in.Tongue.Known() {
		bad["tongue"] = "Choose one of the languages listed."
	}
	in.dateProblems(bad)
	if in.WarrantyOf < 0 {
		bad["warranty_of"] = "Choose the docket the watch comes back from."
	}
	return bad
}

func (in Intake) dateProblems(bad map[string]string) {
	if in.ReceivedOn.IsZero() {
		bad["received_on"] = "Give the day the watch was taken in."
		return
	}
	switch {
	case in.PromisedOn.IsZero():
	case in.PromisedOn.Before(in.ReceivedOn):
		bad["promised_on"] = "The promised day lies before the day the watch was taken in."
	case in.PromisedOn.Sub(in.ReceivedOn) > maxPromiseDays*24*time.Hour:
		bad["promised_on"] = "The promised day lies more than two years ahead; check the year."
	}
}

func amountProblem(bad map[string]string, field string, minor *int64) {
	switch {
	case minor == nil:
	case *minor < 0:
		bad[field] = "An amount can't be less than nothing."
	case *minor > maxAmountMinor:
		bad[field] = "That amount is too large; check the zeros."
	}
}

func currencyShape(code string) bool {
	if len(code) != 3 {
		return false
	}
	for i := range len(code) {
		if code[i] < 'A' || code[i] > 'Z' {
			return false
		}
	}
	return true
}

// Wanted is the service the customer asks for at the counter. The value is the slug kept in the database.
type Wanted string

// The services wanted. What is done in the end follows from the diagnosis and the estimate.
const (
	WantedService    Wanted = "full-service"
	WantedRepair     Wanted = "repair"
	WantedRegulation Wanted = "regulation"
	WantedCase       Wanted = "case-and-seals"
	WantedAdvice     Wanted = "advice"
	WantedWarranty   Wanted = "warranty"
)

// WantedServices returns every service, in the order in which the form offers them.
func WantedServices() []Wanted {
	return []Wanted{WantedService, WantedRepair, WantedRegulation, WantedCase, WantedAdvice, WantedWarranty}
}

// Known reports whether w is a service the shop offers.
func (w Wanted) Known() bool { return slices.Contains(WantedServices(), w) }

// Label is w in plain words.
func (w Wanted) Label() string {
	switch w {
	case WantedService:
		return "full service"
	case WantedRepair:
		return "repair of the fault"
	case WantedRegulation:
		return "regulation only"
	case WantedCase:
		return "case, crystal and seals"
	case WantedAdvice:
		return "diagnosis and advice"
	case WantedWarranty:
		return "back under warranty"
	}
	return "not stated"
}
