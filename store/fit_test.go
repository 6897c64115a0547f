package store_test

import (
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5/pgconn"

	"ledgerwheel/domain"
	"ledgerwheel/domain/record"
	"ledgerwheel/domain/timing"
	"ledgerwheel/store"
)

// TestTranslateNamesTheDisk: codes and their meaning are those of PostgreSQL's documentation, appendix A; the words are
// those of errno.
func TestTranslateNamesTheDisk(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		code, message string
		want          error
	}{
		{"53100", `could not extend file "base/5/1": No space left on device`, domain.ErrDiskFull},
		{"58030", `could not write to file "pg_wal/xlogtemp.9": No space left on device`, domain.ErrDiskFull},
		{"58P01", `could not open file "base/5/1": No such file or directory`, domain.ErrFolderGone},
		{"42501", `could not open file "base/5/1": Read-only file system`, domain.ErrReadOnly},
		{"25006", `cannot execute INSERT in a read-only transaction`, domain.ErrReadOnly},
		{"58030", `could not read block 3 in file "base/5/1": Input/output error`, domain.ErrUnavailable},
		{"53300", `sorry, too many clients already`, domain.ErrUnavailable},
	} {
		err := store.Translate(&pgconn.PgError{Code: tt.code, Message: tt.message})
		if !errors.Is(err, tt.want) || !errors.Is(err, domain.ErrUnavailable) {
			t.Errorf("%s %q: %v", tt.code, tt.message, err)
		}
		for _, other := range []error{domain.ErrDiskFull, domain.ErrFolderGone, domain.ErrReadOnly} {
			if other != tt.want && errors.Is(err, other) {
				t.Errorf("%s %q is also: %v", tt.code, tt.message, other)
			}
		}
	}
	if err := store.Translate(&pgconn.PgError{Code: "42501", Message: "permission denied for table docket"}); errors.Is(err, domain.ErrUnavailable) {
		t.Errorf("a right that is missing is no disk: %v", err)
	}
}

// TestNothingIsTakenInThatCouldNotBeKept: while the disk is not fit, changes are refused before anything is written.
func TestNothingIsTakenInThatCouldNotBeKept(t *testing.T) {
	t.Parallel()
	b := regulating(t)
	full := true
	b.WhileFit(func() error {
		if full {
			return domain.ErrDiskFull
		}
		return nil
	})
	note := func() error { return b.CaptionPhoto(t.Context(), b.next(), 0, "x") }
	if err := note(); !errors.Is(err, domain.ErrDiskFull) {
		t.Errorf("%v", err)
	}
	full = false
	if err := note(); !errors.Is(err, domain.ErrNotFound) {
		t.Errorf("with room again: %v", err)
	}
}

// TestAnEntryBeforeTheNewestIsMarked: with the clock set back a change is kept at the time that the clock says, says so in
// its facts, and the record is whole. Within the slack, and where nobody holds the clock, nothing is marked.
func TestAnEntryBeforeTheNewestIsMarked(t *testing.T) {
	t.Parallel()
	b := regulating(t)
	newest := b.newestEntry(t).At
	wrong := func() int64 { // the test's own rows are not declared
		t.Helper()
		checked, err := b.CheckRecord(t.Context(), store.RecordCheck{}, func(record.Finding) {})
		if err != nil || checked.Entries == 0 {
			t.Fatalf("%+v, %v", checked, err)
		}
		return checked.Findings
	}
	before := wrong()
	at := func(when time.Time) string {
		t.Helper()
		b.at = when.Add(-time.Minute)
		b.mustRecord(t, store.RunEntry{Sheet: runSheet(timing.Final, 3)})
		e := b.newestEntry(t)
		if !e.At.Equal(when) {
			t.Errorf("kept at %v, the clock said %v", e.At, when)
		}
		return string(e.Facts)
	}
	if facts := at(newest.Add(-time.Hour)); strings.Contains(facts, "clock set back") {
		t.Errorf("marked though nobody holds the clock: %s", facts)
	}
	if err := b.HoldClock(t.Context()); err != nil {
		t.Fatal(err)
	}
	if got := b.Newest(); got.Before(newest) {
		t.Errorf("the newest moment is %v, an entry's is %v", got, newest)
	}
	newest = b.Newest()
	if facts := at(newest.Add(-3 * time.Hour)); !strings.Contains(facts, `"clock set back":"3 h 0 min before the newest entry"`) {
		t.Errorf("not marked: %s", facts)
	}
	if facts := at(newest.Add(-time.Minute)); strings.Contains(facts, "clock set back") {
		t.Errorf("within the slack: %s", facts)
	}
	if facts := at(newest.Add(time.Hour)); strings.Contains(facts, "clock set back") {
		t.Errorf("later than all: %s", facts)
	}
	if after := wrong(); after != before {
		t.Errorf("the record check finds %d more", after-before)
	}
}
