package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"

	"ledgerwheel/store/backup"
	"ledgerwheel/store/pgserver"
)

// demoMark is the file that marks a data folder as the demo's, so that its known passwords never come near a real
// shop's data and `demo --fresh` never deletes any.
const demoMark = "demo-shop"

// dataFolder is everything that a shop keeps outside an existing database.
type dataFolder string

func (d dataFolder) postgres() string { return filepath.Join(string(d), "postgres") }
func (d dataFolder) uploads() string  { return filepath.Join(string(d), "uploads") }
func (d dataFolder) keys() string     { return filepath.Join(string(d), "keys") }
func (d dataFolder) seals() string    { return filepath.Join(string(d), "seals") }
func (d dataFolder) tls() string      { return filepath.Join(string(d), "tls") }

// defaultFolder is the data folder where none was given: never the current one, and for root one that the server's
// user may enter, which root's home is not.
func defaultFolder(demo bool) (dataFolder, error) {
	if runtime.GOOS != "windows" && os.Geteuid() == 0 {
		return dataFolder(filepath.Join("/var/lib/ledgerwheel", pick(demo, "demo", "shop"))), nil
	}
	base, err := dataHome()
	if err != nil {
		return "", fmt.Errorf("no place for the data folder is known (%w): give one with --data", err)
	}
	return dataFolder(filepath.Join(base, pick(demo, "ledgerwheel-demo", "ledgerwheel"))), nil
}

// dataHome is where the system's programs keep a person's data; on Linux as the XDG Base Directory Specification says.
func dataHome() (string, error) {
	switch runtime.GOOS {
	case "windows":
		if dir := os.Getenv("LOCALAPPDATA"); dir != "" {
			return dir, nil
		}
		return "", errors.New("LOCALAPPDATA is not set")
	case "darwin":
		return os.UserConfigDir() // Library/Application Support
	}
	if dir := os.Getenv("XDG_DATA_HOME"); filepath.IsAbs(dir) {
		return dir, nil
	}
	home, err := os.UserHomeDir()
	return filepath.Join(home, ".local", "share"), err
}

func pick(demo bool, yes, no string) string {
	if demo {
		return yes
	}
	return no
}

// prepare makes the folder, or makes sure that one already there is of the right kind.
func (d dataFolder) prepare(demo bool) error {
	entries, err := os.ReadDir(string(d))
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("the data folder %s cannot be used: %w", d, err)
	}
	marked := d.isDemo()
	switch {
	case backup.Unfinished(string(d)):
		return fmt.Errorf("a restore into the folder %s was cut off: delete what is in it and restore the backup again", d)
	case demo && !marked && len(entries) > 0:
		return fmt.Errorf("the folder %s holds other data than the demo's: give the demo a folder of its own with --data", d)
	case !demo && marked:
		return fmt.Errorf("the folder %s holds the demo shop, whose passwords everybody knows: give another with --data", d)
	}
	if err := pgserver.MakeFolder(string(d)); err != nil {
		return err
	}
	if demo && !marked {
		note := []byte("The demo shop's data. `ledgerwheel demo --fresh` deletes it.\n")
		if err := os.WriteFile(filepath.Join(string(d), demoMark), note, 0o644); err != nil {
			return fmt.Errorf("the data folder %s cannot be used: %w", d, err)
		}
	}
	return nil
}

func (d dataFolder) isDemo() bool {
	info, err := os.Lstat(filepath.Join(string(d), demoMark))
	return err == nil && info.Mode().IsRegular()
}

// empty deletes the demo's data, and nothing but the demo's.
func (d dataFolder) empty() error {
	if !d.isDemo() {
		return nil // prepare refuses whatever else may be there
	}
	if err := pgserver.Remove(d.postgres()); err != nil {
		return err
	}
	if err := os.RemoveAll(d.uploads()); err != nil {
		return fmt.Errorf("the demo's photographs cannot be deleted: %w", err)
	}
	if err := os.RemoveAll(d.keys()); err != nil {
		return fmt.Errorf("the demo's signing keys cannot be deleted: %w", err)
	}
	if err := os.RemoveAll(d.seals()); err != nil {
		return fmt.Errorf("the demo's seals cannot be deleted: %w", err)
	}
	return nil
}
