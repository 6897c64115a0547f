// Package uncollected counts how long a finished watch has waited for its customer, and says what the profile of the place
// that the owner confirmed asks next. It is no legal advice and decides nothing: what becomes of a watch is the owner's to
// decide, with advice.
package uncollected

import (
	"fmt"
	"strings"
	"time"

	"ledgerwheel/domain/text"
)

// Span is a wait in calendar months, days, or both. The zero Span is a wait that nobody fixed.
type Span struct {
	Months int `json:"months,omitempty"`
	Days   int `json:"days,omitempty"`
}

// Fixed reports whether s says anything.
func (s Span) Fixed() bool { return s != Span{} }

// After is the last day of the wait that begins on the civil day from: the same day of a later month, or that month's last
// day where it has none such (as BGB 188(3) counts), and so many days further.
func (s Span) After(from time.Time) time.Time {
	y, m, d := from.Date()
	first := time.Date(y, m+time.Month(s.Months), 1, 0, 0, 0, 0, time.UTC)
	last := first.AddDate(0, 1, -1).Day()
	return first.AddDate(0, 0, min(d, last)-1+s.Days)
}

// Words says s in words, such as "6 months" or "1 year".
func (s Span) Words() string {
	var said []string
	switch {
	case s.Months > 0 && s.Months%12 == 0:
		said = append(said, counted(s.Months/12, "year"))
	case s.Months > 0:
		said = append(said, counted(s.Months, "month"))
	}
	if s.Days > 0 {
		said = append(said, counted(s.Days, "day"))
	}
	if len(said) == 0 {
		return "no time fixed"
	}
	return strings.Join(said, " and ")
}

func counted(n int, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	return fmt.Sprintf("%d %ss", n, thing)
}

// Key names a profile. The value is kept in the database, so none is ever renamed.
type Key string

// The profiles. Own has the waits that the owner typed.
const (
	UK           Key = "uk"
	Germany      Key = "de"
	France       Key = "fr"
	Connecticut  Key = "us-ct"
	NewHampshire Key = "us-nh"
	Georgia      Key = "us-ga"
	Own          Key = "own"
)

// Profile is what the law of a place is taken to ask before anything is done with a watch that nobody collects. Its numbers
// are a starting point to be held against the law by whoever confirms them.
type Profile struct {
	Key    Key    `json:"key"`
	Place  string `json:"place"`
	Source string `json:"source"` // the law, and where its numbers were read
	// Memory says which of it comes from memory and was read nowhere.
	Memory string `json:"from_memory,omitempty"`
	// Collect is after how long the customer is first reminded: common practice, no law.
	Collect Span `json:"collect"`
	// Wait is how long the watch must have been ready before the formal notice.
	Wait Span `json:"wait"`
	// Notice is how long the formal notice must run where money is owed, Unowed where none is; not fixed where the law has no
	// number.
	Notice Span `json:"notice"`
	Unowed Span `json:"notice_unowed"`
	// OnlyOwed says that the law is about goods for which money is owed.
	OnlyOwed bool `json:"only_owed,omitempty"`
	// ThirdOfValueOver is, in minor units of Currency, the value above which the charges must come to a third of it; 0 for no
	// such rule.
	ThirdOfValueOver int64    `json:"third_of_value_over,omitempty"`
	Currency         string   `json:"currency,omitempty"`
	Form             string   `json:"form"`   // how the formal notice goes
	States           []string `json:"states"` // what it states
	Also             []string `json:"also,omitempty"`
}

// usual is when a customer is first reminded: common practice.
var usual = Span{Days: 14}

// Profiles are the ones that the program brings, without Own. Each has its source beside it.
func Profiles() []Profile {
	return []Profile{
		{Key: UK, Place: "United Kingdom, except Scotland",
			Source:  "Torts (Interference with Goods) Act 1977, sections 12 and 13 and Schedule 1; read in extract (uosb.co.uk, Uncollected Goods)",
			Memory:  "That no notice is given while the bill is disputed (Schedule 1, paragraph 7).",
			Collect: usual, Notice: Span{Months: 3}, Form: "registered post or recorded delivery",
			States: []string{"your name and address", "the watch", "where it is kept", "since when it is ready",
				"from which day you intend to act", "the sum that is owed"},
			Also: []string{"Where nothing is owed the notice runs for a reasonable time; the law names no number.",
				"What is left after your costs belongs to the customer.",
				"Whoever was not the owner can't pass the watch on (section 12)."}},
		{Key: Germany, Place: "Germany",
			Source: "BGB sections 647, 1257 and 1234; read in extract (lexexakt.de, Unternehmerpfandrecht)",
			Memory: "That no time is fixed before the notice.", Collect: usual, Notice: Span{Months: 1}, OnlyOwed: true,
			Form: "a notice whose arrival you can prove", States: []string{"the sum that is owed", "the watch"},
			Also: []string{"The lien is for what is owed on this watch, and storage may not count."}},
		{Key: France, Place: "France", Source: "Loi du 31 décembre 1903; read in extract",
			Collect: usual, Wait: Span{Months: 12}, Notice: Span{Days: 8}, Unowed: Span{Days: 8}, Form: "registered letter",
			States: []string{"the watch", "the day and place of the auction"},
			Also:   []string{"A court's order comes first, and the auction is public: the 8 days are before it."}},
		{Key: Connecticut, Place: "Connecticut", Source: "General Statutes section 49-60; read in extract",
			Collect: usual, Wait: Span{Months: 6}, Notice: Span{Days: 30}, OnlyOwed: true, ThirdOfValueOver: 10000, Currency: "USD",
			Form: "registered letter", States: []string{"the watch", "the sum that is owed"},
			Also: []string{"More than six months unpaid. What is left goes to the State Treasurer within 10 days."}},
		{Key: NewHampshire, Place: "New Hampshire", Source: "RSA chapter 451; read in extract",
			Collect: usual, Wait: Span{Days: 90}, Notice: Span{Days: 30}, OnlyOwed: true, Form: "certified letter",
			States: []string{"the watch", "the sum that is owed"}},
		{Key: Georgia, Place: "Georgia, United States", Source: "Code section 44-14-430; read in extract",
			Collect: usual, Wait: Span{Months: 12}, Notice: Span{Days: 30}, Unowed: Span{Days: 30}, Form: "the means that the section names",
			States: []string{"the watch", "the sum that is owed"}},
	}
}

// ProfileOf is the profile of a key that the program brings; ok is false for Own and unknown keys.
func ProfileOf(key Key) (p Profile, ok bool) {
	for _, p := range Profiles() {
		if p.Key == key {
			return p, true
		}
	}
	return Profile{}, false
}

// NoAdvice is said wherever a profile is shown.
const NoAdvice = "This is no legal advice. The numbers may be old, incomplete or wrong for your case: hold them against the law " +
	"of your place, with somebody who knows it, before you confirm or do anything."

const (
	maxPlace  = 100  // characters
	maxSource = 300  // characters
	maxMonths = 120  // of a wait
	maxDays   = 3650 // of a wait
)

// Tidied returns p with its texts fit to be kept.
func (p Profile) Tidied() Profile {
	p.Place, p.Source, p.Form = text.Line(p.Place), text.Line(p.Source), text.Line(p.Form)
	return p
}

// Problems says, by form field, what stops p being confirmed: "place", "source", "form", and "collect", "wait", "notice",
// "unowed", each with "-days" or "-months".
func (p Profile) Problems() map[string]string {
	bad := map[string]string{}
	for field, said := range map[string]string{"place": p.Place, "source": p.Source, "form": p.Form} {
		limit := maxPlace
		if field == "source" {
			limit = maxSource
		}
		if text.TooLong(said, limit) {
			bad[field] = fmt.Sprintf("Keep it to %d characters.", limit)
		}
	}
	if p.Place == "" {
		bad["place"] = "Name the place whose law this is."
	}
	if p.Source == "" {
		bad["source"] = "Name the law, or who told you."
	}
	for field, s := range map[string]Span{"collect": p.Collect, "wait": p.Wait, "notice": p.Notice, "unowed": p.Unowed} {
		if s.Months < 0 || s.Months > maxMonths {
			bad[field+"-months"] = fmt.Sprintf("Give a whole number of months, 0 to %d.", maxMonths)
		}
		if s.Days < 0 || s.Days > maxDays {
			bad[field+"-days"] = fmt.Sprintf("Give a whole number of days, 0 to %d.", maxDays)
		}
	}
	return bad
}
