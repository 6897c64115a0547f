package store

import (
	"context"
	"errors"
	"log/slog"
	"strings"
	"sync"
	"time"

	"ledgerwheel/domain"
	"ledgerwheel/domain/backup"
	"ledgerwheel/domain/record"
	"ledgerwheel/domain/text"
)

// Checker makes record checks beside the pages, one at a time, and keeps what they find.
type Checker struct {
	store  *Store
	gather func() (RecordCheck, error)
	now    func() time.Time
	log    *slog.Logger

	ctx   context.Context // ends with Close
	stop  context.CancelFunc
	under sync.WaitGroup

	mu          sync.Mutex
	running     bool
	done, total int64
}

// NewChecker returns a checker that asks gather, each time, what the record is held against besides itself.
func NewChecker(s *Store, gather func() (RecordCheck, error), now func() time.Time, log *slog.Logger) *Checker {
	c := &Checker{store: s, gather: gather, now: now, log: log}
	c.ctx, c.stop = context.WithCancel(context.Background())
	return c
}

// Close ends a check that is under way, of which nothing is kept.
func (c *Checker) Close() error {
	c.mu.Lock()
	c.stop()
	c.mu.Unlock()
	c.under.Wait()
	return nil
}

// Begin begins a check in the background, asked for by a person or, with 0, by the program itself; false where one is
// under way already.
func (c *Checker) Begin(byID int64) bool {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.running || c.ctx.Err() != nil {
		return false
	}
	c.running, c.done, c.total = true, 0, 0
	c.under.Go(func() {
		c.check(byID)
		c.mu.Lock()
		c.running = false
		c.mu.Unlock()
	})
	return true
}

// Progress says how many dockets of how many a check has been through; running is false where none is under way.
func (c *Checker) Progress() (done, total int64, running bool) {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.done, c.total, c.running
}

func (c *Checker) check(byID int64) {
	run := CheckRun{BegunAt: c.now(), ByID: byID}
	checked, held, err := c.hold(&run)
	if c.ctx.Err() != nil {
		return // the program ends; the next one makes up for it
	}
	run.EndedAt = c.now()
	if err != nil {
		run.Findings, run.Said = 0, nil
		run.Failed = text.Sentence(strings.Join(strings.Fields(err.Error()), " "))
	} else {
		run.Findings, run.Words = checked.Findings, checked.Words(held)
	}
	switch {
	case err != nil:
		c.log.Error("the record could not be checked", "error", run.Failed)
	case run.Findings > 0:
		c.log.Error("the record is not whole", "findings", run.Findings, "found", run.Said[0])
	default:
		c.log.Info("the record is whole", "dockets", checked.Dockets, "took", run.EndedAt.Sub(run.BegunAt).Round(time.Millisecond))
	}
	if err := c.store.NoteCheck(c.ctx, run); err != nil && c.ctx.Err() == nil {
		c.log.Error("what the record check found is not kept", "error", err)
	}
}

func (c *Checker) hold(run *CheckRun) (record.Checked, record.Held, error) {
	against, err := c.gather()
	if err != nil {
		return record.Checked{}, record.Held{}, err
	}
	against.Progress = func(done, total int64) {
		c.mu.Lock()
		c.done, c.total = done, total
		c.mu.Unlock()
	}
	checked, err := c.store.CheckRecord(c.ctx, against, func(f record.Finding) {
		if len(run.Said) < record.FindingsShown {
			run.Said = append(run.Said, f.Sentence)
		}
	})
	return checked, against.Held(), err
}

// Nightly begins a check every night at a time of the shop's zone, and makes up for a night that was missed, until ctx
// ends; warmUp is how long the program runs before that.
func (c *Checker) Nightly(ctx context.Context, at backup.Clock, warmUp time.Duration) {
	const look = time.Minute // clocks are set, and time zones changed
	for wait := warmUp; ; wait = look {
		select {
		case <-ctx.Done():
			return
		case <-time.After(wait):
		}
		due, err := c.due(ctx, at)
		if err != nil && ctx.Err() == nil {
			c.log.Error("whether a record check is due can't be told", "error", err)
		} else if due {
			c.Begin(0)
		}
	}
}

// due reports whether the night's check is still to be made, by the rule of the backups. A shop that was not founded yet
// has nothing to check.
func (c *Checker) due(ctx context.Context, at backup.Clock) (bool, error) {
	sh, err := c.store.Shop(ctx)
	if errors.Is(err, domain.ErrNotFound) {
		return false, nil
	}
	if err != nil {
		return false, err
	}
	newest, err := c.store.NewestCheck(ctx)
	if err != nil {
		return false, err
	}
	now := c.now()
	return !now.Before(backup.Due(newest.BegunAt, newest.Failed != "", now, at, sh.Location())), nil
}
