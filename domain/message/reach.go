package message

import (
	"cmp"
	"slices"

	"ledgerwheel/domain/customer"
)

// Reach is how a customer can be told something.
type Reach struct {
	Customer customer.Customer
}

// NoMail says as a sentence why no mail goes to the customer although there is an address: they want none, or it came back. It is
// "" where mail goes.
func (r Reach) NoMail() string { return r.Customer.Mail.Why() }

// Ways are those in which the customer can be reached, the one they would rather be reached by first, then those that cost
// least. In person is always one, and the last.
func (r Reach) Ways() []Way {
	var ways []Way
	for _, w := range []Way{Mail, Text, Telephone, Letter, InPerson} {
		if w == InPerson || r.To(w) != "" {
			ways = append(ways, w)
		}
	}
	rather := preferred[r.Customer.PreferredContact]
	if at := slices.Index(ways, rather); at > 0 {
		ways = append([]Way{rather}, slices.Delete(ways, at, at+1)...)
	}
	return ways
}

// preferred is the way that goes with what a customer would rather have.
var preferred = map[customer.Contact]Way{customer.ContactEmail: Mail, customer.ContactPhone: Telephone, customer.ContactText: Text,
	customer.ContactPost: Letter}

// Way is the one in which the customer is told unless somebody chooses another. Where there is no way, they are told when
// they come.
func (r Reach) Way() Way { return r.Ways()[0] }

// To is where a message by w goes; "" where the customer can't be reached so, and in person.
func (r Reach) To(w Way) string {
	switch w {
	case Mail:
		if r.NoMail() == "" {
			return r.Customer.Email
		}
	case Text:
		return r.Customer.PhoneE164
	case Telephone: // what could not be read as a number a person can still dial
		return cmp.Or(r.Customer.PhoneE164, r.Customer.Phone)
	case Letter:
		return r.Customer.Address
	}
	return ""
}

// ByMachine reports whether w needs nobody to tell it.
func (w Way) ByMachine() bool { return w == Mail }

// First is the state in which a message by w begins.
func (w Way) First() State {
	if w.ByMachine() {
		return Queued
	}
	return ToDo
}

// Body is what a message by w says: a text message and a call say it short.
func (f Filled) Body(w Way) string {
	if w.saysShort() {
		return f.Short
	}
	return f.Text
}

func (w Way) saysShort() bool { return w == Text || w == Telephone || w == InPerson }

// Other is what the same message says by the ways that don't say Body.
func (f Filled) Other(w Way) string {
	if w.saysShort() {
		return f.Text
	}
	return f.Short
}
