package main

import (
	"errors"
	"time"
)

type demoCmd struct {
	shopFlags
	Fresh bool `help:"Delete the demo's data of earlier runs and begin again."`
}

// Run serves the demo shop until a signal ends it. What was done in it is kept for the next run.
func (c *demoCmd) Run(e *env) error {
	if c.Fresh {
		if err := c.begin(); err != nil {
			return err
		}
	}
	p, err := c.start(e, true, "", "", checkAt)
	if err != nil {
		return err
	}
	people, err := seedDemo(e.ctx, p.deps)
	if err != nil {
		return closing(p, err)
	}
	p.deps.Sealing.attempt(e.ctx, time.Now()) // with the shop's history, not only from the next hour on
	if err := p.deps.Store.HoldClock(e.ctx); err != nil {
		return closing(p, err)
	}
	if err := p.startPost(); err != nil {
		return closing(p, err)
	}
	p.say("The demo shop, Tern Quay Watch Works in Saltby, is open: %s", address(c.scheme(), p.listener))
	p.sayTLS()
	for i, s := range people {
		if i == 0 {
			p.say("Sign in as:")
		}
		p.say("  %-12s %-28s password %s", s.Role, s.Email, s.Password)
	}
	return p.serve()
}

// begin clears the demo's folder.
func (c *demoCmd) begin() error {
	if c.Database != "" {
		return errors.New("--fresh deletes the demo's own folder alone: empty the database given with --database yourself")
	}
	folder, err := c.folder(true)
	if err != nil {
		return err
	}
	return folder.empty()
}

// closing ends a program that was started in vain.
func closing(p *program, err error) error { return errors.Join(err, p.close()) }
