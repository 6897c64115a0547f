package post

import (
	"context"
	"strings"
	"time"

	"ledgerwheel/domain/message"
	"ledgerwheel/domain/tongue"
	"ledgerwheel/store"
)

// CarrySeal carries the mail with a day's seal as far as it can be carried now, and returns how long it then waits; 0 for it is
// settled.
func (c *Carrier) CarrySeal(ctx context.Context, day string) (time.Duration, error) {
	account, settings, keyErr := c.Account(ctx)
	if keyErr != nil && settings.SenderAddress == "" {
		return 0, keyErr
	}
	begun := c.Now()
	decision, row, err := c.Store.BeginSealMail(ctx, day, settings.Ready(), begun)
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
			To: row.To, Subject: "Seal of " + row.Day + ", " + sh.Name, Text: sealText(sh.Name, row), Shop: sh.Name, Tongue: tongue.English, Automatic: true})
	}
	return c.writeDown(ctx, "seal", day, begun, func(ctx context.Context) (time.Duration, error) {
		return c.Store.EndSealMail(ctx, day, begun, answer, c.Now())
	})
}

// sealText is what the mail says; the seal stands in it as it was signed.
func sealText(shop string, m store.SealMail) string {
	return strings.Join([]string{
		"This is the seal of the record of " + shop + " of " + m.Day + " (UTC). Keep this mail.",
		"As long as it lies outside the shop, nobody can rewrite what the record held on that day without being found out: save the lines from “ledgerwheel/” to the end of the one that begins with a long dash as a file, and hold the record against it with",
		"ledgerwheel record check --seal FILE",
		strings.TrimRight(m.Note, "\n"),
	}, "\n\n")
}
