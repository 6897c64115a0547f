package finaltest

import (
	"time"

	"ledgerwheel/domain/figure"
	"ledgerwheel/domain/tongue"
)

// Said is how the watch stood the water-resistance test, as customers are told on papers and on their page: at what overpressure, in
// what, and on which day in the zone. It is never a promise of what the watch will hold, as seals age (common practice). locale, BCP
// 47, writes the figure. It is "" where the watch was not tested.
func (s Sheet) Said(t tongue.Tongue, locale string, zone *time.Location) string {
	r := s.Result(WaterResistance)
	day := t.Day(r.At.In(zone))
	switch {
	case r.Outcome == OutcomeFail:
		return t.Say("tested.failed", "day", day)
	case r.Outcome != OutcomePass || !r.HasFigure:
		return ""
	}
	bar := tongue.Figures(figure.Plain(r.Figure), locale)
	switch r.Medium {
	case MediumAir:
		return t.Say("tested.air", "bar", bar, "day", day)
	case MediumWater:
		return t.Say("tested.water", "bar", bar, "day", day)
	}
	return ""
}
