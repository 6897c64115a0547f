package main

import (
	"context"
	"os"
	"sync"
	"time"

	rules "ledgerwheel/domain/backup"
	"ledgerwheel/store"
	"ledgerwheel/store/keyring"
)

// checkAt is when the record is checked every night, in the shop's zone, where no backup is made: 03:30.
const checkAt rules.Clock = 3*60 + 30

// checkAt is an hour after the nightly backup, which reads as much.
func (n *nightly) checkAt() rules.Clock {
	if n == nil {
		return checkAt
	}
	return (n.at + 60) % (24 * 60)
}

// startChecking has the record checked every night, and on the owner's word, until the program ends.
func startChecking(p *program, st *store.Store, folder dataFolder, at rules.Clock) *store.Checker {
	checker := store.NewChecker(st, func() (store.RecordCheck, error) {
		return folder.recordCheck(os.Getenv(keyring.EnvName))
	}, time.Now, p.env.log)
	ctx, stop := context.WithCancel(p.env.ctx)
	var done sync.WaitGroup
	done.Go(func() { checker.Nightly(ctx, at, time.Minute) })
	p.closers = append(p.closers, func() error {
		stop()
		done.Wait()
		return checker.Close()
	})
	return checker
}
