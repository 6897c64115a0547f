package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"time"

	"ledgerwheel/domain"
	rules "ledgerwheel/domain/backup"
	"ledgerwheel/domain/shop"
	"ledgerwheel/store"
	"ledgerwheel/store/backup"
	"ledgerwheel/store/pgserver"
)

// nightlyFlags have serve back the shop up by itself.
type nightlyFlags struct {
	BackupTo        string   `help:"Folder into which the shop is backed up every night; best on another disk." type:"path" env:"LEDGERWHEEL_BACKUP_TO" placeholder:"DIR"`
	BackupAt        string   `help:"When, in the shop's time zone." default:"02:30" env:"LEDGERWHEEL_BACKUP_AT" placeholder:"HH:MM"`
	BackupRecipient []string `help:"Encrypt the nightly backups to this public key (age1...), such as ledgerwheel backup key makes. May be given more than once." env:"LEDGERWHEEL_BACKUP_RECIPIENTS" placeholder:"KEY"`
}

// nightly makes the backups of a running shop.
type nightly struct {
	env    *env
	source backup.Source
	dir    string
	at     rules.Clock
	lock   backup.Lock
	// warmUp is how long the program runs before it makes up for a night that it missed.
	warmUp time.Duration
	tried  time.Time // when one was last begun by this run of the program
	failed bool
}

// nightly is the maker of backups that the flags ask for; nil for none.
func (f nightlyFlags) nightly(e *env) (*nightly, error) {
	at, err := rules.ParseClock(f.BackupAt)
	if err != nil {
		return nil, fmt.Errorf("--backup-at: %w", err)
	}
	n := &nightly{env: e, dir: f.BackupTo, at: at, warmUp: time.Minute}
	if len(f.BackupRecipient) > 0 {
		if n.lock, err = backup.RecipientLock(f.BackupRecipient); err != nil {
			return nil, fmt.Errorf("--backup-recipient: %w", err)
		}
	}
	if f.BackupTo == "" {
		return nil, nil
	}
	return n, nil
}

// words say to the owner what is done every night; "" for nothing.
func (n *nightly) words() string {
	if n == nil {
		return ""
	}
	return fmt.Sprintf("Every night at %s a backup is made in %s and proven%s.", n.at, n.dir,
		pick(n.lock.Encrypts(), "; it is encrypted, and the private keys are in it", "; it is not encrypted, and the private keys are not in it"))
}

// start runs the maker until the program is closed.
func (n *nightly) start(p *program) {
	n.source = sourceOf(p.deps.Store, p.database, p.folder)
	ctx, cancel := context.WithCancel(p.env.ctx)
	var done sync.WaitGroup
	done.Go(func() { n.run(ctx) })
	p.closers = append(p.closers, func() error {
		cancel()
		done.Wait()
		return nil
	})
}

// look is how often the time is looked at, since clocks are set and time zones changed.
const look = time.Minute

func (n *nightly) run(ctx context.Context) {
	for wait := n.warmUp; ; wait = look {
		select {
		case <-ctx.Done():
			return
		case <-time.After(wait):
		}
		sh, due, err := n.due(ctx, time.Now())
		if err != nil {
			n.env.log.Error("whether a backup is due can't be told", "error", err)
		} else if due {
			n.make(ctx, sh.Location())
		}
	}
}

// due reports whether a backup is due now. A shop that was not founded yet has nothing to lose.
func (n *nightly) due(ctx context.Context, now time.Time) (sh shop.Shop, due bool, err error) {
	sh, found, err := n.shop(ctx)
	if err != nil || !found {
		return sh, false, err
	}
	runs, err := n.source.Store.NightlyBackups(ctx, now)
	if err != nil {
		return sh, false, err
	}
	last, failed := n.tried, n.failed
	if len(runs) > 0 && runs[0].At.After(last) {
		last, failed = runs[0].At, runs[0].Failed != "" && !runs[0].Restored
	}
	return sh, !now.Before(rules.Due(last, failed, now, n.at, sh.Location())), nil
}

// make makes one backup, proves it, and thins out the earlier ones.
func (n *nightly) make(ctx context.Context, zone *time.Location) {
	began := time.Now()
	n.tried, n.failed = began, true
	n.sweep(began)
	to := filepath.Join(n.dir, rules.Name(began, n.lock.Encrypts()))
	made, err := backup.Create(ctx, n.source, to, n.lock)
	if ctx.Err() != nil {
		return // the program ends; the next one makes up for it
	}
	run := store.BackupRun{At: made.At, Nightly: true, Place: to, Bytes: made.FileBytes, Encrypted: n.lock.Encrypts()}
	if err != nil {
		run.At, run.Failed = began, oneLine{err}.Error()
	}
	id, noteErr := n.source.Store.NoteBackup(ctx, run)
	if err = errors.Join(err, noteErr); err != nil {
		n.env.log.Error("no backup was made", "to", to, "error", oneLine{err})
		return
	}
	proof, err := backup.Verify(ctx, to, n.lock.Witness(), pgserver.Log(n.env.log))
	if ctx.Err() != nil {
		return
	}
	noteErr = noteProof(n.env, n.source.Store, id, proof, err)
	switch {
	case err != nil || noteErr != nil:
		n.env.log.Error("the backup is not proven", "file", to, "error", oneLine{errors.Join(err, noteErr)})
		return
	case !proof.Whole():
		n.env.log.Error("the record is not whole", "found", proof.Findings[0], "findings", len(proof.Findings), "file", to)
	default:
		n.env.log.Info("backup made and proven", "file", to, "bytes", made.FileBytes, "took", time.Since(began).Round(time.Second))
	}
	n.failed = false
	if err := n.thin(ctx, time.Now(), zone); err != nil {
		n.env.log.Error("earlier backups can't be looked through", "error", err)
	}
}

func (n *nightly) shop(ctx context.Context) (sh shop.Shop, found bool, err error) {
	sh, err = n.source.Store.Shop(ctx)
	if errors.Is(err, domain.ErrNotFound) {
		return sh, false, nil
	}
	return sh, err == nil, err
}

// thin deletes the backups that need not be kept, of those that this shop has noted in this folder, and notes which are
// no longer there.
func (n *nightly) thin(ctx context.Context, now time.Time, zone *time.Location) error {
	runs, err := n.source.Store.NightlyBackups(ctx, now)
	if err != nil {
		return err
	}
	var there []store.BackupRun
	var kept []rules.Kept
	for _, run := range runs {
		if run.Bytes == 0 || filepath.Dir(run.Place) != filepath.Clean(n.dir) {
			continue
		}
		_, err := os.Lstat(run.Place)
		gone := errors.Is(err, fs.ErrNotExist)
		if gone != !run.GoneAt.IsZero() {
			at := now
			if !gone {
				at = time.Time{}
			}
			if err := n.source.Store.BackupGone(ctx, run.ID, at); err != nil {
				return err
			}
		}
		if !gone {
			there, kept = append(there, run), append(kept, rules.Kept{At: run.At, Worth: worth(run)})
		}
	}
	for _, i := range rules.Superfluous(kept, now, zone) {
		if err := os.Remove(there[i].Place); err != nil {
			return err
		}
		if err := n.source.Store.BackupGone(ctx, there[i].ID, now); err != nil {
			return err
		}
	}
	return nil
}

func worth(run store.BackupRun) rules.Worth {
	switch {
	case !run.ProvenAt.IsZero():
		return rules.Proven
	case run.Restored:
		return rules.Faithful
	}
	return rules.Unproven
}

// sweep clears away what a killed program left half written a day ago or earlier.
func (n *nightly) sweep(now time.Time) {
	parts, _ := filepath.Glob(filepath.Join(n.dir, ".ledgerwheel-*.part-*")) // the pattern is well formed
	for _, part := range parts {
		if info, err := os.Lstat(part); err == nil && info.Mode().IsRegular() && now.Sub(info.ModTime()) > 24*time.Hour &&
			strings.Contains(part, ".backup") {
			if err := os.Remove(part); err != nil {
				n.env.log.Warn("what a killed program left of a backup stays", "file", part, "error", err)
			}
		}
	}
}
