// Package record has what proves the shop's record: the digests that journal entries declare of the rows they wrote,
// the secret that shows that the program wrote an entry, the log over all entries, and its seals.
package record

import (
	"bytes"
	"encoding/base64"
	"fmt"
	"strings"
)

// Digest is the SHA-256 of a row as the database writes it; the zero Digest is a row that is not there.
type Digest [32]byte

// absent is how a row that is not there is written.
const absent = "-"

// Absent reports whether d is of a row that is not there.
func (d Digest) Absent() bool { return d == Digest{} }

// String is d in base64url without padding, "-" for a row that is not there.
func (d Digest) String() string {
	if d.Absent() {
		return absent
	}
	return base64.RawURLEncoding.EncodeToString(d[:])
}

func parseDigest(s string) (d Digest, err error) {
	if s == absent {
		return d, nil
	}
	raw, err := base64.RawURLEncoding.DecodeString(s)
	if err != nil || len(raw) != len(d) {
		return d, fmt.Errorf("%q is no digest", s)
	}
	return Digest(raw), nil
}

// Line declares what a change made of one row.
type Line struct {
	Relation string // the table
	Key      string // its primary key; of several columns parted by /
	Was, Now Digest
}

// Row names the line's row.
func (l Line) Row() Row { return Row{l.Relation, l.Key} }

// Row names a row of evidence.
type Row struct{ Relation, Key string }

// Format writes lines as the journal keeps and hashes them: relation, key, digest before and digest after, parted by
// blanks, a line feed after each.
func Format(lines []Line) []byte {
	var b bytes.Buffer
	for _, l := range lines {
		fmt.Fprintf(&b, "%s %s %s %s\n", l.Relation, l.Key, l.Was, l.Now)
	}
	return b.Bytes()
}

// Parse reads what [Format] writes; the error names the first line that isn't one.
func Parse(text string) ([]Line, error) {
	var lines []Line
	for line := range strings.Lines(text) {
		f := strings.Split(strings.TrimSuffix(line, "\n"), " ")
		if len(f) != 4 || f[0] == "" || f[1] == "" {
			return nil, fmt.Errorf("%q declares no row", line)
		}
		was, err := parseDigest(f[2])
		if err != nil {
			return nil, err
		}
		now, err := parseDigest(f[3])
		if err != nil {
			return nil, err
		}
		lines = append(lines, Line{f[0], f[1], was, now})
	}
	return lines, nil
}

// Compact joins what one change did to the same row one after the other, in the order of the first of each, and leaves
// out rows that it left as they were.
func Compact(lines []Line) []Line {
	at := make(map[Row]int, len(lines))
	joined := make([]Line, 0, len(lines))
	for _, l := range lines {
		if i, seen := at[l.Row()]; seen {
			joined[i].Now = l.Now
			continue
		}
		at[l.Row()] = len(joined)
		joined = append(joined, l)
	}
	kept := joined[:0]
	for _, l := range joined {
		if l.Was != l.Now {
			kept = append(kept, l)
		}
	}
	return kept
}
