package timing

import (
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/text"
)

// criterion is a statistic that rate limits may bound.
type criterion struct {
	key   Key
	label string
	unit  string
	state float64 // hours after winding; -1 for a statistic of the whole run
	pick  func(StateStatistics) Statistic
}

const wholeRun = -1

// criteria are listed in the order they are shown.
var criteria = []criterion{
	{MeanRate, "mean rate at full wind", UnitSPerDay, 0,
		func(s StateStatistics) Statistic { return s.Mean }},
	{DeltaRate, "delta at full wind", UnitSPerDay, 0,
		func(s StateStatistics) Statistic { return s.Delta }},
	{HorizontalLessVertical, "horizontal less vertical at full wind", UnitSPerDay, 0,
		func(s StateStatistics) Statistic { return s.HorizontalLessVertical }},
	{GreatestBeatError, "greatest beat error at full wind", UnitMs, 0,
		func(s StateStatistics) Statistic { return s.GreatestBeatError }},
	{LeastHorizontalAmplitude, "least horizontal amplitude at full wind", UnitDegree, 0,
		func(s StateStatistics) Statistic { return s.LeastHorizontalAmplitude }},
	{GreatestAmplitude, "greatest amplitude at full wind", UnitDegree, 0,
		func(s StateStatistics) Statistic { return s.GreatestAmplitude }},
	{LeastVerticalAmplitude, "least vertical amplitude after 24 h", UnitDegree, hoursAfterADay,
		func(s StateStatistics) Statistic { return s.LeastVerticalAmplitude }},
	{Isochronism, "isochronism, 24 h less full wind", UnitSPerDay, wholeRun, nil},
}

// Criterion is what a limit can be set on.
type Criterion struct {
	Key   Key
	Label string
	Unit  string
}

// Criteria returns what limits can be set on, in the order they are shown.
func Criteria() []Criterion {
	out := make([]Criterion, len(criteria))
	for i, c := range criteria {
		out[i] = Criterion{Key: c.key, Label: c.label, Unit: c.unit}
	}
	return out
}

func criterionOf(key Key) (criterion, bool) {
	at := slices.IndexFunc(criteria, func(c criterion) bool { return c.key == key })
	if at < 0 {
		return criterion{}, false
	}
	return criteria[at], true
}

// of returns the statistic the criterion judges.
func (c criterion) of(s Statistics) Statistic {
	if c.state == wholeRun {
		return s.Isochronism
	}
	state, measured := s.At(c.state)
	if !measured {
		return Statistic{Key: c.key, Label: c.label, Why: "needs readings " + atState(c.state)}
	}
	return c.pick(state)
}

func atState(hours float64) string {
	if sameHours(hours, 0) {
		return "at full wind"
	}
	return StateWords(hours)
}

// Limit bounds one statistic, with the shop's reason for the figure.
type Limit struct {
	Key    Key
	Limits metrology.Limits // in the statistic's unit; an open end is nil
	Reason string           // a sentence
}

// Label names what is bounded.
func (l Limit) Label() string {
	c, _ := criterionOf(l.Key)
	return c.label
}

// Ends writes each bound as Text does, with its unit, which of two only the upper has unless it is degrees; "" where an
// end is open.
func (l Limit) Ends() (lower, upper string) {
	c, _ := criterionOf(l.Key)
	signed := l.Key == MeanRate || l.Key == HorizontalLessVertical || l.Key == Isochronism
	text := func(x float64, unit string) string {
		return format(metrology.Value{Value: x, Unit: unit}, signed)
	}
	if u := l.Limits.Upper; u != nil {
		upper = text(*u, c.unit)
	}
	if low := l.Limits.Lower; low != nil {
		unit := c.unit
		if upper != "" && unit != UnitDegree {
			unit = ""
		}
		lower = text(*low, unit)
	}
	return lower, upper
}

// Text writes the bounds with their unit: "−4 to +6 s/d", "at most 20 s/d", "at least 270°".
func (l Limit) Text() string {
	lower, upper := l.Ends()
	switch {
	case lower != "" && upper != "":
		return lower + " to " + upper
	case lower != "":
		return "at least " + lower
	case upper != "":
		return "at most " + upper
	}
	return "no limit"
}

// RateLimits are what a run must satisfy to pass: one version for one grade of calibre, owned by the shop. A version
// in use is never changed; a changed one is a new version.
type RateLimits struct {
	Grade     string     // key: lower-case letters, digits and hyphens
	Name      string     // as shown
	Version   int        // from 1
	Reasons   string     // why the grade is judged so, in plain words
	Positions []Position // the positions needed; nil for all six
	Limits    []Limit    // at most one for each criterion; a criterion without limit is not judged
}

// Limit returns the limit set on a criterion.
func (l RateLimits) Limit(key Key) (Limit, bool) {
	at := slices.IndexFunc(l.Limits, func(limit Limit) bool { return limit.Key == key })
	if at < 0 {
		return Limit{}, false
	}
	return l.Limits[at], true
}

const maxReasonRunes = 2000

// Problems says, by form field, what stops l being saved: "grade", "name", "version", "reasons", "positions",
// "limits", and "limit-" or "reason-" with a criterion's key.
func (l RateLimits) Problems() map[string]string {
	bad := map[string]string{}
	if l.Grade == "" || len(l.Grade) > 40 || strings.Trim(l.Grade, "abcdefghijklmnopqrstuvwxyz0123456789-") != "" {
		bad["grade"] = "Use lower-case letters, digits and hyphens, at most 40."
	}
	if strings.TrimSpace(l.Name) == "" || utf8.RuneCountInString(l.Name) > maxNameRunes {
		bad["name"] = "Give the grade a name of at most 120 characters."
	}
	if l.Version < 1 {
		bad["version"] = "Versions count from 1."
	}
	if utf8.RuneCountInString(l.Reasons) > maxReasonRunes {
		bad["reasons"] = "This is too long: at most 2000 characters."
	}
	if len(among(l.Positions, Position.Valid)) != len(l.Positions) {
		bad["positions"] = "Name each position once, from CH, FH, 3H, 6H, 9H and 12H."
	}
	if len(l.Limits) == 0 {
		bad["limits"] = "Set at least one limit."
	}
	seen := map[Key]bool{}
	for _, limit := range l.Limits {
		if seen[limit.Key] {
			bad["limits"] = fmt.Sprintf("There are two limits on the %s.", limit.Label())
		}
		seen[limit.Key] = true
		limit.addProblems(bad)
	}
	return bad
}

func (l Limit) addProblems(bad map[string]string) {
	field := "limit-" + string(l.Key)
	if _, known := criterionOf(l.Key); !known {
		bad[field] = fmt.Sprintf("%q is not something that can be limited.", string(l.Key))
		return
	}
	if err := l.Limits.Check(); err != nil {
		bad[field] = text.Sentence(err.Error())
	}
	switch {
	case strings.TrimSpace(l.Reason) == "":
		bad["reason-"+string(l.Key)] = "Say why the limit is where it is."
	case utf8.RuneCountInString(l.Reason) > maxReasonRunes:
		bad["reason-"+string(l.Key)] = "This is too long: at most 2000 characters."
	}
}

// Title names the limits in their version: "Chronometer, version 2".
func (l RateLimits) Title() string { return limitsTitle(l.Name, l.Version) }

func limitsTitle(name string, version int) string {
	return fmt.Sprintf("%s, version %d", name, version)
}
