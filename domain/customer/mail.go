package customer

import "time"

// MailStanding is what stands against writing to a customer by mail; the zero value is nothing.
type MailStanding struct {
	StoppedAt time.Time // since when they want none; zero for they may be written to
	BackAt    time.Time // when mail to their present address came back; zero for it did not
	BackWhy   string    // what the mail server said, or what was noted by hand
}

// Allowed reports whether the customer may be written to by mail at all.
func (m MailStanding) Allowed() bool { return m.StoppedAt.IsZero() && m.BackAt.IsZero() }

// Why says as a sentence why the customer is not written to; "" where they are.
func (m MailStanding) Why() string {
	switch {
	case !m.StoppedAt.IsZero():
		return "The customer wants no mail."
	case !m.BackAt.IsZero():
		return "Mail to this address came back."
	}
	return ""
}

// MaxBackWhy bounds what is noted by hand of mail that came back, in characters.
const MaxBackWhy = 300
