package main

import (
	"errors"
	"fmt"
	"os"
	"time"

	"github.com/schollz/progressbar/v3"
	"golang.org/x/term"

	"ledgerwheel/cmd/ledgerwheel/demoshop"
	"ledgerwheel/store/files"
)

type seedCmd struct {
	Dockets   int    `help:"How many dockets the shop is to have." required:"" placeholder:"N"`
	Years     int    `help:"Over how many years they lie." default:"5"`
	Number    uint64 `help:"Another number makes other customers, watches and days." default:"1"`
	Data      string `help:"Folder for everything that is kept: empty, or one that seed began." type:"path" env:"LEDGERWHEEL_DATA" placeholder:"DIR"`
	Database  string `help:"Use the PostgreSQL at this address instead of a private one." env:"LEDGERWHEEL_DATABASE" placeholder:"URL"`
	NoInstall bool   `help:"Do not install PostgreSQL when it is missing." env:"LEDGERWHEEL_NO_INSTALL"`
}

// The most that a year can number, and that anybody wants to look back.
const (
	mostSeeded = 20_000_000
	mostYears  = 40
)

// Validate is asked by the command line's parser before anything runs.
func (c *seedCmd) Validate() error {
	switch {
	case c.Data == "":
		return errors.New("--data names the folder of the shop that is made, an empty one, or one that seed began")
	case c.Dockets < 1 || c.Dockets > mostSeeded:
		return fmt.Errorf("--dockets takes 1 to %d", mostSeeded)
	case c.Years < 1 || c.Years > mostYears:
		return fmt.Errorf("--years takes 1 to %d", mostYears)
	}
	return nil
}

// Run fills the shop and says how to sign in.
func (c *seedCmd) Run(e *env) (err error) {
	p := &program{env: e}
	defer func() { err = errors.Join(err, p.close()) }()
	flags := shopFlags{Data: c.Data, Database: c.Database, NoInstall: c.NoInstall}
	folder := dataFolder(c.Data)
	if err := folder.prepare(false); err != nil {
		return err
	}
	st, err := flags.openStore(p, folder)
	if err != nil {
		return err
	}
	if err := flags.openKeys(st, folder); err != nil {
		return err
	}
	if err := st.Migrate(e.ctx); err != nil {
		return err
	}
	if _, err := files.Open(folder.uploads()); err != nil {
		return err
	}
	in := demoshop.Seeding{Dockets: c.Dockets, Years: c.Years, Number: c.Number, Until: time.Now()}
	if f, ok := e.stderr.(*os.File); ok && term.IsTerminal(int(f.Fd())) {
		bar := progressbar.NewOptions64(int64(c.Dockets), progressbar.OptionSetWriter(f), progressbar.OptionSetDescription("dockets"), progressbar.OptionSetWidth(30),
			progressbar.OptionThrottle(100*time.Millisecond), progressbar.OptionShowCount(), progressbar.OptionShowIts(), progressbar.OptionSetPredictTime(true), progressbar.OptionClearOnFinish())
		defer bar.Finish()
		in.Progress = func(done int) { bar.Set(done) }
	}
	began := time.Now()
	people, err := demoshop.Seed(e.ctx, st, in)
	if err != nil {
		return err
	}
	p.say("The shop has its %d dockets, after %s. They are taken into the log now, and their figures worked out.", c.Dockets, time.Since(began).Round(time.Second))
	if _, err := st.Integrate(e.ctx); err != nil {
		return err
	}
	if _, err := st.RefreshOutcomes(e.ctx); err != nil {
		return err
	}
	p.say("Done after %s. Open it with: ledgerwheel serve --data %s", time.Since(began).Round(time.Second), c.Data)
	for i, s := range people {
		if i == 0 {
			p.say("Sign in as (the passwords are said this once):")
		}
		p.say("  %-12s %-28s password %s", s.Role, s.Email, s.Password)
	}
	return nil
}
