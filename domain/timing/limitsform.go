package timing

import (
	"slices"
	"strings"

	"ledgerwheel/domain/figure"
	"ledgerwheel/domain/metrology"
)

// Quantity is the quantity whose unit the criterion has, which says how its limits are typed.
func (c Criterion) Quantity() Quantity {
	switch c.Unit {
	case UnitDegree:
		return Amplitude
	case UnitMs:
		return BeatError
	}
	return Rate
}

// signed reports whether the criterion's figure may lie on either side of nought.
func (k Key) signed() bool { return k == MeanRate || k == HorizontalLessVertical || k == Isochronism }

// LowerField, UpperField and ReasonField name the form fields of a criterion's limit.
func (c Criterion) LowerField() string  { return "lower-" + string(c.Key) }
func (c Criterion) UpperField() string  { return "upper-" + string(c.Key) }
func (c Criterion) ReasonField() string { return "reason-" + string(c.Key) }

// ParseRateLimits reads a new version of a grade's limits as typed, which typed returns by field name: "name",
// "reasons", and each criterion's fields. A criterion without figures is not limited. The problems are keyed by field
// name; a problem of both ends stands at the lower.
func ParseRateLimits(grade string, version int, typed func(field string) string, positions []Position) (RateLimits,
	map[string]string) {
	bad := map[string]string{}
	l := RateLimits{Grade: grade, Version: version, Name: typed("name"), Reasons: typed("reasons"), Positions: positions}
	for _, c := range Criteria() {
		lower, low := parseEnd(c, typed(c.LowerField()))
		upper, high := parseEnd(c, typed(c.UpperField()))
		if low != "" {
			bad[c.LowerField()] = low
		}
		if high != "" {
			bad[c.UpperField()] = high
		}
		if lower != nil || upper != nil {
			l.Limits = append(l.Limits, Limit{Key: c.Key, Limits: metrology.Limits{Lower: lower, Upper: upper},
				Reason: typed(c.ReasonField())})
		}
	}
	unread := len(bad) > 0
	for field, reason := range l.Problems() {
		if key, ok := strings.CutPrefix(field, "limit-"); ok {
			field = "lower-" + key
		}
		if field == "limits" && unread || bad[field] != "" {
			continue
		}
		bad[field] = reason
	}
	return l, bad
}

func parseEnd(c Criterion, text string) (*float64, string) {
	f, problem := ParseFigure(c.Quantity(), text)
	if problem != "" || f == nil {
		return nil, problem
	}
	return &f.Value, ""
}

// Typed returns l as it would be typed, by the field names of ParseRateLimits.
func (l RateLimits) Typed() map[string]string {
	typed := map[string]string{"name": l.Name, "reasons": l.Reasons}
	for _, c := range Criteria() {
		limit, set := l.Limit(c.Key)
		if !set {
			continue
		}
		typed[c.LowerField()] = endText(limit.Limits.Lower, c.Key)
		typed[c.UpperField()] = endText(limit.Limits.Upper, c.Key)
		typed[c.ReasonField()] = limit.Reason
	}
	return typed
}

func endText(end *float64, k Key) string {
	if end == nil {
		return ""
	}
	s := figure.Plain(*end)
	if k.signed() && *end > 0 {
		s = "+" + s
	}
	return s
}

// Needed returns the positions a run is needed in: all six unless the limits name fewer.
func (l RateLimits) Needed() []Position {
	if len(l.Positions) == 0 {
		return Positions()
	}
	return among(l.Positions, Position.Valid)
}

// LimitChanges says what one version of a grade changed of the one before, a phrase for each change.
func LimitChanges(before, after RateLimits) []string {
	var changes []string
	if before.Name != after.Name {
		changes = append(changes, "name: "+before.Name+" → "+after.Name)
	}
	for _, c := range criteria {
		from, to := "not judged", "not judged"
		old, was := before.Limit(c.key)
		if was {
			from = old.Text()
		}
		now, is := after.Limit(c.key)
		if is {
			to = now.Text()
		}
		switch {
		case from != to:
			changes = append(changes, c.label+": "+from+" → "+to)
		case old.Reason != now.Reason:
			changes = append(changes, c.label+": reason reworded")
		}
	}
	if !slices.Equal(before.Needed(), after.Needed()) {
		changes = append(changes, "positions needed")
	}
	if before.Reasons != after.Reasons {
		changes = append(changes, "reasons of the grade reworded")
	}
	return changes
}

// SameAs reports whether l judges, and says of itself, exactly as o does; the version does not count.
func (l RateLimits) SameAs(o RateLimits) bool {
	for _, c := range criteria {
		a, was := l.Limit(c.key)
		b, is := o.Limit(c.key)
		if was != is || a.Reason != b.Reason || !sameEnd(a.Limits.Lower, b.Limits.Lower) ||
			!sameEnd(a.Limits.Upper, b.Limits.Upper) {
			return false
		}
	}
	return l.Grade == o.Grade && l.Name == o.Name && l.Reasons == o.Reasons && slices.Equal(l.Needed(), o.Needed())
}

func sameEnd(a, b *float64) bool { return a == b || a != nil && b != nil && *a == *b }

// LimitedState returns the state of wind, hours after winding, at which a limit on k judges; 0 for a statistic of the
// whole run.
func LimitedState(k Key) float64 {
	if c, known := criterionOf(k); known && c.state != wholeRun {
		return c.state
	}
	return 0
}
