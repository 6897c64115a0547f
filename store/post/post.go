// Package post carries messages to the mail server: it works the jobs of the store's outbox, speaks SMTP (RFC 5321) by what
// domain/message decides, and writes down what the server answered.
package post

import (
	"context"
	"crypto/tls"
	"errors"
	"log/slog"
	"net/mail"
	"strings"
	"time"

	"ledgerwheel/domain/link"
	"ledgerwheel/domain/message"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/tongue"
	"ledgerwheel/store"
	"ledgerwheel/store/keyring"
)

// Store is what this package asks of the record.
type Store interface {
	BeginSealMail(ctx context.Context, day string, setUp bool, now time.Time) (message.Decision, store.SealMail, error)
	EndSealMail(ctx context.Context, day string, begun time.Time, a message.Answer, now time.Time) (time.Duration, error)
	BeginOrderMail(ctx context.Context, id int64, setUp bool, now time.Time) (message.Decision, store.OrderMail, error)
	EndOrderMail(ctx context.Context, id int64, begun time.Time, a message.Answer, now time.Time) (time.Duration, error)
	BeginDelivery(ctx context.Context, messageID int64, setUp bool, now time.Time) (message.Decision, store.MessageRow, error)
	CarryAll(ctx context.Context) error
	EndDelivery(ctx context.Context, row store.MessageRow, begun time.Time, a message.Answer, now time.Time) (time.Duration, error)
	Keys() *keyring.Ring
	MailSettings(ctx context.Context) (message.Settings, int64, error)
	Shop(ctx context.Context) (shop.Shop, error)
	WorkMessages(ctx context.Context, log *slog.Logger, work store.CarryWork) (*store.Workings, error)
}

// Config is what a carrier works with.
type Config struct {
	Store     Store
	Log       *slog.Logger
	Now       func() time.Time
	PublicURL string      // where customers reach the program, without a final slash
	Given     *Account    // the mail server that the program was started with, before the settings'; nil for none
	TLS       *tls.Config // nil for the machine's own trust
}

// Carrier hands messages to the mail server.
type Carrier struct {
	Config
	work *store.Workings
}

// New returns a carrier that carries what it is told to alone, until Start.
func New(c Config) *Carrier { return &Carrier{Config: c} }

// Start has messages carried until Stop: those that waited are looked at at once.
func (c *Carrier) Start(ctx context.Context) error {
	work, err := c.Store.WorkMessages(ctx, c.Log, store.CarryWork{Message: c.Carry, Seal: c.CarrySeal, Order: c.CarryOrder})
	if err != nil {
		return err
	}
	c.work = work
	if err := c.Store.CarryAll(ctx); err != nil {
		return errors.Join(err, c.Stop())
	}
	return nil
}

// stopWithin bounds how long the program waits for a conversation with the mail server as it ends.
const stopWithin = 15 * time.Second

// Stop ends what Start began.
func (c *Carrier) Stop() error {
	ctx, cancel := context.WithTimeout(context.Background(), stopWithin)
	defer cancel()
	return c.work.Stop(ctx)
}

// Account is the mail server in use with its password, and the settings of who sends. A password that can't be read is an
// error that wraps keyring.ErrExposed or keyring.ErrDamaged.
func (c *Carrier) Account(ctx context.Context) (Account, message.Settings, error) {
	settings, _, err := c.Store.MailSettings(ctx)
	if err != nil {
		return Account{}, settings, err
	}
	if c.Given != nil {
		settings.Server = c.Given.Server
		return *c.Given, settings, nil
	}
	account := Account{Server: settings.Server}
	if keys := c.Store.Keys(); keys != nil && settings.User != "" {
		account.Password, _, err = keys.Word(keyring.Mail, settings.Server.Whom())
	}
	return account, settings, err
}

// Carry carries one message as far as it can be carried now, and returns how long it then waits; 0 for it is settled.
func (c *Carrier) Carry(ctx context.Context, messageID int64) (time.Duration, error) {
	account, settings, keyErr := c.Account(ctx)
	if keyErr != nil && settings.SenderAddress == "" {
		return 0, keyErr
	}
	begun := c.Now()
	decision, row, err := c.Store.BeginDelivery(ctx, messageID, settings.Ready(), begun)
	switch {
	case err != nil:
		return 0, err
	case decision.Act == message.Wait:
		return max(time.Second, decision.Until.Sub(c.Now())), nil
	case decision.Act != message.Try:
		return 0, nil
	}
	answer := message.Answer{Step: message.SignIn}
	letter, err := c.letter(ctx, row, settings)
	switch {
	case keyErr != nil:
		answer.Said = keyErr.Error()
	case err != nil:
		answer = message.Answer{Step: message.FindName, Said: err.Error()}
	default:
		t := talk{account: account, tls: c.TLS, may: func() bool { return message.MayHandOver(begun, c.Now()) }}
		answer = t.hand(ctx, letter)
	}
	return c.writeDown(ctx, "message", row.ID, begun, func(ctx context.Context) (time.Duration, error) {
		return c.Store.EndDelivery(ctx, row, begun, answer, c.Now())
	})
}

// writeDown keeps the answer, for as long as no other copy of the program may try: an answer that is forgotten is a mail that is
// sent twice. kind and of name the mail in the log.
func (c *Carrier) writeDown(ctx context.Context, kind string, of any, begun time.Time, keep func(context.Context) (time.Duration, error)) (time.Duration, error) {
	ctx = context.WithoutCancel(ctx)
	for wait := 100 * time.Millisecond; ; wait = min(2*wait, 10*time.Second) {
		pause, err := keep(ctx)
		if err == nil || c.Now().Sub(begun).Abs() > message.Lease {
			return pause, err
		}
		c.Log.Warn("the mail server's answer could not be written down yet", kind, of, "error", err)
		time.Sleep(wait)
	}
}

// letter is what goes out of a message.
func (c *Carrier) letter(ctx context.Context, row store.MessageRow, settings message.Settings) (Letter, error) {
	sh, err := c.Store.Shop(ctx)
	if err != nil {
		return Letter{}, err
	}
	l := Letter{MailID: row.MailID, Date: row.QueuedAt.In(sh.Location()), From: From(settings, sh.Name), ReplyTo: settings.ReplyTo, To: row.To,
		Subject: row.Subject, Text: row.Text, HTML: row.HTML, Shop: sh.Name, Tongue: row.Tongue, Automatic: true}
	if len(sh.LinkSecret) > 0 && c.PublicURL != "" {
		l.StopURL = c.PublicURL + "/no-mail/" + link.Sign(sh.LinkSecret, link.NoMail, row.CustomerID)
	}
	return l, nil
}

// From is who sends the shop's mail.
func From(settings message.Settings, shopName string) mail.Address {
	name := settings.SenderName
	if name == "" {
		name = shopName
	}
	return mail.Address{Name: name, Address: settings.SenderAddress}
}

// testWithin bounds a test mail, so that its page comes.
const testWithin = 40 * time.Second

// GivenServer is the mail server that the program was started with; ok is false for none.
func (c *Carrier) GivenServer() (server message.Server, ok bool) {
	if c.Given == nil {
		return message.Server{}, false
	}
	return c.Given.Server, true
}

// Test sends a test mail by the settings as they are saved, and tells each step of it.
func (c *Carrier) Test(ctx context.Context, to string) (message.Tested, error) {
	return c.test(ctx, to, func(sh shop.Shop) Letter {
		return Letter{Subject: "Test mail of " + sh.Name, Tongue: tongue.English,
			Text: strings.Join([]string{"This is a test: the mail server takes messages of " + sh.Name + ".", "Nothing needs to be done."}, "\n\n")}
	})
}

// TestWords sends a message to customers as a test mail, by the settings as they are saved.
func (c *Carrier) TestWords(ctx context.Context, to string, f message.Filled, in tongue.Tongue) (message.Tested, error) {
	return c.test(ctx, to, func(shop.Shop) Letter {
		return Letter{Subject: f.Subject, Text: f.Text, HTML: f.HTML, Tongue: in}
	})
}

func (c *Carrier) test(ctx context.Context, to string, words func(shop.Shop) Letter) (message.Tested, error) {
	ctx, cancel := context.WithTimeout(ctx, testWithin) // somebody waits for the page
	defer cancel()
	account, settings, err := c.Account(ctx)
	if err != nil {
		return message.Tested{}, err
	}
	sh, err := c.Store.Shop(ctx)
	if err != nil {
		return message.Tested{}, err
	}
	var tested message.Tested
	t := talk{account: account, tls: c.TLS, seen: func(d message.Done) { tested.Done = append(tested.Done, d) }}
	l := words(sh)
	l.MailID, l.Date, l.From = store.NewMailID(settings.SenderAddress), c.Now().In(sh.Location()), From(settings, sh.Name)
	l.ReplyTo, l.To, l.Shop = settings.ReplyTo, to, sh.Name
	tested.Answer = t.hand(ctx, l)
	return tested, nil
}
