package main

import (
	"bufio"
	"errors"
	"fmt"
	"os"
	"strings"

	"golang.org/x/term"

	"ledgerwheel/store/backup"
)

// lockFlags say what a backup is encrypted with, if at all.
type lockFlags struct {
	Passphrase     bool     `help:"Encrypt with a passphrase, which is asked for." xor:"lock"`
	PassphraseFile string   `help:"Encrypt with the passphrase in the first line of a file." type:"existingfile" placeholder:"FILE" xor:"lock"`
	Recipient      []string `help:"Encrypt to a public key (age1...), such as ledgerwheel backup key makes. May be given more than once." placeholder:"KEY" xor:"lock"`
}

func (f lockFlags) lock(e *env) (backup.Lock, error) {
	switch {
	case len(f.Recipient) > 0:
		return backup.RecipientLock(f.Recipient)
	case f.PassphraseFile != "":
		text, err := firstLine(f.PassphraseFile)
		if err != nil {
			return backup.Lock{}, err
		}
		return backup.PassphraseLock(text)
	case f.Passphrase:
		text, err := askSecret(e, "Passphrase for the backup: ")
		if err != nil {
			return backup.Lock{}, err
		}
		again, err := askSecret(e, "Once more: ")
		if err != nil {
			return backup.Lock{}, err
		}
		if again != text {
			return backup.Lock{}, errors.New("the two passphrases differ: nothing was done")
		}
		return backup.PassphraseLock(text)
	}
	return backup.Lock{}, nil
}

// keyFlags say what opens an encrypted backup.
type keyFlags struct {
	PassphraseFile string `help:"The passphrase is the first line of this file. Unset, it is asked for where one is needed." type:"existingfile" placeholder:"FILE" xor:"key"`
	Identity       string `help:"File of the private key that opens the backup." type:"existingfile" placeholder:"FILE" xor:"key"`
}

// key is what opens the backup at path; it asks only where there is something to ask for.
func (f keyFlags) key(e *env, path string) (backup.Key, error) {
	shut, err := backup.LockedBy(path)
	if err != nil || shut == backup.Open {
		return backup.Key{}, err
	}
	switch {
	case f.Identity != "":
		file, err := os.Open(f.Identity)
		if err != nil {
			return backup.Key{}, err
		}
		defer file.Close()
		return backup.IdentityKey(file)
	case f.PassphraseFile != "":
		text, err := firstLine(f.PassphraseFile)
		if err != nil {
			return backup.Key{}, err
		}
		return backup.PassphraseKey(text)
	case shut == backup.ByPassphrase:
		text, err := askSecret(e, "Passphrase of the backup: ")
		if err != nil {
			return backup.Key{}, err
		}
		return backup.PassphraseKey(text)
	}
	return backup.Key{}, nil // what is missing is said where it is opened
}

// firstLine is the first line of a file, without its end.
func firstLine(path string) (string, error) {
	f, err := os.Open(path)
	if err != nil {
		return "", err
	}
	defer f.Close()
	lines := bufio.NewScanner(f)
	lines.Scan()
	if err := lines.Err(); err != nil {
		return "", fmt.Errorf("the passphrase in %s can't be read: %w", path, err)
	}
	return strings.TrimRight(lines.Text(), "\r"), nil
}

// askSecret asks on the terminal, without showing what is typed.
func askSecret(e *env, question string) (string, error) {
	f, ok := e.stdin.(*os.File)
	if !ok || !term.IsTerminal(int(f.Fd())) {
		return "", errors.New("there is no terminal to ask for the passphrase: give it with --passphrase-file")
	}
	fmt.Fprint(e.stderr, question)
	text, err := term.ReadPassword(int(f.Fd()))
	fmt.Fprintln(e.stderr)
	return string(text), err
}
