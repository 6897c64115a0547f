package docket

import (
	"slices"
	"strconv"
	"strings"

	"ledgerwheel/domain/figure"
)

// Term is how one kind of fact in the journal is told. Entries are hashed as they were written, so the words, units and
// digits in which people read them are decided here, when they are shown.
type Term struct {
	Key   string // in an entry's facts
	Words string // begin with a small letter, unless a name does
	Unit  string // of a number; "" for none
	// Decimals is the most that a number shows: what lies beyond means nothing, however many digits were kept.
	Decimals int
	Signed   bool // a number above zero has a plus
	Of       FactSort
	// Lead says what a line of a list is about, and stands before the rest of it; Bare stands in such a line without its
	// words.
	Lead, Bare bool
}

// FactSort says what a fact's value is, where that changes how it is told.
type FactSort uint8

// The sorts.
const (
	AsWritten    FactSort = iota
	FigureWords           // words of the program with figures in them: a hyphen may stand for a minus
	MinorUnits            // an amount in the entry's currency
	StageSlug             // a stage, or any other words
	HazardSlug            // a hazard
	CalibreField          // the name of a calibre's field
	MachineOnly           // the program's own: another fact says the same to people
)

// terms are in the order in which an entry's facts are shown.
var terms = [...]Term{
	// What a line of a list is about goes first.
	{Key: "test", Words: "test", Lead: true},
	{Key: "criterion", Words: "criterion", Lead: true},
	{Key: "description", Words: "description", Lead: true},
	{Key: "what", Words: "what", Lead: true},
	{Key: "field", Words: "field of the calibre", Lead: true, Of: CalibreField},
	{Key: "run", Words: "run", Lead: true},

	{Key: "clock set back", Words: "clock set back"},

	// What was handed over and said.
	{Key: "customer", Words: "customer"},
	{Key: "brought before by", Words: "brought before by"},
	{Key: "order number", Words: "their order number"},
	{Key: "visit", Words: "visit"},
	{Key: "taken in with", Words: "taken in with"},
	{Key: "value", Words: "value"},
	{Key: "deposit", Words: "deposit"},
	{Key: "deposit_returned", Words: "given back of the deposit"},
	{Key: "parcel", Words: "parcel"},
	{Key: "parcel number", Words: "number of the parcel"},
	{Key: "sender", Words: "sender"},
	{Key: "contents", Words: "contents"},
	{Key: "photographs", Words: "photographs"},
	{Key: "carrier", Words: "carrier"},
	{Key: "insured up to", Words: "insured up to"},
	{Key: "cell", Words: "cell"},
	{Key: "carrier asked about radium", Words: "carrier asked about radium"},
	{Key: "consent of", Words: "consent of"},
	{Key: "proof of posting", Words: "proof of posting"},
	{Key: "maker", Words: "maker"},
	{Key: "model", Words: "model"},
	{Key: "reference", Words: "reference"},
	{Key: "serial", Words: "serial"},
	{Key: "movement serial", Words: "movement serial"},
	{Key: "calibre", Words: "calibre"},
	{Key: "case material", Words: "case material"},
	{Key: "strap", Words: "strap"},
	{Key: "lume", Words: "luminous paint"},
	{Key: "winding", Words: "winding"},
	{Key: "water resistance marked", Words: "water resistance marked"},
	{Key: "complaint", Words: "complaint"},
	{Key: "service wanted", Words: "service wanted"},
	{Key: "declared value", Words: "declared value"},
	{Key: "approval limit", Words: "approval limit"},
	{Key: "promised for", Words: "promised for"},
	{Key: "day proposed", Words: "day proposed"},
	{Key: "proposed from", Words: "proposed"},
	{Key: "chance of the promised day", Words: "chance of the promised day"},
	{Key: "first day", Words: "first day"},
	{Key: "last day", Words: "last day"},
	{Key: "every year", Words: "every year"},
	{Key: "language of papers", Words: "language of papers"},
	{Key: "comeback of", Words: "comes back from docket"},
	{Key: "came back as", Words: "came back as docket"},
	{Key: "brought_back_by", Words: "brought back by"},
	{Key: "found_of_it", Words: "what was found"},
	{Key: "warranty", Words: "under warranty"},
	{Key: "warranty_why", Words: "why, as the customer reads it"},
	{Key: "marks", Words: "marks"},
	{Key: "no marks seen", Words: "no marks seen on"},
	{Key: "agreement", Words: "agrees with the shop’s list as"},

	// How the record check began.
	{Key: "dockets brought in", Words: "dockets brought in"},
	{Key: "earlier entries brought in", Words: "earlier entries brought in"},
	{Key: "rows brought in", Words: "rows brought in"},
	{Key: "sum of what was brought in", Words: "sum of what was brought in"},

	// People's data.
	{Key: "rows", Words: "rows that went over"},
	{Key: "places replaced", Words: "places replaced in free text"},
	{Key: "entries that keep words", Words: "entries that keep the words under their seal"},

	// Where and how far.
	{Key: "from", Words: "from", Of: StageSlug},
	{Key: "to", Words: "to", Of: StageSlug},
	{Key: "until", Words: "until"},
	{Key: "place", Words: "place"},
	{Key: "in_hand", Words: "in hand of"},
	{Key: "without", Words: "let pass without"},
	{Key: "collected_by", Words: "collected by"},
	{Key: "ticket", Words: "ticket"},
	{Key: "without_ticket_checked_by", Words: "without ticket, checked by"},
	{Key: "shown", Words: "shown"},
	{Key: "asked_by_the_house_and_done", Words: "asked by the house and done"},
	{Key: "handed_over_with", Words: "handed over at once with"},
	{Key: "addressee", Words: "to"},
	{Key: "title", Words: "heading"},
	{Key: "posted_on", Words: "posted on"},
	{Key: "post_number", Words: "number of the posting"},
	{Key: "photograph", Words: "photograph no."},
	{Key: "law", Words: "law"},
	{Key: "wait_before_the_notice", Words: "wait before the notice"},
	{Key: "notice_runs", Words: "notice runs"},
	{Key: "notice_runs_unowed", Words: "notice runs where nothing is owed"},
	{Key: "goes_by", Words: "goes by"},
	{Key: "standing_order", Words: "under the owner’s standing order"},
	{Key: "old_parts", Words: "old parts"},
	{Key: "parts", Words: "parts"},

	{Key: "photographs_of_the_parcel_removed", Words: "photographs of the parcel removed"},

	// Photographs, links, cards.
	{Key: "photograph", Words: "photograph no."},
	{Key: "about", Words: "about"},
	{Key: "caption", Words: "caption"},
	{Key: "customer_sees", Words: "the customer sees it"},
	{Key: "link", Words: "private link no."},
	{Key: "expires", Words: "ends on"},
	{Key: "card", Words: "card"},
	{Key: "in_place_of", Words: "in place of card"},
	{Key: "signed_statement", Words: "signed statement"},
	{Key: "work_done", Words: "work done"},
	{Key: "covers", Words: "covers"},

	// Diagnosis, parts, service.
	{Key: "hazard", Words: "hazard", Of: HazardSlug},
	{Key: "cautions", Words: "cautions"},
	{Key: "component", Words: "component"},
	{Key: "fault", Words: "fault"},
	{Key: "severity", Words: "severity"},
	{Key: "part", Words: "part"},
	{Key: "token_ends_with", Words: "token ends with"},
	{Key: "token_may", Words: "it may"},
	{Key: "token_until", Words: "until"},
	{Key: "supplier", Words: "supplier"},
	{Key: "state", Words: "state"},
	{Key: "old_part", Words: "old part"},
	{Key: "who_pays", Words: "who pays"},
	{Key: "why_so", Words: "why so, or which line"},
	{Key: "steps", Words: "steps"},
	{Key: "lubricants", Words: "lubricants"},
	{Key: "time", Words: "time"},

	// Money.
	{Key: "revision", Words: "revision"},
	{Key: "kind", Words: "kind", Bare: true},
	{Key: "quantity", Words: "quantity"},
	{Key: "part_number", Words: "number of the part", Lead: true},
	{Key: "unit", Words: "counted by"},
	{Key: "drawer", Words: "drawer"},
	{Key: "cost_minor", Words: "costs the shop", Of: MinorUnits},
	{Key: "moves", Words: "moves"},
	{Key: "move", Words: "move", Lead: true},
	{Key: "pieces", Words: "pieces"},
	{Key: "lot", Words: "lot", Of: MachineOnly},
	{Key: "on_hand", Words: "in the drawer"},
	{Key: "counted", Words: "counted"},
	{Key: "in_the_book", Words: "in the book"},
	{Key: "reserved", Words: "reserved"},
	{Key: "supplier_email", Words: "e-mail address"},
	{Key: "account", Words: "our number there"},
	{Key: "purchase_order", Words: "order", Lead: true},
	{Key: "ordered_lines", Words: "parts ordered"},
	{Key: "events", Words: "what happened"},
	{Key: "happened", Words: "what happened", Lead: true},
	{Key: "docket", Words: "for docket"},
	{Key: "due", Words: "expected"},
	{Key: "fate", Words: "what became of it"},
	{Key: "lead_days", Words: "from order to arrival", Unit: "d"},
	{Key: "job_code", Words: "code of the job", Lead: true},
	{Key: "name_de", Words: "name in German"},
	{Key: "name_fr", Words: "name in French"},
	{Key: "windings", Words: "for watches driven"},
	{Key: "minutes", Words: "usual time", Unit: "min"},
	{Key: "usual_parts", Words: "usual parts"},
	{Key: "prices", Words: "prices"},
	{Key: "from_day", Words: "from", Lead: true},
	{Key: "unit_minor", Words: "unit price", Of: MinorUnits},
	{Key: "tax_percent", Words: "tax", Unit: "%"},
	{Key: "optional", Words: "the customer may leave it out"},
	{Key: "left_out", Words: "left out by the customer"},
	{Key: "lines", Words: "lines"},
	{Key: "currency", Words: "currency"},
	{Key: "invoice", Words: "number"},
	{Key: "before_number", Words: "before the number"},
	{Key: "digits", Words: "digits"},
	{Key: "yearly", Words: "begins again each year"},
	{Key: "usual", Words: "the usual one"},
	{Key: "usual_for_credit_notes", Words: "the usual one for credit notes"},
	{Key: "used_no_longer", Words: "used no longer"},
	{Key: "answers", Words: "answers"},
	{Key: "net_minor", Words: "without tax", Of: MinorUnits},
	{Key: "set_off", Words: "deposits taken off"},
	{Key: "treatment", Words: "taxed"},
	{Key: "gross_minor", Words: "total", Of: MinorUnits},
	{Key: "tax_minor", Words: "tax", Of: MinorUnits},
	{Key: "prices_include_tax", Words: "prices include tax"},
	{Key: "valid_until", Words: "good until"},
	{Key: "answer", Words: "answer"},
	{Key: "name", Words: "name"},
	{Key: "way", Words: "given"},
	{Key: "was_minor", Words: "was", Of: MinorUnits},
	{Key: "now_minor", Words: "now", Of: MinorUnits},
	{Key: "allowed_minor", Words: "agreed up to", Of: MinorUnits},
	{Key: "above_that", Words: "more than that"},
	{Key: "minor", Words: "amount", Of: MinorUnits},
	{Key: "method", Words: "paid by"},
	{Key: "given_minor", Words: "cash given", Of: MinorUnits},
	{Key: "change_minor", Words: "change", Of: MinorUnits},
	{Key: "rounded_minor", Words: "rounded in cash", Of: MinorUnits},
	{Key: "still_due_minor", Words: "still to pay", Of: MinorUnits},
	{Key: "paid_with", Words: "paid at once with"},
	{Key: "till_day", Words: "day of the till"},
	{Key: "opened_minor", Words: "cash in the morning", Of: MinorUnits},
	{Key: "book_minor", Words: "cash by the book", Of: MinorUnits},
	{Key: "since_minor", Words: "cash of later days", Of: MinorUnits},
	{Key: "counted_minor", Words: "cash counted", Of: MinorUnits},
	{Key: "difference_minor", Words: "difference", Of: MinorUnits},
	{Key: "owed_minor", Words: "owed by customers", Of: MinorUnits},
	{Key: "takings", Words: "takings"},
	{Key: "accounts", Words: "accounts"},
	{Key: "account_of", Words: "account", Lead: true},
	{Key: "account_number", Words: "number"},
	{Key: "account_name", Words: "name"},
	{Key: "counted_pieces", Words: "coins and notes"},
	{Key: "worth_minor", Words: "worth", Of: MinorUnits},

	// Runs.
	{Key: "kept_as", Words: "kept as"},
	{Key: "tool", Words: "bench tool"},
	{Key: "tool_address", Words: "address of the tool", Of: MachineOnly},
	{Key: "typed", Words: "as typed", Of: MachineOnly},
	{Key: "inputs", Words: "given", Of: FigureWords},
	{Key: "at", Words: "at", Lead: true},
	{Key: "figure", Words: "figure", Lead: true, Of: FigureWords},
	{Key: "outcome", Words: "outcome", Bare: true},
	{Key: "why_corrected", Words: "why corrected"},
	{Key: "figures", Words: "figures", Bare: true, Of: FigureWords},
	{Key: "was", Words: "was", Of: FigureWords},
	{Key: "before", Words: "before"},
	{Key: "now", Words: "now", Of: FigureWords},
	{Key: "corrected", Words: "corrected"},
	{Key: "instrument", Words: "instrument"},
	{Key: "clock_within_ppm", Words: "its clock is right to within ±", Unit: "ppm", Decimals: 2},
	{Key: "temperature_c", Words: "temperature", Unit: "°C", Decimals: 1},
	{Key: "crown_at", Words: "crown at", Unit: "o’clock"},
	{Key: "touched", Words: "touched before it"},
	{Key: "round", Words: "round of poising"},
	{Key: "done_before", Words: "done before it"},
	{Key: "says", Words: "says", Of: FigureWords},
	{Key: "states_of_wind_h", Words: "hours after winding", Unit: "h"},
	{Key: "readings", Words: "readings"},
	{Key: "replaced", Words: "in place of", Of: FigureWords},
	{Key: "changes", Words: "changes"},
	{Key: "judged_by", Words: "judged by"},
	{Key: "rule", Words: "rule of decision"},
	{Key: "verdicts", Words: "verdicts"},
	{Key: "verdict", Words: "verdict"},
	{Key: "results", Words: "results"},

	// Trials.
	{Key: "category", Words: "category"},
	{Key: "rates_by", Words: "rates by"},
	{Key: "time_zone", Words: "time zone"},
	{Key: "decided_by", Words: "decided by"},
	{Key: "first_day", Words: "first day"},
	{Key: "day", Words: "day"},
	{Key: "days_read", Words: "days read"},
	{Key: "version", Words: "version"},
	{Key: "read", Words: "read", Of: FigureWords},
	{Key: "read_at", Words: "read at"},
	{Key: "read_within_s", Words: "read together to within ±", Unit: "s", Decimals: 2},
	{Key: "functions_engaged", Words: "functions engaged"},
	{Key: "why_corrected", Words: "corrected because"},
	{Key: "time_zone", Words: "time zone"},
	{Key: "decided_by", Words: "decided by"},
	{Key: "settled", Words: "settled", Of: FigureWords},
	{Key: "simple_acceptance", Words: "by simple acceptance"},
	{Key: "criteria", Words: "criteria"},
	{Key: "standing", Words: "stands", Bare: true},

	// Recordings.
	{Key: "recording", Words: "recording"},
	{Key: "recorder", Words: "recorder"},
	{Key: "recorder_id", Words: "number of the recorder", Of: MachineOnly},
	{Key: "position", Words: "position"},
	{Key: "from_hours_after_winding", Words: "from, hours after winding", Unit: "h", Decimals: 1},
	{Key: "to_hours_after_winding", Words: "to, hours after winding", Unit: "h", Decimals: 1},
	{Key: "power_reserve_h", Words: "power reserve", Unit: "h", Decimals: 1},
	{Key: "rate_s_per_day", Words: "rate", Unit: "s/d", Decimals: 2, Signed: true},
	{Key: "rate_std_s_per_day", Words: "its standard uncertainty", Unit: "s/d", Decimals: 2},
	{Key: "rate_fit_std_s_per_day", Words: "of which the recording’s own", Unit: "s/d", Decimals: 2},
	{Key: "amplitude_deg", Words: "amplitude", Unit: "°", Decimals: 1},
	{Key: "amplitude_std_deg", Words: "its standard uncertainty", Unit: "°", Decimals: 1},
	{Key: "beat_error_ms", Words: "beat error, plus where tick to tock is longer", Unit: "ms", Decimals: 2, Signed: true},
	{Key: "beat_error_std_ms", Words: "its standard uncertainty", Unit: "ms", Decimals: 2},
	{Key: "beats_per_hour", Words: "beats per hour", Decimals: 2},
	{Key: "beats_per_hour_stated", Words: "beats per hour were stated"},
	{Key: "lift_angle_deg", Words: "lift angle", Unit: "°", Decimals: 1},
	{Key: "lift_angle_assumed", Words: "lift angle was assumed"},
	{Key: "lift_angle_u95_deg", Words: "its uncertainty, ±", Unit: "°", Decimals: 2},
	{Key: "clock_ppm", Words: "the recorder’s clock, plus where fast", Unit: "ppm", Decimals: 2, Signed: true},
	{Key: "clock_std_ppm", Words: "its standard uncertainty", Unit: "ppm", Decimals: 2},
	{Key: "beats_used", Words: "beats used"},
	{Key: "beats_missed", Words: "beats missed"},
	{Key: "snr_db", Words: "loudness above the noise", Unit: "dB", Decimals: 1},
	{Key: "seconds", Words: "length", Unit: "s", Decimals: 1},
	{Key: "sample_rate_hz", Words: "samples a second"},
	{Key: "notes", Words: "remarks"},
	{Key: "code", Words: "code", Of: MachineOnly},
	{Key: "text", Words: "text", Bare: true},
	{Key: "sound", Words: "sound"},
	{Key: "sha256", Words: "SHA-256 of the file"},
	{Key: "bytes", Words: "size", Unit: "bytes"},
	{Key: "format", Words: "format", Bare: true},
	{Key: "correction", Words: "correction"},
	{Key: "by", Words: "by"},
	{Key: "message", Words: "message"},
	{Key: "sent_to", Words: "sent to"},
	{Key: "number_called", Words: "number"},
	{Key: "spoke_to", Words: "spoke with"},
	{Key: "words", Words: "words"},
	{Key: "instead_of", Words: "instead of message"},
	{Key: "subject", Words: "subject"},
	{Key: "short_form", Words: "short form"},
	{Key: "not_collected_days", Words: "not collected after", Unit: "days"},
	{Key: "warranty_days", Words: "before a warranty ends", Unit: "days"},
	{Key: "service_years", Words: "after a service", Unit: "years"},
	{Key: "agreed_at", Words: "agreed at"},
	{Key: "called_by", Words: "called by"},
	{Key: "added", Words: "added"},
	{Key: "agreed_minor", Words: "new total agreed", Of: MinorUnits},
	{Key: "tries", Words: "tries"},
	{Key: "as_found", Words: "as found"},
	{Key: "as_corrected", Words: "as corrected"},
	{Key: "unlocking_ms", Words: "unlocking", Unit: "ms", Decimals: 2, Signed: true},
	{Key: "drop_ms", Words: "drop", Unit: "ms", Decimals: 2, Signed: true},
	{Key: "amplitude_as_found_deg", Words: "amplitude as found", Unit: "°", Decimals: 1},
	{Key: "beat_error_as_found_ms", Words: "beat error as found", Unit: "ms", Decimals: 2, Signed: true},
	{Key: "piece", Words: "part of the recording"},
	{Key: "right_watch", Words: "said to be the right watch"},
	{Key: "at_s", Words: "its middle, from the start", Unit: "s"},
	{Key: "beats", Words: "beats"},
	{Key: "hours_after_winding_at_the_start", Words: "hours after winding at the start", Unit: "h", Decimals: 1},

	// Last, what was asked and what was added in words.
	{Key: "asked", Words: "asked and confirmed", Of: FigureWords},
	{Key: "question", Words: "question"},
	{Key: "note", Words: "note"},
}

// TermOf returns how the facts under a key are told. known is false for a key without a term, which is told by its own
// name, made words.
func TermOf(key string) (t Term, known bool) {
	if i := slices.IndexFunc(terms[:], func(t Term) bool { return t.Key == key }); i >= 0 {
		return terms[i], true
	}
	return Term{Key: key, Words: keyWords(key)}, false
}

// Order is the place of a key among the facts of an entry; keys without a term come last.
func Order(key string) int {
	if i := slices.IndexFunc(terms[:], func(t Term) bool { return t.Key == key }); i >= 0 {
		return i
	}
	return len(terms)
}

// keyWords puts blanks between the words of a key.
func keyWords(key string) string {
	return strings.TrimSpace(strings.NewReplacer("_", " ", "-", " ").Replace(key))
}

// Number tells a number, written as JSON has it, with its unit: rounded to the term's decimals, never with more than
// were written. What is no number stays as it is.
func (t Term) Number(written string) string {
	number := written
	if x, err := strconv.ParseFloat(written, 64); err == nil {
		number = figure.Plain(x)
		_, fraction, _ := strings.Cut(number, ".")
		if _, known := TermOf(t.Key); known && len(fraction) > t.Decimals {
			number = strconv.FormatFloat(x, 'f', t.Decimals, 64)
		}
	}
	number = figure.Printed(number, t.Signed)
	switch t.Unit {
	case "":
		return number
	case "°":
		return number + t.Unit
	}
	return number + "\u00a0" + t.Unit
}
