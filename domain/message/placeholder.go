package message

import (
	"slices"
	"strings"

	"ledgerwheel/domain/text"
)

// Placeholder is what a template leaves open, written in curly brackets: {customer}. The names are the owner's to type, so
// none is ever renamed.
type Placeholder string

// The placeholders.
const (
	PutCustomer   Placeholder = "customer"
	PutWatch      Placeholder = "watch"
	PutDocket     Placeholder = "docket"
	PutTotal      Placeholder = "total"
	PutAnswerBy   Placeholder = "answer by"
	PutPromised   Placeholder = "promised day"
	PutBefore     Placeholder = "day before"
	PutQuestion   Placeholder = "question"
	PutDue        Placeholder = "still to pay"
	PutCarrier    Placeholder = "carrier"
	PutParcel     Placeholder = "parcel number"
	PutReadySince Placeholder = "ready since"
	PutWarranty   Placeholder = "warranty until"
	PutServiced   Placeholder = "serviced on"
	PutYears      Placeholder = "years"
	PutOwn        Placeholder = "own words"
	PutLink       Placeholder = "link"
	PutHours      Placeholder = "hours"
	PutShop       Placeholder = "shop"
	PutTelephone  Placeholder = "telephone"
	PutAddress    Placeholder = "address"
)

// placeholders are all of them in the order in which the owner reads them. topics are those that know it; none stands for
// every topic.
var placeholders = []struct {
	name   Placeholder
	words  string
	topics []Topic
}{
	{PutCustomer, "the customer’s name", nil},
	{PutWatch, "maker and model of the watch", nil},
	{PutDocket, "the docket’s number", nil},
	{PutTotal, "what the estimate comes to", []Topic{EstimateReady, Approved}},
	{PutAnswerBy, "the last day for an answer", []Topic{EstimateReady}},
	{PutPromised, "the day the watch is promised for", []Topic{Approved, Delayed}},
	{PutBefore, "the day it was promised for before", []Topic{Delayed}},
	{PutQuestion, "what the shop asks", []Topic{Question}},
	{PutDue, "what is still to pay", []Topic{Ready, NotCollected}},
	{PutCarrier, "who carries the parcel", []Topic{SentByPost}},
	{PutParcel, "the carrier’s number of the parcel", []Topic{SentByPost}},
	{PutReadySince, "the day since when the watch is ready", []Topic{NotCollected}},
	{PutWarranty, "the last day of the warranty", []Topic{WarrantyEnding}},
	{PutServiced, "the day the watch was handed over", []Topic{ServiceDue}},
	{PutYears, "for how many years it has run since", []Topic{ServiceDue}},
	{PutOwn, "what whoever writes adds in their own words", nil},
	{PutLink, "the customer’s private page", nil},
	{PutHours, "the opening hours, a line for each group of days", nil},
	{PutShop, "the shop’s name", nil},
	{PutTelephone, "the shop’s telephone number", nil},
	{PutAddress, "the shop’s address", nil},
}

// Written is p as it stands in a template.
func (p Placeholder) Written() string { return "{" + string(p) + "}" }

// Words say what is put in p's place.
func (p Placeholder) Words() string {
	for _, row := range placeholders {
		if row.name == p {
			return row.words
		}
	}
	return string(p)
}

// Known reports whether p is one of the placeholders.
func (p Placeholder) Known() bool {
	return slices.ContainsFunc(placeholders[:], func(row struct {
		name   Placeholder
		words  string
		topics []Topic
	}) bool {
		return row.name == p
	})
}

// Placeholders are those that t knows, in the order in which the owner reads them.
func (t Topic) Placeholders() []Placeholder {
	var list []Placeholder
	for _, row := range placeholders {
		if row.topics == nil || slices.Contains(row.topics, t) {
			list = append(list, row.name)
		}
	}
	return list
}

// Needs are the placeholders without which a message of t says nothing.
func (t Topic) Needs() []Placeholder {
	switch t {
	case EstimateReady:
		return []Placeholder{PutLink}
	case Question:
		return []Placeholder{PutQuestion}
	case Delayed:
		return []Placeholder{PutPromised}
	case SentByPost:
		return []Placeholder{PutCarrier, PutParcel}
	case WarrantyEnding:
		return []Placeholder{PutWarranty}
	}
	return nil
}

// meant is the placeholder of t that somebody most likely meant who wrote another word; "" for none near enough.
func (t Topic) meant(typed string) Placeholder {
	typed = strings.ToLower(text.Line(typed))
	for _, p := range t.Placeholders() {
		if string(p) == typed || text.OneSlip(string(p), typed) || strings.ReplaceAll(string(p), " ", "") == strings.Trim(typed, "_-. ") {
			return p
		}
	}
	plain := strings.NewReplacer("_", " ", "-", " ", ".", " ", "’", "", "'", "").Replace(typed)
	for _, p := range t.Placeholders() {
		if string(p) == plain || text.OneSlip(string(p), plain) {
			return p
		}
	}
	if p, ok := otherWords[plain]; ok && slices.Contains(t.Placeholders(), p) {
		return p
	}
	for _, p := range t.Placeholders() {
		for _, word := range strings.Fields(plain) {
			if slices.Contains(strings.Fields(string(p)), word) {
				return p
			}
		}
	}
	return ""
}

// otherWords are what people call the same things.
var otherWords = map[string]Placeholder{"name": PutCustomer, "client": PutCustomer, "number": PutDocket, "ticket": PutDocket,
	"job": PutDocket, "sum": PutTotal, "price": PutTotal, "amount": PutTotal, "due": PutDue, "balance": PutDue, "to pay": PutDue,
	"url": PutLink, "page": PutLink, "phone": PutTelephone, "tel": PutTelephone, "opening hours": PutHours, "date": PutPromised,
	"new day": PutPromised, "day": PutPromised, "until": PutAnswerBy, "valid until": PutAnswerBy, "deadline": PutAnswerBy}
