package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"time"

	"ledgerwheel/store"
)

// erasedName is the file that says, beside a record and beside its backups, whose data were erased: numbers and moments,
// no names. Whoever restores an older backup has them erased again by it.
const erasedName = "erased.txt"

// erasedList keeps that file, in the data folder and beside the backups.
type erasedList struct {
	mu      sync.Mutex
	folders []string
}

// also keeps the file in another folder too.
func (l *erasedList) also(folder string) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.folders = append(l.folders, folder)
}

// write writes the list into every folder, whole or not at all.
func (l *erasedList) write(list []store.ErasedID) error {
	l.mu.Lock()
	defer l.mu.Unlock()
	var b strings.Builder
	for _, one := range list {
		fmt.Fprintf(&b, "%d %s\n", one.ID, one.At.UTC().Format(time.RFC3339Nano))
	}
	var failed error
	for _, folder := range l.folders {
		path := filepath.Join(folder, erasedName)
		if err := os.WriteFile(path+".new", []byte(b.String()), 0o600); err != nil {
			failed = errors.Join(failed, err)
			continue
		}
		failed = errors.Join(failed, os.Rename(path+".new", path))
	}
	return failed
}

// readErased reads the list of a folder; one that has none is empty.
func readErased(folder string) ([]store.ErasedID, error) {
	f, err := os.Open(filepath.Join(folder, erasedName))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	defer f.Close()
	var list []store.ErasedID
	lines := bufio.NewScanner(f)
	for lines.Scan() {
		var one store.ErasedID
		var at string
		if _, err := fmt.Sscanf(lines.Text(), "%d %s", &one.ID, &at); err != nil {
			return nil, fmt.Errorf("%s: %q is no line of it", f.Name(), lines.Text())
		}
		if one.At, err = time.Parse(time.RFC3339Nano, at); err != nil {
			return nil, fmt.Errorf("%s: %w", f.Name(), err)
		}
		list = append(list, one)
	}
	return list, lines.Err()
}

// eraseAgain erases those whose data came back with a restored record, and writes down who is erased now.
func (l *erasedList) eraseAgain(ctx context.Context, st *store.Store, folder string, now time.Time) (int, error) {
	list, err := readErased(folder)
	if err != nil {
		return 0, err
	}
	n, err := st.EraseAgain(ctx, list, today(ctx, st, now), now)
	if err != nil {
		return n, err
	}
	if list, err = st.ErasedIDs(ctx); err != nil {
		return n, err
	}
	if len(list) == 0 {
		return n, nil
	}
	return n, l.write(list)
}

// today is the shop's civil day, midnight UTC; before there is a shop, UTC's.
func today(ctx context.Context, st *store.Store, now time.Time) time.Time {
	loc := time.UTC
	if sh, err := st.Shop(ctx); err == nil {
		loc = sh.Location()
	}
	y, m, d := now.In(loc).Date()
	return time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
}

// finishEvery is how often it is looked whether name and address of somebody need not stay any longer.
const finishEvery = 6 * time.Hour

// startErasing erases again what a restored record brought back, and from then on takes name and address of those whose
// invoices need not show them any more.
func startErasing(p *program) {
	d := p.deps
	n, err := d.Erased.eraseAgain(p.env.ctx, d.Store, string(p.folder), time.Now())
	if err != nil {
		d.Log.Error("who was erased before could not be erased again", "error", err)
	} else if n > 0 {
		p.say("The record is from before %d erasures, which were done again.", n)
	}
	ctx, cancel := context.WithCancel(p.env.ctx)
	var done sync.WaitGroup
	done.Go(func() {
		for {
			if n, err := d.Store.FinishErasures(ctx, today(ctx, d.Store, time.Now()), time.Now()); err != nil && ctx.Err() == nil {
				d.Log.Error("erasures were not finished", "error", err)
			} else if n > 0 {
				d.Log.Info("name and address went of customers whose invoices need not show them any more", "customers", n)
			}
			select {
			case <-ctx.Done():
				return
			case <-time.After(finishEvery):
			}
		}
	})
	p.closers = append(p.closers, func() error {
		cancel()
		done.Wait()
		return nil
	})
}

// bringErased puts the list that lies beside a backup beside the record that was restored from it.
func bringErased(backupFile string, folder dataFolder) (int, error) {
	list, err := readErased(filepath.Dir(backupFile))
	if err != nil || len(list) == 0 {
		return 0, err
	}
	l := erasedList{folders: []string{string(folder)}}
	return len(list), l.write(list)
}
