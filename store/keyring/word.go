package keyring

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"strconv"
	"strings"
)

// A password's file is named PURPOSE.word and holds these lines:
//
//	ledgerwheel password 1
//	purpose PURPOSE
//	for WHOM
//	word QUOTED
const wordHead = "ledgerwheel password 1"

// Mail is the purpose of the password for the mail server.
const Mail = "mail"

const wordSuffix = ".word"

// KeepWord writes a password that somebody else gave the shop, with whom it is for, in place of an earlier one of its purpose;
// an empty one removes it. When it returns nil the password is on the disk and was read back.
func (r *Ring) KeepWord(purpose, whom, word string) error {
	if err := checkName(purpose, purpose); err != nil {
		return err
	}
	path := r.pathOf(purpose + wordSuffix)
	if word == "" {
		if err := os.Remove(path); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return fmt.Errorf("remove a password: %w", err)
		}
		return nil
	}
	text := strings.Join([]string{wordHead, "purpose " + purpose, fmt.Sprintf("for %q", whom), fmt.Sprintf("word %q", word), ""}, "\n")
	if len(text) > maxFile {
		return errors.New("a password of such length can't be kept")
	}
	if err := r.put(path, []byte(text), os.Rename); err != nil {
		return fmt.Errorf("keep a password: %w", err)
	}
	if got, ok, err := r.Word(purpose, whom); err != nil || !ok || got != word {
		return errors.Join(fmt.Errorf("keep a password: %s does not hold what was written", path), err)
	}
	return nil
}

// Word is the password of a purpose; ok is false where there is none, or only one for somebody else. The error wraps
// [ErrExposed] or [ErrDamaged].
func (r *Ring) Word(purpose, whom string) (word string, ok bool, err error) {
	path := r.pathOf(purpose + wordSuffix)
	text, err := readPrivate(path)
	if errors.Is(err, fs.ErrNotExist) {
		return "", false, nil
	}
	if err != nil {
		return "", false, err
	}
	quoted, ok := strings.CutPrefix(string(text), wordHead+"\npurpose "+purpose+"\nfor ")
	first, second, both := strings.Cut(strings.TrimSuffix(quoted, "\n"), "\nword ")
	kept, err := strconv.Unquote(first)
	secret, err2 := strconv.Unquote(second)
	if !ok || !both || err != nil || err2 != nil {
		return "", false, fmt.Errorf("%w: %s; give the password again", ErrDamaged, path)
	}
	if kept != whom {
		return "", false, nil
	}
	return secret, true, nil
}
