package main

import (
	"context"
	"errors"
	"log/slog"
	"sync"
	"time"

	"ledgerwheel/domain"
	"ledgerwheel/domain/message"
	"ledgerwheel/store"
)

// remindEvery is how often it is looked whether the day's reminders are due, since clocks are set and time zones changed.
const remindEvery = 10 * time.Minute

// reminder writes each day what customers are told because its day has come.
type reminder struct {
	store *store.Store
	log   *slog.Logger
	done  string // the last day of the shop for which all was written by this run of the program
}

// startReminding has a running shop tell what its day brings, until the program is closed.
func startReminding(p *program, st *store.Store) {
	r := &reminder{store: st, log: p.env.log}
	ctx, cancel := context.WithCancel(p.env.ctx)
	var running sync.WaitGroup
	running.Go(func() {
		for wait := time.Minute; ; wait = remindEvery {
			select {
			case <-ctx.Done():
				return
			case <-time.After(wait):
			}
			r.look(ctx, time.Now())
		}
	})
	p.closers = append(p.closers, func() error {
		cancel()
		running.Wait()
		return nil
	})
}

// look writes the reminders of the shop's day once its counter is likely to be open. One that fails is tried again at the
// next look; another copy of the program that does the same does no harm (store.Remind).
func (r *reminder) look(ctx context.Context, now time.Time) {
	sh, err := r.store.Shop(ctx)
	if errors.Is(err, domain.ErrNotFound) {
		return
	}
	there := now.In(sh.Location())
	day := there.Format(time.DateOnly)
	if err == nil && (there.Hour() < message.SweepFromHour || day == r.done) {
		return
	}
	if err == nil {
		var told int
		if told, err = r.store.Remind(ctx, now); told > 0 {
			r.log.Info("reminders written", "messages", told)
		}
	}
	if err != nil {
		r.log.Error("not every reminder could be written", "error", err)
		return
	}
	r.done = day
}
