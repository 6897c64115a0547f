package store

import (
	"context"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/link"
	"ledgerwheel/domain/message"
	"ledgerwheel/domain/money"
	"ledgerwheel/domain/parcel"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/tongue"
	"ledgerwheel/domain/watch"
)

// Tell is how the customer is told of a change, by the choice of whoever makes it. The zero value tells nobody.
type Tell struct {
	Way message.Way
	// Done says that they know already, told by the person who makes the change; nothing is left to do.
	Done bool
	Own  string // added in their own words
}

// The ways that the program chooses by itself.
const (
	ifMail   message.Way = "by mail if that is wanted"
	asWanted message.Way = "as is wanted"
)

// maxOwn is the longest that may be added to a message, in characters.
const maxOwn = 1000

// UsePublicAddress has messages lead to private pages at that address, without a final slash. It is called once, before the
// store is used; without it messages hold no link.
func (s *Store) UsePublicAddress(url string) { s.publicURL = url }

// PublicAddress is the address that UsePublicAddress gave.
func (s *Store) PublicAddress() string { return s.publicURL }

// word is what is to be told of a change.
type word struct {
	topic    message.Topic
	occasion string
	// values puts in what only the change knows.
	values func(speech) message.Values
}

// speech is how a customer is spoken to.
type speech struct {
	tongue tongue.Tongue
	locale string
}

func (sp speech) day(d time.Time) string {
	if d.IsZero() {
		return ""
	}
	return sp.tongue.Day(d)
}

func (sp speech) money(minor int64, code string) string { return money.Format(minor, code, sp.locale) }

// owing says what is still to pay.
func (sp speech) owing(minor int64, code string) string {
	if minor <= 0 {
		return sp.tongue.Say("message.nothing_due")
	}
	return sp.money(minor, code)
}

// hearer is who is told, and all that a message says of customer, watch and shop.
type hearer struct {
	reach    message.Reach
	watch    watch.Watch
	shop     shop.Shop
	template message.Template
	speech   speech
}

// hearerOf reads, in one round trip, whom a message of the topic about a docket goes to and in which words.
func hearerOf(ctx context.Context, tx pgx.Tx, d docket.Docket, topic message.Topic) (hearer, error) {
	var h hearer
	var owner map[tongue.Tongue]message.Template
	var batch pgx.Batch
	queueReach(&batch, d.CustomerID, &h.reach)
	batch.Queue(`SELECT `+watchFields+` FROM watch w WHERE w.id = $1`, d.WatchID).QueryRow(func(row pgx.Row) error {
		return row.Scan(watchTargets(&h.watch)...)
	})
	batch.Queue(`SELECT ` + shopFields + ` FROM shop s`).QueryRow(func(row pgx.Row) error { return row.Scan(shopTargets(&h.shop)...) })
	queueTemplates(&batch, topic, &owner)
	if err := tx.SendBatch(ctx, &batch).Close(); err != nil {
		return h, err
	}
	h.speech.tongue = h.reach.Customer.Tongue.Or(d.Tongue).Or(tongue.Of(h.shop.Locale))
	h.speech.locale = h.speech.tongue.In(h.shop.Locale)
	h.template = message.Usual(topic, h.speech.tongue)
	if own, ok := owner[h.speech.tongue]; ok {
		h.template = own
	}
	return h, nil
}

// queueReach reads how a customer can be reached.
func queueReach(batch *pgx.Batch, customerID int64, r *message.Reach) {
	batch.Queue(`SELECT `+customerFields+` FROM customer c WHERE c.id = $1`, customerID).QueryRow(func(row pgx.Row) error {
		return row.Scan(customerTargets(&r.Customer)...)
	})
}

// tell writes a word to the customer with the change c that causes it, and returns what the journal is told. The error is a
// *domain.InvalidError (fields "tell" and "tell_own") where the customer can't be told so.
func (s *Store) tell(ctx context.Context, tx pgx.Tx, d docket.Docket, c Change, w word) ([]event, error) {
	if c.Tell.Way == "" {
		return nil, nil
	}
	h, err := hearerOf(ctx, tx, d, w.topic)
	if err != nil {
		return nil, err
	}
	switch c.Tell.Way {
	case ifMail:
		if c.Tell.Way = message.Mail; h.reach.Way() != message.Mail {
			return nil, nil
		}
	case asWanted:
		c.Tell.Way = h.reach.Way()
		if c.Tell.Way == message.InPerson && d.Closed() { // who will not come again is told nothing
			return nil, nil
		}
	}
	own := text.Lines(c.Tell.Own)
	bad := map[string]string{}
	if c.Tell.Way != message.InPerson && h.reach.To(c.Tell.Way) == "" {
		bad["tell"] = "The customer can't be reached " + c.Tell.Way.Words() + " any more: choose another way."
	}
	if text.TooLong(own, maxOwn) {
		bad["tell_own"] = "Keep your own words to at most 1000 characters."
	}
	if err := domain.Invalid(bad); err != nil {
		return nil, err
	}
	address, events, err := s.linkFor(ctx, tx, d, c, h)
	if err != nil {
		return nil, err
	}
	values := h.values(d, w, own, address)
	filled, err := h.template.Fill(w.topic, string(h.speech.tongue), values)
	if err != nil { // kept by an earlier release with what this one doesn't know: the program's own words still hold
		filled, err = message.Usual(w.topic, h.speech.tongue).Fill(w.topic, string(h.speech.tongue), values)
	}
	if err != nil {
		return nil, err
	}
	m := h.message(d, w, c.Tell, filled)
	told, err := s.queueMessage(ctx, tx, c, &m)
	return append(events, told), err
}

// values are what is put into the places of a template.
func (h hearer) values(d docket.Docket, w word, own, address string) message.Values {
	v := message.Values{}
	if w.values != nil {
		v = w.values(h.speech)
	}
	v[message.PutCustomer], v[message.PutDocket] = h.reach.Customer.Named().Name, d.Number.String()
	v[message.PutWatch] = strings.TrimSpace(h.watch.Maker + " " + h.watch.Model)
	v[message.PutOwn], v[message.PutLink] = own, address
	v[message.PutHours] = strings.Join(h.shop.Hours.In(h.speech.tongue), "\n")
	v[message.PutShop], v[message.PutTelephone], v[message.PutAddress] = h.shop.Name, h.shop.Phone, h.shop.Address
	return v
}

// message is the word as it is kept.
func (h hearer) message(d docket.Docket, w word, t Tell, f message.Filled) message.Message {
	m := message.Message{DocketID: d.ID, CustomerID: d.CustomerID, Topic: w.topic, Occasion: w.occasion, Tongue: h.speech.tongue,
		Way: t.Way, To: h.reach.To(t.Way), Subject: f.Subject, Text: f.Body(t.Way), HTML: f.HTML, Other: f.Other(t.Way),
		State: t.Way.First()}
	if t.Done {
		m.State = message.Told
	}
	if t.Way == message.Mail {
		m.MailID = NewMailID(h.shop.Email)
	}
	return m
}

// linkFor is the address of the docket's private page where the words hold it, and what the journal is told of a link made
// for them. The program by itself makes none, and neither does the customer.
func (s *Store) linkFor(ctx context.Context, tx pgx.Tx, d docket.Docket, c Change, h hearer) (string, []event, error) {
	if s.publicURL == "" || !h.template.Uses(message.PutLink) {
		return "", nil, nil
	}
	var events []event
	if c.By.StaffID != 0 {
		var err error
		if events, err = keepLink(ctx, tx, d.ID, c); err != nil {
			return "", nil, err
		}
	}
	l, err := lockLink(ctx, tx, d.ID)
	if err != nil || !l.Serves(c.At) {
		return "", events, err
	}
	return s.publicURL + "/c/" + link.Token(h.shop.LinkSecret, l.ID), events, nil
}

// readyWord tells that a watch is ready, and what is still to pay then; d is the docket as it stands in the transaction.
func readyWord(ctx context.Context, tx pgx.Tx, d docket.Docket, at time.Time) (word, error) {
	f, err := factsOf(ctx, tx, d)
	return word{topic: message.Ready, occasion: at.UTC().Format(time.RFC3339), values: func(sp speech) message.Values {
		return message.Values{message.PutDue: sp.owing(f.DueMinor, d.Currency)}
	}}, err
}

// sentWord tells that a watch went by post.
func sentWord(carrier string, given parcel.Posting) word {
	return word{topic: message.SentByPost, occasion: given.Number, values: func(speech) message.Values {
		return message.Values{message.PutCarrier: carrier, message.PutParcel: given.Number}
	}}
}

// delayWord tells that a watch is promised for a later day.
func delayWord(was, now time.Time) word {
	return word{topic: message.Delayed, occasion: message.OfDay(now), values: func(sp speech) message.Values {
		return message.Values{message.PutPromised: sp.day(now), message.PutBefore: sp.day(was)}
	}}
}
