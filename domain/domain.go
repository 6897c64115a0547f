// Package domain holds the few errors that every part of the house tells apart.
// The rules themselves live in the packages below it.
package domain

import (
	"errors"
	"fmt"
)

var (
	// ErrNotFound reports that no such record exists, or that the asker may not know of it.
	ErrNotFound = errors.New("not found")

	// ErrChanged reports that the record was changed since the writer read it; nothing was saved.
	ErrChanged = errors.New("changed by somebody else")

	// ErrClosed reports that the watch has left the shop, so that its docket takes no more of this.
	ErrClosed = errors.New("the docket is closed")

	// ErrSentTwice reports that the same was sent before and is done.
	ErrSentTwice = errors.New("sent twice, done once")

	// ErrUnavailable reports that the records can't be reached just now; nothing was saved.
	ErrUnavailable = errors.New("the records can't be reached")

	// ErrDiskFull, ErrReadOnly and ErrFolderGone are why: the disk has no room left, takes nothing more, or the data
	// folder is not where it was.
	ErrDiskFull   = fmt.Errorf("the disk is full: %w", ErrUnavailable)
	ErrReadOnly   = fmt.Errorf("the disk is read-only: %w", ErrUnavailable)
	ErrFolderGone = fmt.Errorf("the data folder is gone: %w", ErrUnavailable)
)

// InvalidError reports input that breaks a rule. Problems says what is wrong, by form field;
// the key "" holds what belongs to no single field. Nothing was saved.
type InvalidError struct {
	Problems map[string]string
}

func (e *InvalidError) Error() string { return "the input breaks a rule" }

// Invalid returns an *InvalidError when problems is not empty, and nil otherwise.
func Invalid(problems map[string]string) error {
	if len(problems) == 0 {
		return nil
	}
	return &InvalidError{Problems: problems}
}
