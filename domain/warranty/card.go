package warranty

import (
	"math"
	"strings"
	"time"
	"unicode/utf8"

	"ledgerwheel/domain/docket"
)

// Card is everything a warranty card states. Once signed it is never edited: a mistake is mended by issuing
// another that supersedes it.
type Card struct {
	Code       Code
	Supersedes Code // the card this one replaces; empty for a first issue
	Docket     docket.Number
	Shop       Shop
	Watch      Watch
	WorkDone   []string // one line for each piece of work
	Final      Final
	IssuedAt   time.Time // when it was signed, UTC, whole microseconds
	StartsOn   time.Time // first day covered, civil date at midnight UTC: the day of hand-over
	ExpiresOn  time.Time // last day covered
	Covers     string    // see [Terms.Covers]
}

// Shop is who gives the warranty.
type Shop struct {
	Name  string
	Place string // town, as printed
}

// Watch is what the warranty is for. The card prints the serials; the public page shows only [Masked] ones.
type Watch struct {
	Maker, Model, Reference string
	Calibre                 string
	CaseSerial              string
	MovementSerial          string
}

// Final is how the watch ran in its final run, at full wind unless a position says otherwise.
type Final struct {
	MeanSPerDay  float64 // mean of the positions' rates, s/d, positive gains
	DeltaSPerDay float64 // greatest less least rate, s/d
	USPerDay     float64 // expanded uncertainty (k = 2) of a rate, s/d
	Rates        []Rate
	Verdict      string // pass, fail or undecided, and by which limits, in plain words
}

// Rate is the final run's figure in one position.
type Rate struct {
	Position     string  // ISO 3158 symbol: CH, FH, 3H, 6H, 9H, 12H
	Wind         string  // state of wind in plain words: "full wind", "after 24 h"
	RateSPerDay  float64 // s/d, positive gains
	AmplitudeDeg float64 // degrees; 0 if not measured
}

const (
	maxText  = 120 // characters of any one line on the card
	maxLines = 12
	maxRates = 24
)

// Problems says, by field, what stops c being issued.
func (c Card) Problems() map[string]string {
	bad := map[string]string{}
	if _, err := ParseCode(string(c.Code)); err != nil {
		bad["code"] = "The card has no code."
	}
	if c.Supersedes != "" && c.Supersedes == c.Code {
		bad["supersedes"] = "A card can't replace itself."
	}
	if p := c.Docket.Problem(); p != "" {
		bad["docket"] = p
	}
	c.textProblems(bad)
	c.figureProblems(bad)
	switch {
	case c.IssuedAt.IsZero():
		bad["issued_at"] = "The card has no time of issue."
	case c.StartsOn.IsZero() || !isDate(c.StartsOn):
		bad["starts_on"] = "Give the day from which the warranty runs."
	case !isDate(c.ExpiresOn) || c.ExpiresOn.Before(c.StartsOn):
		bad["expires_on"] = "The warranty ends before it starts."
	case c.ExpiresOn.After(Expires(c.StartsOn, maxMonths)):
		bad["expires_on"] = "Give a term of at most 120 months."
	}
	return bad
}

func (c Card) textProblems(bad map[string]string) {
	if strings.TrimSpace(c.Shop.Name) == "" {
		bad["shop"] = "The shop's name is missing; set it among the shop's settings."
	}
	if strings.TrimSpace(c.Watch.Maker) == "" {
		bad["maker"] = "The watch's maker is missing."
	}
	if len(c.WorkDone) == 0 || len(c.WorkDone) > maxLines {
		bad["work_done"] = "Name the work done, in one to twelve lines."
	}
	switch {
	case strings.TrimSpace(c.Covers) == "":
		bad["covers"] = "Say what the warranty covers."
	case utf8.RuneCountInString(c.Covers) > maxCovers:
		bad["covers"] = "Keep this to 600 characters, so that it fits the card."
	}
	fields := map[string][]string{
		"shop": {c.Shop.Name, c.Shop.Place}, "work_done": c.WorkDone,
		"maker": {c.Watch.Maker}, "model": {c.Watch.Model}, "reference": {c.Watch.Reference},
		"calibre": {c.Watch.Calibre}, "case_serial": {c.Watch.CaseSerial}, "movement_serial": {c.Watch.MovementSerial},
		"verdict": {c.Final.Verdict},
	}
	for field, lines := range fields {
		for _, line := range lines {
			if utf8.RuneCountInString(line) > maxText {
				bad[field] = "Keep each line to 120 characters, so that it fits the card."
			}
			if !utf8.ValidString(line) || strings.ContainsAny(line, "\x00\n\r") {
				bad[field] = "Give plain text on one line."
			}
		}
	}
	if !utf8.ValidString(c.Covers) || strings.Contains(c.Covers, "\x00") {
		bad["covers"] = "Give plain text."
	}
}

func (c Card) figureProblems(bad map[string]string) {
	figures := []float64{c.Final.MeanSPerDay, c.Final.DeltaSPerDay, c.Final.USPerDay}
	for _, r := range c.Final.Rates {
		figures = append(figures, r.RateSPerDay, r.AmplitudeDeg)
	}
	for _, f := range figures {
		if math.IsNaN(f) || math.IsInf(f, 0) {
			bad["final"] = "A figure of the final run is not a number."
		}
	}
	if c.Final.DeltaSPerDay < 0 || c.Final.USPerDay < 0 {
		bad["final"] = "A spread or an uncertainty can't be less than nothing."
	}
	if len(c.Final.Rates) > maxRates {
		bad["final"] = "The card holds at most 24 rates."
	}
}

// isDate reports whether t is a civil date kept as midnight UTC.
func isDate(t time.Time) bool {
	return t.Equal(time.Date(t.Year(), t.Month(), t.Day(), 0, 0, 0, 0, time.UTC))
}

// Reissued returns the card that replaces c: the same facts and term under a new code, signed at the time
// now. The caller may then correct what was wrong; [CheckReissue] holds what must stay.
func (c Card) Reissued(code Code, now time.Time) Card {
	c.Code, c.Supersedes, c.IssuedAt = code, c.Code, docket.Moment(now)
	return c
}

// CheckReissue says, by field, why next can't replace old: a reissue belongs to the same docket and neither
// moves nor lengthens the term.
func CheckReissue(old, next Card) map[string]string {
	bad := next.Problems()
	if next.Supersedes != old.Code {
		bad["supersedes"] = "The new card must name the card it replaces."
	}
	if next.Docket != old.Docket {
		bad["docket"] = "A card is reissued for the same docket only."
	}
	if !next.StartsOn.Equal(old.StartsOn) {
		bad["starts_on"] = "A reissue keeps the day from which the warranty runs."
	}
	if next.ExpiresOn.After(old.ExpiresOn) {
		bad["expires_on"] = "A reissue does not lengthen the warranty."
	}
	return bad
}
