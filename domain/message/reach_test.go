package message_test

import (
	"slices"
	"testing"
	"time"

	"ledgerwheel/domain/customer"
	"ledgerwheel/domain/message"
)

func TestHowTheCustomerIsTold(t *testing.T) {
	t.Parallel()
	all := customer.Customer{Name: "Ana", Phone: "07700 900123", PhoneE164: "+447700900123", Email: "ana@tern.example", Address: "1 Quay\nSaltby"}
	with := func(c customer.Contact) customer.Customer { a := all; a.PreferredContact = c; return a }
	back, none := with(customer.ContactEmail), all
	back.Mail.BackAt, none.Mail.StoppedAt = day("2026-11-30"), day("2026-11-30")
	for _, c := range []struct {
		name  string
		reach message.Reach
		want  []message.Way
	}{
		{"no preference", message.Reach{Customer: all}, []message.Way{message.Mail, message.Text, message.Telephone, message.Letter, message.InPerson}},
		{"by telephone", message.Reach{Customer: with(customer.ContactPhone)},
			[]message.Way{message.Telephone, message.Mail, message.Text, message.Letter, message.InPerson}},
		{"by text message", message.Reach{Customer: with(customer.ContactText)},
			[]message.Way{message.Text, message.Mail, message.Telephone, message.Letter, message.InPerson}},
		{"by post", message.Reach{Customer: with(customer.ContactPost)},
			[]message.Way{message.Letter, message.Mail, message.Text, message.Telephone, message.InPerson}},
		{"by mail, but it came back", message.Reach{Customer: back},
			[]message.Way{message.Text, message.Telephone, message.Letter, message.InPerson}},
		{"by mail, without an address", message.Reach{Customer: customer.Customer{Phone: "x", PreferredContact: customer.ContactEmail}},
			[]message.Way{message.Telephone, message.InPerson}},
		{"a name alone", message.Reach{Customer: customer.Customer{Name: "Ana"}}, []message.Way{message.InPerson}},
	} {
		if got := c.reach.Ways(); !slices.Equal(got, c.want) || c.reach.Way() != c.want[0] {
			t.Errorf("%s: got %v, want %v", c.name, got, c.want)
		}
	}
	if to := (message.Reach{Customer: none}).To(message.Mail); to != "" {
		t.Errorf("mail to who wants none goes to %q", to)
	}
}

func day(s string) time.Time { d, _ := time.Parse(time.DateOnly, s); return d }

// Each reminder is due from its day on, for the days of grace, and never outside them.
func TestReminders(t *testing.T) {
	t.Parallel()
	r := message.Reminders{NotCollectedDays: 14, WarrantyDays: 30, ServiceYears: 5}
	for _, c := range []struct {
		name  string
		is    func(on, today time.Time) bool
		on    string
		first string
		last  string
		never func(on, today time.Time) bool
	}{
		{"not collected", r.NotCollected, "2026-11-02", "2026-11-16", "2026-12-15", message.Reminders{}.NotCollected},
		{"warranty", r.Warranty, "2027-03-01", "2027-01-30", "2027-03-01", message.Reminders{}.Warranty},
		{"service", r.Service, "2024-02-29", "2029-03-01", "2029-03-30", message.Reminders{}.Service},
	} {
		on := day(c.on)
		for _, x := range []struct {
			today string
			want  bool
		}{{c.first, true}, {c.last, true}} {
			if c.is(on, day(x.today)) != x.want || c.never(on, day(x.today)) {
				t.Errorf("%s of %s on %s: want %v, and never where it is turned off", c.name, c.on, x.today, x.want)
			}
		}
		if c.is(on, day(c.first).AddDate(0, 0, -1)) || c.is(on, day(c.last).AddDate(0, 0, 1)) {
			t.Errorf("%s of %s is told outside %s to %s", c.name, c.on, c.first, c.last)
		}
	}
	if bad := message.UsualReminders().Problems(); len(bad) != 0 {
		t.Errorf("the usual: %v", bad)
	}
	if bad := (message.Reminders{-1, 366, 21}).Problems(); len(bad) != 3 {
		t.Errorf("got %v", bad)
	}
}
