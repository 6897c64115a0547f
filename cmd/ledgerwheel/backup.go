package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"ledgerwheel/store"
	"ledgerwheel/store/backup"
	"ledgerwheel/store/pgserver"
)

type backupCmd struct {
	Create  backupCreateCmd  `cmd:"" help:"Write the whole shop into one file, whether it is running or stopped."`
	Verify  backupVerifyCmd  `cmd:"" help:"Prove a backup: restore it into a scratch database, and check the record there."`
	Restore backupRestoreCmd `cmd:"" help:"Restore a backup into an empty folder, or an empty database."`
	Key     backupKeyCmd     `cmd:"" help:"Make a pair of keys: backups are encrypted to the public one, the file opens them."`
}

type backupCreateCmd struct {
	To string `help:"The file to write; it must not be there yet." type:"path" required:"" placeholder:"FILE"`
	shopPlace
	lockFlags
	Verify bool `help:"Prove the backup at once."`
}

// Run writes a backup, and says what is not in it.
func (c *backupCreateCmd) Run(e *env) (err error) {
	lock, err := c.lock(e)
	if err != nil {
		return err
	}
	folder, err := c.folder()
	if err != nil {
		return err
	}
	p := &program{env: e}
	defer func() { err = errors.Join(err, p.close()) }()
	if _, err := os.Stat(folder.uploads()); c.Database != "" && err != nil {
		return fmt.Errorf("there are no photographs in %s: name the shop's data folder with --data", folder)
	}
	st, db, err := c.open(p, folder)
	if err != nil {
		return err
	}
	made, err := backup.Create(e.ctx, sourceOf(st, db, folder), c.To, lock)
	if err != nil {
		return fmt.Errorf("no backup was made: %w", oneLine{err})
	}
	sayMade(p, c.To, made)
	id, noteErr := st.NoteBackup(e.ctx, store.BackupRun{At: made.At, Place: c.To, Bytes: made.FileBytes, Encrypted: made.Encrypted})
	if noteErr != nil {
		e.log.Warn("the owner's page does not show this backup", "error", noteErr)
	}
	if !c.Verify {
		p.say("To prove it: ledgerwheel backup verify %s", c.To)
		return nil
	}
	proof, err := backup.Verify(e.ctx, c.To, lock.Witness(), pgserver.Log(e.log))
	if noteErr == nil {
		noteErr = noteProof(e, st, id, proof, err)
	}
	if err != nil {
		return err
	}
	return errors.Join(noteErr, sayProof(p, proof))
}

func sourceOf(st *store.Store, db backup.Database, folder dataFolder) backup.Source {
	return backup.Source{Store: st, Database: db, Folder: string(folder), Uploads: folder.uploads(), Program: release()}
}

func sayMade(p *program, to string, made backup.Made) {
	p.say("Written: %s, %s, encrypted: %s. It holds the record of %s as of %s, with %d files.", to, megabytes(made.FileBytes),
		pick(made.Encrypted, "yes", "no"), shopWords(made.Head), made.At.Format(timeWords), len(made.Members))
	for _, dir := range made.Left {
		p.say("Not in it: the private keys in %s. Copy them to a safe place of their own, or encrypt the backup, which takes them in.", dir)
	}
	if !made.Encrypted {
		p.say("Whoever has the file can read all that the shop knows: keep it as you keep the shop's papers.")
	}
	for _, name := range made.Missing {
		p.say("Missing from the shop, and so from the backup: %s", name)
	}
	for _, name := range made.Altered {
		p.say("Altered in the shop, and copied as it is: %s", name)
	}
	for _, name := range made.Removed {
		p.say("Removed from the shop while the backup was made: %s", name)
	}
}

// timeWords is how the command line writes moments, in UTC.
const timeWords = "2 January 2006 15:04 UTC"

func shopWords(h backup.Head) string {
	if h.Shop == "" {
		return "a shop that was not founded yet"
	}
	return h.Shop
}

func megabytes(n int64) string { return fmt.Sprintf("%.1f MB", float64(n)/1e6) }

type backupVerifyCmd struct {
	File string `arg:"" type:"path" help:"The backup."`
	keyFlags
	NoInstall bool `help:"Do not install PostgreSQL when it is missing." env:"LEDGERWHEEL_NO_INSTALL"`
}

// Run proves a backup and says what was proven.
func (c *backupVerifyCmd) Run(e *env) error {
	key, err := c.key(e, c.File)
	if err != nil {
		return err
	}
	if err := ensurePostgres(e, "", !c.NoInstall); err != nil {
		return err
	}
	proof, err := backup.Verify(e.ctx, c.File, key, pgserver.Log(e.log))
	if err != nil {
		return fmt.Errorf("not proven: %w", oneLine{err})
	}
	return sayProof(&program{env: e}, proof)
}

// errNotWhole makes the command's exit code tell what its lines have told already.
var errNotWhole = errors.New("the backup can be restored, but the record that it holds is not whole")

func sayProof(p *program, proof backup.Proof) error {
	p.say("The record of %s as of %s, by release %s.", shopWords(proof.Head), proof.At.Format(timeWords), proof.Program)
	for _, found := range proof.Findings {
		p.say("Found: %s", found)
	}
	if len(proof.Removed) > 0 {
		p.say("%d files were removed from the shop while it was made; its manifest names them.", len(proof.Removed))
	}
	if !proof.Whole() {
		return errNotWhole
	}
	p.say("Proven. %s", proof.Words())
	return nil
}

type backupRestoreCmd struct {
	File     string `arg:"" type:"path" help:"The backup."`
	Data     string `help:"The folder to restore into; empty, or not there yet." type:"path" required:"" placeholder:"DIR"`
	Database string `help:"Restore the database into this empty one, in place of a private one in the folder." placeholder:"URL"`
	keyFlags
	NoInstall bool `help:"Do not install PostgreSQL when it is missing." env:"LEDGERWHEEL_NO_INSTALL"`
}

// Run restores a backup and says what is to be done next.
func (c *backupRestoreCmd) Run(e *env) error {
	key, err := c.key(e, c.File)
	if err != nil {
		return err
	}
	target := backup.Target{Folder: c.Data, Options: []pgserver.Option{pgserver.Log(e.log)}}
	if c.Database != "" {
		db, err := backup.External(c.Database)
		if err != nil {
			return oneLine{err}
		}
		target.Database = &db
	} else if err := ensurePostgres(e, "", !c.NoInstall); err != nil {
		return err
	}
	r, err := backup.Restore(e.ctx, c.File, key, target)
	if err != nil {
		return fmt.Errorf("nothing was restored: %w", oneLine{err})
	}
	p := &program{env: e}
	folder := dataFolder(c.Data)
	p.say("Restored into %s: the record of %s as of %s.", folder, shopWords(r.Head), r.At.Format(timeWords))
	if !r.Keys {
		p.say("The private keys were not in it: put your copy of %s and %s back, readable by the program's user alone, before the next step.",
			folder.keys(), folder.tls())
	}
	switch n, err := bringErased(c.File, folder); {
	case err != nil:
		return fmt.Errorf("restored, but the list of erased customers beside the backup can't be read: %w", oneLine{err})
	case n > 0:
		p.say("The next step erases again whose data were erased since, by %s beside the backup.", erasedName)
	default:
		p.say("Whose data were erased since is written in %s beside your newest record or backups: put it into %s before the next step.", erasedName, folder)
	}
	database := ""
	if c.Database != "" {
		database = " --database URL"
	}
	p.say("Next: ledgerwheel %s%s --data %s. Everybody signs in again.", pick(folder.isDemo(), "demo", "serve"), database, folder)
	return nil
}

type backupKeyCmd struct {
	To string `help:"The file to write the private key to; it must not be there yet." type:"path" required:"" placeholder:"FILE"`
}

// Run makes a pair of keys. The private one is never overwritten, since backups would be lost with it.
func (c *backupKeyCmd) Run(e *env) error {
	text, public, err := backup.NewIdentity()
	if err != nil {
		return err
	}
	f, err := os.OpenFile(c.To, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if errors.Is(err, os.ErrExist) {
		return fmt.Errorf("%s is there already: a key is never written over anything", c.To)
	}
	if err != nil {
		return err
	}
	defer f.Close()
	if _, err := f.Write(text); err != nil {
		return err
	}
	if err := errors.Join(f.Sync(), f.Close()); err != nil {
		return err
	}
	p := &program{env: e}
	p.say("%s", public)
	fmt.Fprintf(e.stderr, "Backups are encrypted to the key above with --recipient, or --backup-recipient of serve. They are opened with --identity %s:\n"+
		"keep that file away from the backups and from this machine, twice. Without it no encrypted backup can be opened by anyone.\n",
		filepath.Base(c.To))
	return nil
}

// noteProof keeps what became of a backup that was tried.
func noteProof(e *env, st *store.Store, id int64, proof backup.Proof, err error) error {
	switch {
	case err != nil:
		return st.BackupFailed(e.ctx, id, false, oneLine{err}.Error())
	case !proof.Whole():
		return st.BackupFailed(e.ctx, id, true, fmt.Sprintf("It can be restored, but the record is not whole: %s (and %d more).", proof.Findings[0],
			len(proof.Findings)-1))
	}
	return st.BackupProven(e.ctx, id, time.Now(), proof.Words())
}
