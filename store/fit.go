package store

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"sync/atomic"
	"time"

	"ledgerwheel/domain/health"
)

// WhileFit has every change asked for only while fit gives no error: a disk without room, or a folder that is gone,
// would take what it could not keep. It is set once, before the store is shared.
func (s *Store) WhileFit(fit func() error) { s.fit = fit }

// clock knows the newest moment of the record, so that an entry written before it can say so. It is held once somebody
// asks for it: a demo that is filled with what happened long ago goes back and forth.
type clock struct {
	held   atomic.Bool
	newest atomic.Int64 // microseconds since 1970
}

func (c *clock) saw(at time.Time) {
	for us := at.UnixMicro(); ; {
		old := c.newest.Load()
		if us <= old || c.newest.CompareAndSwap(old, us) {
			return
		}
	}
}

// Newest is the newest moment of the record as far as it is known here; zero for none.
func (s *Store) Newest() time.Time {
	us := s.clock.newest.Load()
	if us == 0 {
		return time.Time{}
	}
	return time.UnixMicro(us).UTC()
}

// HoldClock has entries marked, from then on, that are written before the newest moment of the record.
func (s *Store) HoldClock(ctx context.Context) error {
	s.clock.held.Store(true)
	return s.LearnNewest(ctx)
}

// LearnNewest reads the newest moment of the record, of an entry or a seal; others may write to it too.
func (s *Store) LearnNewest(ctx context.Context) error {
	var newest *time.Time
	err := s.db.QueryRow(ctx, `SELECT greatest((SELECT max(at) FROM journal), (SELECT max(at) FROM shop_journal), (SELECT max(made_at) FROM seal))`).
		Scan(&newest)
	if err != nil {
		return fmt.Errorf("newest entry: %w", Translate(err))
	}
	if newest != nil {
		s.clock.saw(*newest)
	}
	return nil
}

// dated are the facts of an entry, with a mark where the clock stands before the newest entry of the record.
func (s *Store) dated(at time.Time, facts any) (any, error) {
	if newest := s.Newest(); s.clock.held.Load() && health.SetBack(at, newest) {
		raw, err := json.Marshal(facts)
		if err != nil {
			return nil, err
		}
		object := map[string]any{}
		dec := json.NewDecoder(bytes.NewReader(raw))
		dec.UseNumber()
		if err := dec.Decode(&object); err != nil { // facts are an object, or nothing
			return nil, err
		}
		if object == nil {
			object = map[string]any{}
		}
		object[string(health.ClockBack)] = health.Behind(at, newest)
		return object, nil
	}
	return facts, nil
}
