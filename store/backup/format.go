// Package backup writes the whole shop into one file while it works, proves such a file by restoring it, and restores it
// for good.
//
// A backup is a tar archive (POSIX.1-2001 pax) in a Zstandard frame (RFC 8878), and where it is encrypted, that in an age
// file (age-encryption.org/v1). Its members, in this order:
//
//	head.json         what it is, see [Head]
//	database.dump     the database as it stood at one moment, by pg_dump -Fc
//	uploads/...       the photographs and sounds that rows of that moment name
//	seals/...         the seals, and other settings that lie in the data folder
//	keys/... tls/...  private keys; only where the file is encrypted
//	manifest.json     the length and SHA-256 of every member before it, see [Manifest]
//
// Whoever has no program at hand opens it with age, zstd, tar and pg_restore.
package backup

import (
	"errors"
	"fmt"
	"path"
	"regexp"
	"slices"
	"strings"
	"syscall"
	"time"
)

// formatNumber is raised when an older program could not restore what is written.
const formatNumber = 1

// Names of members.
const (
	headName     = "head.json"
	dumpName     = "database.dump"
	manifestName = "manifest.json"
)

// Head is what a backup says of itself before all else.
type Head struct {
	Format    int       `json:"format"`
	Program   string    `json:"program"`   // the release that wrote it
	Migration int64     `json:"migration"` // newest of the database
	At        time.Time `json:"at"`        // the moment whose record it holds
	Shop      string    `json:"shop"`      // name, "" before it was founded
	TimeZone  string    `json:"time_zone"`
	Keys      bool      `json:"keys"` // private keys are in it
}

// Member is one file of a backup.
type Member struct {
	Name   string `json:"name"`
	Bytes  int64  `json:"bytes"`
	SHA256 string `json:"sha256"`
}

// Manifest is what a backup holds, and what it can't.
type Manifest struct {
	Members []Member `json:"members"`
	// Removed are photographs and sounds that were removed from the shop between the reading of the database and that
	// of the files: the database in the backup still names them.
	Removed []string `json:"removed,omitempty"`
	// Missing are those that the shop should have and did not.
	Missing []string `json:"missing,omitempty"`
	// Altered are those whose content is not what their name says. They are in the backup as they were found.
	Altered []string `json:"altered,omitempty"`
}

// Bytes is the length of all members.
func (m Manifest) Bytes() (n int64) {
	for _, f := range m.Members {
		n += f.Bytes
	}
	return n
}

// Kinds of errors. What is returned says in one sentence what is wrong and what to do.
var (
	ErrNotBackup = errors.New("no backup")
	ErrDamaged   = errors.New("damaged backup")
	ErrNewer     = errors.New("backup of a newer release")
	ErrLocked    = errors.New("backup that this key does not open")
	ErrNoPlace   = errors.New("no place for it")
)

// sentence is an error that reads as its own sentence and still is of a kind.
type sentence struct {
	kind, cause error
	words       string
}

func (s *sentence) Error() string { return s.words }

func (s *sentence) Unwrap() []error {
	if s.cause == nil {
		return []error{s.kind}
	}
	return []error{s.kind, s.cause}
}

func say(kind, cause error, format string, args ...any) error {
	return &sentence{kind: kind, cause: cause, words: fmt.Sprintf(format, args...)}
}

// full says of a disk that it is full, and leaves other errors as they are.
func full(err error, where string) error {
	if errors.Is(err, syscall.ENOSPC) || errors.Is(err, syscall.EDQUOT) ||
		err != nil && strings.Contains(err.Error(), syscall.ENOSPC.Error()) { // as PostgreSQL's programs say it
		return say(ErrNoPlace, err, "there is no space left in %s: nothing was kept; make room, or choose another place", where)
	}
	return err
}

var (
	uploadMember = regexp.MustCompile(`^uploads/[0-9a-f]{2}/([0-9a-f]{64})(-full\.jpg|-thumb\.jpg|\.sound)$`)
	plainName    = regexp.MustCompile(`^[A-Za-z0-9_][A-Za-z0-9._-]*$`)
)

// settings are what is kept of the data folder besides database, files and keys: files, or folders of files.
var settings = []string{"demo-shop", "seals"}

// secrets are the folders of private keys.
var secrets = []string{"keys", "tls"}

// known reports whether a member may be in a backup, so that none leads outside the folder that it is restored into.
func known(name string) bool {
	if name == dumpName || uploadMember.MatchString(name) {
		return true
	}
	parts := strings.Split(name, "/")
	for _, p := range parts {
		if !plainName.MatchString(p) {
			return false
		}
	}
	return path.Clean(name) == name && len(parts) <= 4 && (slices.Contains(settings, parts[0]) || secret(name))
}

// secret reports whether a member is a private key.
func secret(name string) bool {
	top, _, below := strings.Cut(name, "/")
	return below && slices.Contains(secrets, top)
}
