package madeup

import "ledgerwheel/domain/timing"

// The grades, as the command line spells them.
const (
	Chronometer = "chronometer"
	Modern      = "modern"
	Vintage     = "vintage"
	Small       = "small"
)

// Limits returns the shipped limits of a grade; modern ones for a name that is none.
func Limits(grade string) timing.RateLimits {
	key := map[string]string{Chronometer: timing.GradeChronometer, Vintage: timing.GradeVintage,
		Small: timing.GradeSmallCalibre}[grade]
	if key == "" {
		key = timing.GradeModern
	}
	for _, l := range timing.ShippedGrades() {
		if l.Grade == key {
			return l
		}
	}
	panic("madeup: no shipped grade " + key)
}

// Middle is the middle of a grade's limits for the mean at full wind, s/d.
func Middle(grade string) float64 {
	l, _ := Limits(grade).Limit(timing.MeanRate)
	return (*l.Limits.Lower + *l.Limits.Upper) / 2
}
