package watch

import (
	"strings"
	"time"
	"unicode"

	"ledgerwheel/domain/text"

	"golang.org/x/text/unicode/norm"
)

// SerialKey returns a serial number as a match key: Unicode compatibility
// form, upper case, letters and digits only. It is empty when nothing is left.
func SerialKey(serial string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			return r
		}
		return -1
	}, strings.ToUpper(norm.NFKC.String(serial)))
}

var lookalikes = strings.NewReplacer("O", "0", "I", "1")

// SerialLikeKey returns SerialKey with the letters O and I made the digits 0
// and 1, which worn engraving and hurried typing confuse. Two serials whose
// like keys agree but whose keys differ are likely the same.
func SerialLikeKey(serial string) string {
	return lookalikes.Replace(SerialKey(serial))
}

// SerialMatch says how well two serials agree.
type SerialMatch int

// The grades of agreement.
const (
	SerialDiffers SerialMatch = iota
	SerialLikely              // agree but for O and 0, or I and 1
	SerialSame
)

// Words says m in plain words.
func (m SerialMatch) Words() string {
	switch m {
	case SerialSame:
		return "same serial"
	case SerialLikely:
		return "likely the same serial (O and 0, or I and 1, look alike)"
	}
	return "another serial"
}

// MatchSerials compares two serials. Nothing matches an empty one.
func MatchSerials(a, b string) SerialMatch {
	ka, kb := SerialKey(a), SerialKey(b)
	switch {
	case ka == "" || kb == "":
		return SerialDiffers
	case ka == kb:
		return SerialSame
	case lookalikes.Replace(ka) == lookalikes.Replace(kb):
		return SerialLikely
	}
	return SerialDiffers
}

// WatchListEntry is one watch the shop has been told to look out for, such as
// one reported stolen. A match is a reason to ask, not a finding.
type WatchListEntry struct {
	ID       int64
	Serial   string
	Maker    string    // empty when the report does not say
	Reported time.Time // day of the report, UTC midnight
	Source   string    // who reported it, and their reference
	Note     string
}

// Tidied returns e with stray spaces and control characters removed.
func (e WatchListEntry) Tidied() WatchListEntry {
	e.Serial, e.Maker, e.Source = text.Line(e.Serial), text.Line(e.Maker), text.Line(e.Source)
	e.Note = text.Lines(e.Note)
	return e
}

// Problems says, by form field, what stops e being saved. now is the time
// against which a report in the future is refused.
func (e WatchListEntry) Problems(now time.Time) map[string]string {
	bad := map[string]string{}
	if len([]rune(SerialKey(e.Serial))) < 3 {
		bad["serial"] = "Give a serial of at least three letters or digits: a shorter one would match too much."
	}
	for field, typed := range map[string]string{"serial": e.Serial, "maker": e.Maker, "source": e.Source} {
		if text.TooLong(typed, MaxText) {
			bad[field] = "Keep this to at most 120 characters."
		}
	}
	if e.Source == "" {
		bad["source"] = "Say who reported it, so that a match can be asked about."
	}
	switch {
	case e.Reported.IsZero():
		bad["reported"] = "Give the day of the report."
	case e.Reported.After(now.AddDate(0, 0, 1)): // a day's grace for time zones ahead of UTC
		bad["reported"] = "Give a day that is not in the future."
	}
	if text.TooLong(e.Note, MaxNote) {
		bad["note"] = "Keep this to at most 2000 characters."
	}
	return bad
}

// Repeats returns the entry of those on the list that e would put there a second time: the same serial, unless both name
// a maker and those differ, for makers number their watches alike. found is false when there is none.
func (e WatchListEntry) Repeats(listed []WatchListEntry) (first WatchListEntry, found bool) {
	for _, l := range listed {
		mine, other := SerialKey(e.Maker), SerialKey(l.Maker)
		if MatchSerials(e.Serial, l.Serial) == SerialSame && (mine == other || mine == "" || other == "") {
			return l, true
		}
	}
	return WatchListEntry{}, false
}

// RepeatedWords refuses a serial that the entry has already.
func (e WatchListEntry) RepeatedWords() string {
	return "This serial is on the list already, as " + e.Serial + ", reported by " + e.Source + ". To put something else " +
		"there, withdraw that entry first."
}

// Concerns says how well w's case or movement serial agrees with e, the
// better of the two. A maker on both that differs makes it no match, for
// makers number their watches alike.
func (e WatchListEntry) Concerns(w Watch) SerialMatch {
	maker := SerialKey(e.Maker)
	if maker != "" && w.Maker != "" && maker != SerialKey(w.Maker) {
		return SerialDiffers
	}
	return max(MatchSerials(e.Serial, w.Serial), MatchSerials(e.Serial, w.MovementSerial))
}
