// Package health says what stands in the way of keeping the record: what stops the work, and what only warns.
package health

import (
	"errors"
	"fmt"
	"time"

	"ledgerwheel/domain"
)

// Trouble is one thing that is wrong, named by the words that pages and /healthz use for it.
type Trouble string

// The troubles, in the order in which they are named: those that stop the work first.
const (
	FolderGone  Trouble = "data folder gone"
	ReadOnly    Trouble = "read-only disk"
	DiskFull    Trouble = "disk full"
	Unreachable Trouble = "records unreachable"
	ClockBack   Trouble = "clock set back"
	LowSpace    Trouble = "low space"
)

// Bounds, from practice with PostgreSQL, whose write-ahead log grows by files of 16 MB: with less than ReserveBytes free
// nothing more is taken in, so that the database can still end cleanly and start again, and below LowBytes the owner is warned.
const (
	ReserveBytes = 48 << 20
	LowBytes     = 1 << 30
)

// ClockSlack is how far the clock may stand before the newest entry without a word: keeping time by a network takes
// back seconds, and two machines never agree.
const ClockSlack = 2 * time.Minute

// Seen is what was found of disk and clock.
type Seen struct {
	FolderGone, ReadOnly bool
	DiskBytes, FreeBytes int64 // free to the program; DiskBytes is 0 where neither is known
	Now, Newest          time.Time
}

// Judge names what is wrong, what stops the work first.
func Judge(s Seen) []Trouble {
	var all []Trouble
	switch {
	case s.FolderGone:
		all = append(all, FolderGone)
	case s.ReadOnly:
		all = append(all, ReadOnly)
	case s.DiskBytes > 0 && s.FreeBytes < ReserveBytes:
		all = append(all, DiskFull)
	}
	if SetBack(s.Now, s.Newest) {
		all = append(all, ClockBack)
	}
	if (len(all) == 0 || !all[0].Stops()) && s.DiskBytes > 0 && s.FreeBytes < LowBytes {
		all = append(all, LowSpace)
	}
	return all
}

// SetBack reports whether the clock stands before the newest entry by more than ClockSlack.
func SetBack(now, newest time.Time) bool { return !newest.IsZero() && newest.Sub(now) > ClockSlack }

// Behind says how far a moment lies before the newest entry, for the journal.
func Behind(at, newest time.Time) string {
	d := newest.Sub(at).Round(time.Minute)
	days, hours, minutes := d/(24*time.Hour), d%(24*time.Hour)/time.Hour, d%time.Hour/time.Minute
	switch {
	case days > 0:
		return fmt.Sprintf("%d d %d h before the newest entry", days, hours)
	case hours > 0:
		return fmt.Sprintf("%d h %d min before the newest entry", hours, minutes)
	}
	return fmt.Sprintf("%d min before the newest entry", minutes)
}

// Stops reports whether nothing can be saved while it lasts.
func (t Trouble) Stops() bool { return t != ClockBack && t != LowSpace }

// Err is the error of what could not be done because of it.
func (t Trouble) Err() error {
	switch t {
	case FolderGone:
		return domain.ErrFolderGone
	case ReadOnly:
		return domain.ErrReadOnly
	case DiskFull:
		return domain.ErrDiskFull
	}
	return domain.ErrUnavailable
}

// Of is the trouble that an error speaks of; "" for none.
func Of(err error) Trouble {
	switch {
	case errors.Is(err, domain.ErrFolderGone):
		return FolderGone
	case errors.Is(err, domain.ErrReadOnly):
		return ReadOnly
	case errors.Is(err, domain.ErrDiskFull):
		return DiskFull
	case errors.Is(err, domain.ErrUnavailable):
		return Unreachable
	}
	return ""
}

// Title says to people what is wrong.
func (t Trouble) Title() string {
	switch t {
	case FolderGone:
		return "The data folder is gone"
	case ReadOnly:
		return "The disk is read-only"
	case DiskFull:
		return "The disk is full"
	case ClockBack:
		return "The clock was set back"
	case LowSpace:
		return "Low space on the disk"
	}
	return "The records can't be reached"
}

// Sentence says what to do.
func (t Trouble) Sentence() string {
	switch t {
	case FolderGone:
		return "The folder that holds the records was moved, deleted or unplugged. Put it back where it was, or connect its disk " +
			"again, and restart the program; if it is lost, restore the newest backup."
	case ReadOnly:
		return "The disk with the records takes nothing more: the system may have found it damaged. Make a copy of the data " +
			"folder, have the disk checked, and restart the program."
	case DiskFull:
		return "The disk with the records has no room left. Delete or move other files there; the program then goes on by itself."
	case ClockBack:
		return "This machine's clock stands before the newest entry of the journal: it was set back, or was ahead when that was " +
			"written. Set it right. Until then entries keep the time that the clock says, and each is marked."
	case LowSpace:
		return "Less than 1 GB is free on the disk with the records. Delete or move other files there before nothing more can be saved."
	}
	return "The database does not answer just now. Wait a moment."
}
