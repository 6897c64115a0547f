// Package message is a word to the customer: what the shop tells by mail, telephone, text message or letter, and what became
// of it.
package message

import (
	"fmt"
	"slices"
	"time"

	"ledgerwheel/domain/tongue"
)

// Topic is what a message tells. The value is kept in the database, so none is ever renamed.
type Topic string

// The topics.
const (
	EstimateReady  Topic = "estimate ready"
	Approved       Topic = "approved"
	Question       Topic = "question"
	Delayed        Topic = "delayed"
	Ready          Topic = "ready"
	SentByPost     Topic = "sent by post"
	NotCollected   Topic = "not collected"
	WarrantyEnding Topic = "warranty ending"
	ServiceDue     Topic = "service due"
)

// Topics lists every Topic in the order in which a watch's stay meets them.
var Topics = []Topic{EstimateReady, Approved, Question, Delayed, Ready, SentByPost, NotCollected, WarrantyEnding, ServiceDue}

// Words says t in plain words.
func (t Topic) Words() string {
	switch t {
	case EstimateReady:
		return "estimate ready"
	case Approved:
		return "estimate approved"
	case Question:
		return "a question"
	case Delayed:
		return "a new day promised"
	case Ready:
		return "ready to collect"
	case SentByPost:
		return "on its way by post"
	case NotCollected:
		return "not collected yet"
	case WarrantyEnding:
		return "warranty ends soon"
	case ServiceDue:
		return "service due"
	}
	return string(t)
}

// Way is how the customer is told.
type Way string

// The ways.
const (
	Mail      Way = "mail"
	Telephone Way = "telephone"
	Text      Way = "text"
	Letter    Way = "letter"
	InPerson  Way = "in person"
)

// Ways lists every Way.
var Ways = []Way{Mail, Telephone, Text, Letter, InPerson}

// Words says w in plain words.
func (w Way) Words() string {
	switch w {
	case Mail:
		return "by e-mail"
	case Telephone:
		return "by telephone"
	case Text:
		return "by text message"
	case Letter:
		return "by letter"
	case InPerson:
		return "in person"
	}
	return string(w)
}

// State is what became of a message.
type State string

// The states. A message by mail is queued, then sent or refused; one by another way is to do until a person has told it.
const (
	Queued    State = "queued"    // waits for the mail server
	Sent      State = "sent"      // the mail server has taken it
	Refused   State = "refused"   // the mail server will not have it; Why says why
	ToDo      State = "to do"     // a person must tell it
	Told      State = "told"      // a person has told it
	Withdrawn State = "withdrawn" // not to be told after all; Why says why
)

// States lists every State.
var States = []State{Queued, Sent, Refused, ToDo, Told, Withdrawn}

// Open reports whether s still waits for something.
func (s State) Open() bool { return s == Queued || s == ToDo }

// Message is one word to one customer about one docket.
type Message struct {
	ID         int64 // 0 until kept
	DocketID   int64
	CustomerID int64
	Topic      Topic
	Occasion   string // what of its topic it tells, such as the revision's number; one message tells one occasion
	Tongue     tongue.Tongue
	Way        Way
	To         string // address, or number in E.164; "" in person
	Subject    string
	Text       string // plain text
	HTML       string // the mail's second form; "" where there is none
	Other      string // what it would say by another way: the short form of a long one, or the long of a short; may be ""
	InsteadOf  int64  // the message that this one was written in place of; 0 for none
	State      State
	MailID     string // RFC 5322 Message-ID without its brackets, given once; "" unless by mail
	QueuedAt   time.Time
	SettledAt  time.Time // when it was sent, refused, told or withdrawn; zero before
	SettledBy  string    // who told or withdrew it; "" for the program
	Why        string
}

// The longest values that may be kept, in characters.
const (
	MaxSubject = 200
	MaxText    = 10_000
)

// Problem says what stops m from being kept; nil for nothing.
func (m Message) Problem() error {
	switch {
	case m.CustomerID == 0 || m.DocketID == 0:
		return fmt.Errorf("message: no docket or no customer")
	case !slices.Contains(Topics, m.Topic), !slices.Contains(Ways, m.Way), !slices.Contains(States, m.State):
		return fmt.Errorf("message: topic %q, way %q, state %q", m.Topic, m.Way, m.State)
	case m.Subject == "" || m.Text == "":
		return fmt.Errorf("message: nothing is told")
	case m.Way == Mail && (m.To == "" || m.MailID == ""):
		return fmt.Errorf("message: a mail without address or Message-ID")
	}
	return nil
}

// By is m told by another way: not kept yet, in the words that go with that way.
func (m Message) By(way Way) Message {
	next := m
	next.ID, next.MailID, next.Why, next.SettledBy, next.SettledAt = 0, "", "", "", time.Time{}
	next.Way, next.State = way, way.First()
	if way.saysShort() != m.Way.saysShort() && m.Other != "" {
		next.Text, next.Other = m.Other, m.Text
	}
	return next
}
