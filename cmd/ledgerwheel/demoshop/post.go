package demoshop

import (
	"context"
	"time"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/message"
)

// carriedAfter is how long a mail of the year's took to the mail server.
const carriedAfter = time.Second

// carry has the mails of a docket taken by the mail server of the time. Those of the last day are left to the running
// program, whose letter box then shows them.
func (f *filler) carry(ctx context.Context, n docket.Number) error {
	list, err := f.store.Messages(ctx, n)
	if err != nil {
		return err
	}
	for _, m := range list {
		if m.State != message.Queued || m.QueuedAt.After(f.now.AddDate(0, 0, -1)) {
			continue
		}
		if err := f.hand(ctx, m.ID, m.QueuedAt.Add(carriedAfter)); err != nil {
			return err
		}
	}
	return nil
}

// hand has the mail server take a mail at that moment, or, where an earlier filling was cut off between question and answer, as
// soon as nobody else can be asking.
func (f *filler) hand(ctx context.Context, id int64, at time.Time) error {
	decision, row, err := f.store.BeginDelivery(ctx, id, true, at)
	if err == nil && decision.Act == message.Wait {
		at = decision.Until
		decision, row, err = f.store.BeginDelivery(ctx, id, true, at)
	}
	if err == nil && decision.Act == message.Try {
		_, err = f.store.EndDelivery(ctx, row, at, message.Answer{Step: message.Content, Taken: true}, at)
	}
	return err
}
