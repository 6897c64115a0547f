package main

import "time"

type serveCmd struct {
	shopFlags
	nightlyFlags
	mailFlags
	SetupKey string `help:"Key asked when the first owner is made, but for a page opened on this machine at 127.0.0.1. Unset, one is made up and printed." env:"LEDGERWHEEL_SETUP_KEY" placeholder:"KEY"`
}

// Run serves the shop until a signal ends it.
func (c *serveCmd) Run(e *env) error {
	key := c.SetupKey
	if key == "" {
		key = newKey()
	}
	backups, err := c.nightly(e)
	if err != nil {
		return err
	}
	if c.mailServer, err = c.account(); err != nil {
		return err
	}
	p, err := c.start(e, false, key, backups.words(), backups.checkAt())
	if err != nil {
		return err
	}
	if err := p.deps.Store.EnsureRateLimits(e.ctx, time.Now()); err != nil {
		return closing(p, err)
	}
	if err := p.deps.Store.HoldClock(e.ctx); err != nil {
		return closing(p, err)
	}
	first, err := p.needsOwner()
	if err != nil {
		return closing(p, err)
	}
	p.say("Ledgerwheel is ready: %s", address(c.scheme(), p.listener))
	p.sayTLS()
	if first {
		p.say("Open it to create the owner. At another address than 127.0.0.1, and from other machines, this key is asked for: %s", key)
	}
	if backups != nil {
		p.deps.Erased.also(backups.dir)
		backups.start(p)
	}
	startErasing(p)
	if err := p.startPost(); err != nil {
		return closing(p, err)
	}
	return p.serve()
}
