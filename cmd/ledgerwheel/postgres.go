package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"ledgerwheel/store/pgserver"
)

type postgresCmd struct {
	Data      string `help:"The shop's data folder." type:"path" env:"LEDGERWHEEL_DATA" placeholder:"DIR"`
	NoInstall bool   `help:"Do not install PostgreSQL when it is missing." env:"LEDGERWHEEL_NO_INSTALL"`
	Scratch   bool   `help:"Run an empty server for tests instead, fast rather than safe, and delete it at the end."`
	StopAtEOF bool   `name:"stop-at-eof" help:"Also stop when standard input ends." hidden:""`
}

// Run runs the server until a signal ends it.
func (c *postgresCmd) Run(e *env) error {
	if c.StopAtEOF {
		ctx, cancel := context.WithCancel(e.ctx)
		e.ctx = ctx
		go func() {
			defer cancel()
			io.Copy(io.Discard, e.stdin) // an error is an end too
		}()
	}
	if c.Scratch {
		return c.scratch(e)
	}
	folder := dataFolder(c.Data)
	if c.Data == "" {
		var err error
		if folder, err = defaultFolder(false); err != nil {
			return err
		}
	}
	return c.hold(e, folder.postgres(), "ledgerwheel")
}

// scratch runs the server in a temporary folder.
func (c *postgresCmd) scratch(e *env) (err error) {
	dir, err := os.MkdirTemp(pgserver.ScratchParent(), "lw-scratch-")
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, os.RemoveAll(dir)) }()
	// The server may run as another user, who has to pass through.
	if err := os.Chmod(dir, 0o711); err != nil {
		return err
	}
	return c.hold(e, filepath.Join(dir, "postgres"), "postgres", pgserver.Durable(false), pgserver.MaxConnections(300))
}

func (c *postgresCmd) hold(e *env, dir, database string, opts ...pgserver.Option) error {
	pg, err := startPostgres(e, dir, !c.NoInstall, opts...)
	if err != nil {
		return err
	}
	fmt.Fprintln(e.stdout, pg.URL(database))
	<-e.ctx.Done()
	return pg.Stop()
}
