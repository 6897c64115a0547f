package main

import (
	"errors"
	"fmt"
	"os"

	"ledgerwheel/store"
	"ledgerwheel/store/backup"
	"ledgerwheel/store/pgserver"
)

// shopPlace is where a command finds a shop that is running or stopped.
type shopPlace struct {
	Data      string `help:"The shop's data folder." type:"path" env:"LEDGERWHEEL_DATA" placeholder:"DIR"`
	Database  string `help:"The shop's database, where it is not in the data folder." env:"LEDGERWHEEL_DATABASE" placeholder:"URL"`
	Demo      bool   `help:"The demo shop."`
	NoInstall bool   `help:"Do not install PostgreSQL when it is missing." env:"LEDGERWHEEL_NO_INSTALL"`
}

func (f shopPlace) folder() (dataFolder, error) { return shopFlags{Data: f.Data}.folder(f.Demo) }

// open opens the record, and the database for PostgreSQL's own programs. A private server that is not running is
// started, and stopped again when the program is closed.
func (f shopPlace) open(p *program, folder dataFolder) (*store.Store, backup.Database, error) {
	db, err := f.database(p, folder)
	if err != nil {
		return nil, db, err
	}
	st, err := store.Open(p.env.ctx, db.URL)
	if err != nil {
		return nil, db, oneLine{err}
	}
	p.closers = append(p.closers, func() error { st.Close(); return nil })
	return st, db, nil
}

func (f shopPlace) database(p *program, folder dataFolder) (backup.Database, error) {
	if f.Database != "" {
		return backup.External(f.Database)
	}
	if _, err := os.Stat(folder.postgres()); err != nil {
		return backup.Database{}, fmt.Errorf("no shop is kept in %s: name its folder with --data, or its database with --database", folder)
	}
	if err := ensurePostgres(p.env, folder.postgres(), !f.NoInstall); err != nil {
		return backup.Database{}, err
	}
	server, err := pgserver.Reach(p.env.ctx, folder.postgres(), pgserver.Log(p.env.log))
	if errors.Is(err, pgserver.ErrNoCluster) {
		return backup.Database{}, fmt.Errorf("%w: name its folder with --data, or its database with --database", err)
	}
	if err != nil {
		return backup.Database{}, err
	}
	p.closers = append(p.closers, server.Stop)
	return backup.Private(server), nil
}

// ensurePostgres makes sure that PostgreSQL's programs are there for the server folder dir, installing them where that
// is possible and allowed.
func ensurePostgres(e *env, dir string, install bool) error {
	if err := pgserver.Supported(); err != nil {
		return err
	}
	_, err := pgserver.NewInstaller(e.stderr).Ensure(e.ctx, dir, install)
	return err
}
