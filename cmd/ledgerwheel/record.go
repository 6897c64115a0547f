package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"time"

	"github.com/schollz/progressbar/v3"
	"golang.org/x/term"

	"ledgerwheel/domain/record"
	"ledgerwheel/store"
	"ledgerwheel/store/files"
	"ledgerwheel/store/keyring"
	"ledgerwheel/store/pgserver"
)

type recordCmd struct {
	Check recordCheckCmd `cmd:"" help:"Hold everything that is evidence against the journals, the log and the seals. The shop may run or be stopped. Exit code 0: whole, 1: something differs, 2: it could not be checked."`
	Seal  recordSealCmd  `cmd:"" help:"Print a seal of the record as it stands, to be kept elsewhere."`
}

// keptFlags say where a shop is kept, for commands beside it.
type keptFlags struct {
	Data      string `help:"The shop's data folder." type:"path" env:"LEDGERWHEEL_DATA" placeholder:"DIR"`
	Database  string `help:"Use the PostgreSQL at this address instead of a private one." env:"LEDGERWHEEL_DATABASE" placeholder:"URL"`
	Demo      bool   `help:"The demo shop."`
	NoInstall bool   `help:"Do not install PostgreSQL when it is missing." env:"LEDGERWHEEL_NO_INSTALL"`
}

// errDiffers makes the command's exit code tell what its lines have told already.
var errDiffers = errors.New("the record differs from what was written: keep this data folder as it is and restore a backup beside it")

// couldNot is an error of what could not be done at all, which is exit code 2.
type couldNot struct{ error }

func (e couldNot) Unwrap() error { return e.error }

// openKept reaches the store of a shop that runs or is stopped, and its data folder, which with --database alone may be
// missing.
func (f keptFlags) openKept(p *program) (*store.Store, dataFolder, error) {
	flags := shopFlags{Data: f.Data, Database: f.Database, NoInstall: f.NoInstall}
	folder, err := flags.folder(f.Demo)
	if err != nil {
		return nil, "", err
	}
	url := f.Database
	if url == "" {
		pg, err := pgserver.Reach(p.env.ctx, folder.postgres(), pgserver.Log(p.env.log))
		if errors.Is(err, pgserver.ErrNoCluster) {
			return nil, "", fmt.Errorf("no shop is kept in %s: name its folder with --data, or its database with --database", folder)
		}
		if err != nil {
			return nil, "", err
		}
		p.closers = append(p.closers, pg.Stop)
		url = pg.URL("ledgerwheel")
	}
	st, err := store.Open(p.env.ctx, url)
	if err != nil {
		return nil, "", oneLine{err}
	}
	p.closers = append(p.closers, func() error { st.Close(); return nil })
	if f.Database != "" && f.Data == "" {
		folder = ""
	}
	return st, folder, nil
}

type recordCheckCmd struct {
	keptFlags
	Seal []string `help:"Also hold the record against this seal, kept elsewhere; may be given several times." type:"existingfile" placeholder:"FILE"`
	JSON bool     `name:"json" help:"Write the findings, one JSON object a line, and at the end what was looked at."`
}

// Run checks the record and says every finding in a sentence.
func (c *recordCheckCmd) Run(e *env) (err error) {
	p := &program{env: e}
	defer func() { err = errors.Join(err, p.close()) }()
	st, folder, err := c.openKept(p)
	if err != nil {
		return couldNot{err}
	}
	check, err := folder.recordCheck(os.Getenv(keyring.EnvName))
	if err != nil {
		return couldNot{err}
	}
	for _, name := range c.Seal {
		text, err := os.ReadFile(name)
		if err != nil {
			return couldNot{err}
		}
		check.Seals = append(check.Seals, text)
	}
	if f, ok := e.stderr.(*os.File); ok && term.IsTerminal(int(f.Fd())) {
		bar := progressbar.NewOptions64(1, progressbar.OptionSetWriter(f), progressbar.OptionSetDescription("dockets"), progressbar.OptionSetWidth(30),
			progressbar.OptionThrottle(100*time.Millisecond), progressbar.OptionShowCount(), progressbar.OptionClearOnFinish())
		defer bar.Finish()
		check.Progress = func(done, total int64) { bar.ChangeMax64(total); bar.Set64(done) }
	}
	out := json.NewEncoder(e.stdout)
	checked, err := st.CheckRecord(e.ctx, check, func(f record.Finding) {
		if c.JSON {
			out.Encode(f)
			return
		}
		p.say("%s", f.Sentence)
	})
	if err != nil {
		return couldNot{err}
	}
	if c.JSON {
		out.Encode(checked)
	} else {
		for _, line := range checked.Words(check.Held()) {
			p.say("%s", line)
		}
	}
	if checked.Findings > 0 {
		return errDiffers
	}
	return nil
}

// recordCheck gathers what a data folder has to hold a record against; the zero folder has nothing.
func (d dataFolder) recordCheck(given string) (store.RecordCheck, error) {
	var c store.RecordCheck
	keys := string(d)
	if d != "" {
		keys = d.keys()
	}
	ring, err := keyring.Open(keys, given)
	if err != nil {
		return c, err
	}
	if c.Secrets, err = journalSecrets(ring); err != nil || d == "" {
		return c, err
	}
	if _, err := os.Stat(d.uploads()); err == nil {
		if c.Files, err = files.Open(d.uploads()); err != nil {
			return c, err
		}
	} else if !errors.Is(err, fs.ErrNotExist) {
		return c, err
	}
	if _, err := os.Stat(d.seals()); errors.Is(err, fs.ErrNotExist) {
		return c, nil
	}
	seals, err := files.OpenSeals(d.seals())
	if err != nil {
		return c, err
	}
	if c.SealKeys, err = seals.Keys(); err != nil {
		return c, err
	}
	c.Seals, err = seals.All()
	return c, err
}

func journalSecrets(ring *keyring.Ring) (record.Secrets, error) {
	list, err := ring.List(keyring.Journal)
	if err != nil {
		return nil, err
	}
	var secrets record.Secrets
	for _, k := range list {
		seed, err := ring.Seed(k.Purpose, k.ID)
		if err != nil {
			return nil, err
		}
		s, err := record.NewSecret(seed)
		if err != nil {
			return nil, err
		}
		secrets = append(secrets, s)
	}
	return secrets, nil
}

type recordSealCmd struct {
	keptFlags
	NewKey bool `help:"Begin a new key for the seals; seals made before keep theirs."`
}

// Run makes a seal, keeps it in the record and in the data folder, and prints it.
func (c *recordSealCmd) Run(e *env) (err error) {
	p := &program{env: e}
	defer func() { err = errors.Join(err, p.close()) }()
	st, folder, err := c.openKept(p)
	if err != nil {
		return couldNot{err}
	}
	if folder == "" {
		return couldNot{errors.New("seals are signed with a key of the data folder: name it with --data beside --database")}
	}
	s, err := newSealer(st, folder, nil, e.log)
	if err != nil {
		return couldNot{err}
	}
	if c.NewKey {
		if err := s.newKey(); err != nil {
			return err
		}
	}
	made, err := s.seal(context.WithoutCancel(e.ctx), time.Now(), true)
	if err != nil {
		return err
	}
	_, err = e.stdout.Write(made.Text)
	return err
}
