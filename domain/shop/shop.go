// Package shop holds the settings of the one shop that a house of Ledgerwheel serves: how it is
// called, where its clock stands, what money it takes, and by which rule it decides pass and fail.
package shop

import (
	"regexp"
	"slices"
	"strings"
	"sync"
	"time"

	"github.com/bojanz/currency"
	"golang.org/x/text/language"

	"ledgerwheel/domain/logo"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/taxnumber"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/till"
	"ledgerwheel/domain/warranty"
)

// Shop is the shop's settings. The zero value is not valid; see Defaults.
type Shop struct {
	Name             string
	Address          string // several lines
	Phone            string
	Email            string
	TimeZone         string // IANA name; all times are shown in it
	Locale           string // BCP 47; how money and numbers are written
	PhoneRegion      string // ISO 3166 two letters; region of a phone number typed without +
	Currency         string // ISO 4217
	TaxName          string
	TaxBasisPoints   int // usual rate, hundredths of a per cent
	PricesIncludeTax bool
	TaxNumber        string  // under which the shop is registered for VAT, tidied by taxnumber.Tidied; "" for none
	OtherTaxNumber   string  // another that the country asks for on invoices, as it is written there; "" for none
	SimpleAcceptance bool    // decide without a guard band
	Instrument       string  // the timing instrument that readings are usually typed from
	InstrumentPPM    float64 // half-width of its clock's error, parts per million, rectangular
	WarrantyMonths   int
	WarrantyCovers   string
	TicketTerms      string
	// The same two for customers who are spoken to in that language; empty where those above are for all.
	TicketTermsEn, TicketTermsDe, TicketTermsFr          string
	WarrantyCoversEn, WarrantyCoversDe, WarrantyCoversFr string
	Hours                                                Hours  // when the shop is open
	EstimateDays                                         int    // for how many days an estimate stands
	IdleMinutes                                          int    // minutes after which a session ends in which nothing is asked for
	SecondFactor                                         string // who must have a second factor to sign in, as staff.SecondAsked reads it
	// InvoiceYears is for how many years after their year invoices must be kept, as the owner confirmed for the place; 0
	// where that was not said.
	InvoiceYears int
	// BenchHourMinor is what an hour at the bench costs the shop, in minor units of Currency; 0 where the owner has not said.
	BenchHourMinor int64
	NoTicketRule   string    // what is asked of whoever collects without the ticket, a line for each; "" for no rule
	CertifiedTill  string    // whether the law asks for a certified till, as till.Certified reads it
	CardByClerk    bool      // standing order of the owner: clerks may issue warranty cards, see warranty.OrderProblem
	TaxSaid        bool      // the owner said whether tax is charged
	RulerMM        float64   // what the test print's ruler of 100 mm measured on the shop's printer; 0 where nobody measured
	Logo           logo.Name // printed at the head of papers; "" for none
	LogoNone       bool      // the owner said that no logo is wanted
	FirstStepsAway bool      // the owner put the list of first steps away
	LinkSecret     []byte    // key of private links; never shown
}

// Version is the settings as they stood from one saving to the next. None is ever changed: what was handed out under one
// goes on saying what it said.
type Version struct {
	Shop
	MadeAt time.Time // UTC
	MadeBy string    // "" for the settings that stood when versions began to be kept
}

// Defaults returns the settings that a new shop starts with, its name still blank.
// An uncalibrated instrument's clock is taken to be within 50 parts per million,
// the usual tolerance of an untrimmed quartz oscillator (common practice).
func Defaults() Shop {
	return Shop{
		TimeZone: "UTC", Locale: "en-GB", PhoneRegion: "GB", Currency: "EUR", TaxName: "VAT",
		PricesIncludeTax: true, InstrumentPPM: 50, WarrantyMonths: 12, EstimateDays: 30,
		IdleMinutes: staff.UsualIdleMinutes, SecondFactor: staff.SecondOfNobody,
		WarrantyCovers: "The work named on this card and the parts fitted. Not water, shocks, wear of strap or case, or " +
			"opening by others.",
		TicketTerms: "Please bring this ticket when you collect the watch. We work up to the limit you agreed and ask " +
			"before going beyond it. " +
			"Watches left for more than a year after we told you they are ready may be dealt with as the law allows.",
		// Common practice: a statement of the loss, a document, and a call to the customer.
		NoTicketRule: "Name on the document is the customer’s.\nStatement of the lost ticket signed.\n" +
			"Customer rung at the number on the docket.",
	}
}

// maxBenchHourMinor is the most that an hour at the bench may be said to cost.
const maxBenchHourMinor = 100_000_000

// MaxInvoiceYears is the longest time for which invoices may be said to be kept.
const MaxInvoiceYears = 30

var regionShape = regexp.MustCompile(`^[A-Z]{2}$`)

// Problems says, by form field, what stops s from being saved.
func (s Shop) Problems() map[string]string {
	bad := map[string]string{}
	if strings.TrimSpace(s.Name) == "" {
		bad["name"] = "Give the shop's name: it stands on the papers."
	}
	if _, err := time.LoadLocation(s.TimeZone); err != nil || s.TimeZone == "" || s.TimeZone == "Local" {
		bad["time_zone"] = "Give a time zone such as Europe/Zurich."
	}
	if _, err := language.Parse(s.Locale); err != nil {
		bad["locale"] = "Give a language and country such as en-GB."
	}
	if !regionShape.MatchString(s.PhoneRegion) {
		bad["phone_region"] = "Give the two capital letters of the country."
	}
	if !currency.IsValid(s.Currency) {
		bad["currency"] = "Give a three-letter currency code such as EUR."
	}
	if s.TaxBasisPoints < 0 || s.TaxBasisPoints > 10000 {
		bad["tax_rate"] = "Give a rate between 0 and 100 %."
	}
	if s.TaxNumber != "" {
		if why := taxnumber.Problem(s.TaxNumber); why != "" {
			bad["tax_number"] = why
		}
	}
	if text.TooLong(s.OtherTaxNumber, maxOtherTaxNumber) {
		bad["other_tax_number"] = "Keep the number to 40 characters."
	}
	if !(s.InstrumentPPM >= 0 && s.InstrumentPPM <= 1000) {
		bad["instrument_ppm"] = "Give parts per million between 0 and 1000."
	}
	if s.WarrantyMonths < 0 || s.WarrantyMonths > 120 {
		bad["warranty_months"] = "Give a whole number of months, 0 to 120."
	}
	for field, covers := range map[string]string{"warranty_covers": s.WarrantyCovers, "warranty_covers_en": s.WarrantyCoversEn,
		"warranty_covers_de": s.WarrantyCoversDe, "warranty_covers_fr": s.WarrantyCoversFr} {
		if why := warranty.CoversProblem(covers); why != "" {
			bad[field] = why
		}
	}
	if s.EstimateDays < 1 || s.EstimateDays > 365 {
		bad["estimate_days"] = "Give a number of days, 1 to 365."
	}
	if s.Logo != "" && !s.Logo.Valid() {
		bad["logo"] = "Choose the logo again."
	}
	if s.RulerMM != 0 && RulerProblem(s.RulerMM) != "" {
		bad["ruler_mm"] = RulerProblem(s.RulerMM)
	}
	if s.BenchHourMinor < 0 || s.BenchHourMinor > maxBenchHourMinor {
		bad["bench_hour"] = "Give what an hour costs the shop, or leave it blank."
	}
	if s.InvoiceYears < 0 || s.InvoiceYears > MaxInvoiceYears {
		bad["invoice_years"] = "Give a whole number of years, at most 30."
	}
	if why := staff.IdleProblem(s.IdleMinutes); why != "" {
		bad["idle_minutes"] = why
	}
	if asks := s.NoTicketAsks(); len(asks) > maxAsks || slices.ContainsFunc(asks, tooLongAsk) {
		bad["no_ticket_rule"] = "Keep it to 6 lines of at most 120 characters."
	}
	if why := till.SaidProblem(s.CertifiedTill); why != "" {
		bad["certified_till"] = why
	}
	if why := staff.SecondProblem(s.SecondFactor); why != "" {
		bad["second_factor"] = why
	}
	return bad
}

// maxOtherTaxNumber is in characters.
const maxOtherTaxNumber = 40

const (
	maxAsks    = 6
	maxAskSize = 120 // characters
)

func tooLongAsk(ask string) bool { return text.TooLong(ask, maxAskSize) }

// NoTicketAsks are the lines of the rule for whoever comes without the ticket, each a sentence.
func (s Shop) NoTicketAsks() []string {
	var asks []string
	for line := range strings.Lines(text.Lines(s.NoTicketRule)) {
		if line = strings.TrimSpace(line); line != "" {
			asks = append(asks, text.Sentence(line))
		}
	}
	return asks
}

var zones sync.Map // IANA name -> *time.Location; reading zone files for each page is slow

// Location returns the shop's time zone, or UTC when the stored name is unknown to this machine.
func (s Shop) Location() *time.Location { return LocationOf(s.TimeZone) }

// LocationOf is the time zone of an IANA name, or UTC when the name is unknown to this machine.
func LocationOf(name string) *time.Location {
	if loc, ok := zones.Load(name); ok {
		return loc.(*time.Location)
	}
	loc, err := time.LoadLocation(name)
	if err != nil {
		return time.UTC
	}
	zones.Store(name, loc)
	return loc
}
