package main

import (
	"errors"
	"fmt"
	"os"

	"ledgerwheel/domain/docket"
)

type journalCmd struct {
	Check journalCheckCmd `cmd:"" help:"Check that no journal was changed, cut short or reordered. The program must be stopped, or --database be given."`
}

type journalCheckCmd struct {
	Data      string `help:"The shop's data folder." type:"path" env:"LEDGERWHEEL_DATA" placeholder:"DIR"`
	Database  string `help:"Use the PostgreSQL at this address instead of a private one." env:"LEDGERWHEEL_DATABASE" placeholder:"URL"`
	Demo      bool   `help:"Check the demo shop's journals."`
	NoInstall bool   `help:"Do not install PostgreSQL when it is missing." env:"LEDGERWHEEL_NO_INSTALL"`
}

// errBroken makes the command's exit code tell what its lines have told already.
var errBroken = errors.New("the record has been tampered with or damaged: keep this data folder as it is and " +
	"restore a backup beside it")

// Run reads every docket's journal against the hash that its docket keeps, and names the first entry of each
// that does not hold.
func (c *journalCheckCmd) Run(e *env) (err error) {
	flags := shopFlags{Data: c.Data, Database: c.Database, NoInstall: c.NoInstall}
	folder, err := flags.folder(c.Demo)
	if err != nil {
		return err
	}
	if _, err := os.Stat(folder.postgres()); c.Database == "" && err != nil {
		return fmt.Errorf("no shop is kept in %s: name its folder with --data, or its database with --database", folder)
	}
	p := &program{env: e}
	defer func() { err = errors.Join(err, p.close()) }()
	st, err := flags.openStore(p, folder)
	if err != nil {
		return err
	}
	broken := 0
	checked, err := st.CheckJournals(e.ctx, func(n docket.Number, why error) {
		broken++
		p.say("docket %s: %v", n, why)
	})
	if err != nil {
		return fmt.Errorf("check the journals: %w", err)
	}
	p.say("%d journals checked, %d broken", checked, broken)
	if broken > 0 {
		return errBroken
	}
	return nil
}
