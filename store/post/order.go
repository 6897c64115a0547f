package post

import (
	"context"
	"time"

	"ledgerwheel/domain/message"
	"ledgerwheel/domain/tongue"
)

// CarryOrder carries the mail with an order as far as it can be carried now, and returns how long it then waits; 0 for it is
// settled.
func (c *Carrier) CarryOrder(ctx context.Context, id int64) (time.Duration, error) {
	account, settings, keyErr := c.Account(ctx)
	if keyErr != nil && settings.SenderAddress == "" {
		return 0, keyErr
	}
	begun := c.Now()
	decision, row, err := c.Store.BeginOrderMail(ctx, id, settings.Ready(), begun)
	switch {
	case err != nil:
		return 0, err
	case decision.Act == message.Wait:
		return max(time.Second, decision.Until.Sub(c.Now())), nil
	case decision.Act != message.Try:
		return 0, nil
	}
	answer := message.Answer{Step: message.SignIn}
	sh, err := c.Store.Shop(ctx)
	switch {
	case keyErr != nil:
		answer.Said = keyErr.Error()
	case err != nil:
		answer.Said = err.Error()
	default:
		t := talk{account: account, tls: c.TLS, may: func() bool { return message.MayHandOver(begun, c.Now()) }}
		answer = t.hand(ctx, Letter{MailID: row.MailID, Date: row.QueuedAt.In(sh.Location()), From: From(settings, sh.Name), ReplyTo: settings.ReplyTo,
			To: row.To, Subject: row.Subject, Text: row.Body, Shop: sh.Name, Tongue: tongue.English,
			Files: []File{{row.Name + ".pdf", "application/pdf", row.PDF}, {row.Name + ".csv", "text/csv", row.CSV}}})
	}
	return c.writeDown(ctx, "order", row.Order, begun, func(ctx context.Context) (time.Duration, error) {
		return c.Store.EndOrderMail(ctx, row.Order, begun, answer, c.Now())
	})
}
