package main

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"sync"
	"time"

	"ledgerwheel/domain/record"
	"ledgerwheel/store"
	"ledgerwheel/store/files"
	"ledgerwheel/store/keyring"
)

// sealer takes entries into the log as they are written, and seals the log every hour in which something was written
// and once a day, in its first hour, in any case.
type sealer struct {
	store  *store.Store
	keys   *keyring.Ring
	folder *files.Seals
	also   []*files.Seals // folders that the owner named
	log    *slog.Logger

	mu     sync.Mutex
	failed error // what stands against the newest attempt to seal
}

// newSealer opens the folders: the data folder's own, and those named beside it.
func newSealer(st *store.Store, folder dataFolder, also []string, log *slog.Logger) (*sealer, error) {
	keys := st.Keys()
	if keys == nil {
		var err error
		if keys, err = keyring.Open(folder.keys(), os.Getenv(keyring.EnvName)); err != nil {
			return nil, err
		}
	}
	own, err := files.OpenSeals(folder.seals())
	if err != nil {
		return nil, err
	}
	s := &sealer{store: st, keys: keys, folder: own, log: log}
	for _, dir := range also {
		f, err := files.OpenSeals(dir)
		if err != nil {
			return nil, err
		}
		s.also = append(s.also, f)
	}
	return s, nil
}

const (
	// gathering is how long entries are gathered before they are taken into the log together.
	gathering = 300 * time.Millisecond
	// lookAfter is how often the log is looked after though nothing seems to have been written here: another copy may
	// have been killed.
	lookAfter = 30 * time.Second
	sealEvery = time.Hour
	// outlookEvery is how often promised days are worked out at most: all of them, whichever docket moved.
	outlookEvery = 2 * time.Second
)

// run works until ctx ends.
func (s *sealer) run(ctx context.Context) {
	s.attempt(ctx, time.Now())
	look, hour := time.NewTicker(lookAfter), time.NewTicker(sealEvery)
	defer look.Stop()
	defer hour.Stop()
	var outlooked time.Time // when promised days were worked out
	var stale bool          // a docket has changed since
	for {
		select {
		case <-ctx.Done():
			return
		case <-hour.C:
			s.attempt(ctx, time.Now())
			continue
		case <-look.C:
		case <-s.store.Wrote():
			select {
			case <-ctx.Done():
				return
			case <-time.After(gathering):
			}
		}
		if _, err := s.store.Integrate(ctx); err != nil && ctx.Err() == nil {
			s.log.Error("entries wait for the log", "error", err)
		}
		moved, err := s.store.RefreshOutcomes(ctx)
		if err != nil && ctx.Err() == nil {
			s.log.Error("the figures wait to be worked out", "error", err)
		}
		stale = stale || moved > 0
		if now := time.Now(); stale && now.Sub(outlooked) > outlookEvery || now.Sub(outlooked) > sealEvery {
			if _, err := s.store.RefreshOutlooks(ctx, now); err != nil && ctx.Err() == nil {
				s.log.Error("the promised days wait to be worked out", "error", err)
			}
			outlooked, stale = now, false
		}
	}
}

// attempt seals what was added since the newest seal; the first time in a day it seals in any case, so that there is a
// seal of every night, or of the first hour after a night in which the machine was off.
func (s *sealer) attempt(ctx context.Context, at time.Time) {
	newest, found, err := s.store.NewestSeal(ctx)
	if err == nil {
		newest, err = s.seal(ctx, at, !found || newest.At.In(at.Location()).Format(time.DateOnly) != at.Format(time.DateOnly))
	}
	if len(newest.Text) > 0 && err == nil { // the first of a day goes to the address outside the shop, if one is set
		_, err = s.store.QueueSealMail(ctx, newest, at)
	}
	if ctx.Err() != nil {
		return
	}
	if err != nil {
		s.log.Error("the sealing failed", "error", err)
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.failed = err
}

// Failed is what stands against the newest attempt to seal; nil where it was made.
func (s *sealer) Failed() error {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.failed
}

// Folders are where seals are kept beside the record, the data folder's first.
func (s *sealer) Folders() []string {
	var dirs []string
	for _, f := range s.folders() {
		dirs = append(dirs, f.Dir())
	}
	return dirs
}

func (s *sealer) folders() []*files.Seals { return append([]*files.Seals{s.folder}, s.also...) }

// seal seals the record, if it still holds what the newest seals of all folders say, and keeps the seal in every folder. A
// folder that can't be reached is an error, and keeps no seal out of the others.
func (s *sealer) seal(ctx context.Context, at time.Time, always bool) (record.Seal, error) {
	_, seed, err := s.keys.Secret(keyring.Seal)
	if err != nil {
		return record.Seal{}, err
	}
	var earlier []record.Seal
	var away []error
	for _, f := range s.folders() {
		newest, found, err := f.Newest()
		if err != nil {
			away = append(away, err)
		} else if found {
			earlier = append(earlier, newest)
		}
	}
	made, err := s.store.Seal(ctx, seed, at, earlier, always)
	if err != nil {
		return record.Seal{}, errors.Join(append(away, err)...)
	}
	_, verifier, err := record.SealKey(made.Origin, seed)
	if err != nil {
		return record.Seal{}, err
	}
	for _, f := range s.folders() {
		if err := f.Keep(made, verifier); err != nil {
			away = append(away, err)
		}
	}
	return made, errors.Join(away...)
}

// newKey begins another key for the seals.
func (s *sealer) newKey() error {
	seed := make([]byte, keyring.SeedBytes)
	rand.Read(seed) // never fails, as crypto/rand documents
	if err := s.keys.Keep(keyring.Seal, "k"+time.Now().UTC().Format("20060102T150405"), seed); err != nil {
		return fmt.Errorf("new key of the seals: %w", err)
	}
	return nil
}
