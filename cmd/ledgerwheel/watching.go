package main

import (
	"context"
	"log/slog"
	"slices"
	"sync"
	"time"

	"ledgerwheel/domain/health"
	"ledgerwheel/store"
	"ledgerwheel/store/files"
)

// watching looks at disk and clock, for the pages, for /healthz and before each change.
type watching struct {
	disk  *files.Disk
	store *store.Store
	now   func() time.Time
	log   *slog.Logger

	mu   sync.Mutex
	said []health.Trouble // what the log was told last
}

// learnEvery is how often it is looked at what other copies of the program wrote.
const learnEvery = 30 * time.Second

// startWatching has changes refused that could not be kept, and learns the newest moment of the record.
func (f shopFlags) startWatching(p *program, st *store.Store, folder dataFolder) (*watching, error) {
	folders := []string{string(folder), folder.uploads()}
	if f.Database == "" {
		folders = append(folders, folder.postgres())
	}
	disk, err := files.WatchDisk(folders...)
	if err != nil {
		return nil, err
	}
	w := &watching{disk: disk, store: st, now: time.Now, log: p.env.log}
	st.WhileFit(w.fit)
	ctx, stop := context.WithCancel(context.WithoutCancel(p.env.ctx))
	done := make(chan struct{})
	go func() {
		defer close(done)
		w.run(ctx)
	}()
	p.closers = append(p.closers, func() error { stop(); <-done; return nil })
	return w, nil
}

func (w *watching) run(ctx context.Context) {
	tick := time.NewTicker(learnEvery)
	defer tick.Stop()
	for {
		w.Troubles()
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
		if err := w.store.LearnNewest(ctx); err != nil && ctx.Err() == nil {
			w.log.Warn("the newest entry is not known", "error", err)
		}
	}
}

// Troubles names what is wrong now. It asks the system a few microseconds' questions and the database nothing.
func (w *watching) Troubles() []health.Trouble {
	seen := w.disk.Look()
	seen.Now, seen.Newest = w.now(), w.store.Newest()
	found := health.Judge(seen)
	w.mu.Lock()
	defer w.mu.Unlock()
	if !slices.Equal(found, w.said) {
		w.said = found
		for _, t := range found {
			level := slog.LevelWarn
			if t.Stops() {
				level = slog.LevelError
			}
			w.log.Log(context.Background(), level, t.Title(), "do", t.Sentence())
		}
	}
	return found
}

// fit is an error while nothing could be kept.
func (w *watching) fit() error {
	if t := w.Troubles(); len(t) > 0 && t[0].Stops() {
		return t[0].Err()
	}
	return nil
}
