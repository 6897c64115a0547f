package demoshop

import "ledgerwheel/domain/timing"

// sound is how a watch of the calibre goes after a careful service, by the grade it is judged by. Each comes well
// inside the limits of its grade, as timing.ShippedGrades has them.
func sound(calibre string) swing {
	for _, k := range calibres {
		if k.Name == calibre {
			return soundByGrade[k.GradeKey]
		}
	}
	return soundByGrade[timing.GradeModern]
}

var soundByGrade = map[string]swing{
	timing.GradeChronometer: {rateSPerDay: 1.4, lyingDeg: 294, hangingLoss: 23, dayLoss: 31, shortArcs: 0.02,
		hangingSPerD: -0.8,
		downSPerDay:  0.6, poise: 0.0003, heavyHour: 8, beatMs: 0.1, beatHanging: 0.03, scatter: 0.3, scatterDeg: 1.2},
	timing.GradeModern: {rateSPerDay: 4.5, lyingDeg: 288, hangingLoss: 26, dayLoss: 34, shortArcs: -0.03,
		hangingSPerD: -1.5,
		downSPerDay:  1.1, poise: 0.0007, heavyHour: 5, beatMs: 0.2, beatHanging: 0.06, scatter: 0.6, scatterDeg: 1.5},
	timing.GradeVintage: {rateSPerDay: 7, lyingDeg: 268, hangingLoss: 30, dayLoss: 44, shortArcs: -0.08, hangingSPerD: -4,
		downSPerDay: 2.2, poise: 0.0014, heavyHour: 10, beatMs: 0.5, beatHanging: 0.1, scatter: 1.2, scatterDeg: 2},
	timing.GradeSmallCalibre: {rateSPerDay: 6, lyingDeg: 272, hangingLoss: 29, dayLoss: 40, shortArcs: -0.06,
		hangingSPerD: -3,
		downSPerDay:  1.6, poise: 0.0011, heavyHour: 2, beatMs: 0.3, beatHanging: 0.07, scatter: 1, scatterDeg: 2},
}

// The methods below are the troubles that watches come in with, and what is left of them after each adjustment.

// going sets the rate dial up, s/d.
func (s swing) going(rateSPerDay float64) swing {
	s.rateSPerDay = rateSPerDay
	return s
}

// swinging sets the amplitude dial up, degrees.
func (s swing) swinging(lyingDeg float64) swing {
	s.lyingDeg = lyingDeg
	return s
}

// heavyAt is a balance out of poise: the rates of the hanging positions part, and near 220 degrees they change sides.
func (s swing) heavyAt(hour, poise float64) swing {
	s.heavyHour, s.poise = hour, poise
	return s
}

// dirty is dried oil and a tired spring: little amplitude, less hanging, and a rate that wanders.
func (s swing) dirty() swing {
	s.lyingDeg -= 62
	s.hangingLoss += 16
	s.dayLoss += 14
	s.rateSPerDay -= 19
	s.scatter += 3
	s.scatterDeg += 3
	return s
}

// outOfBeat is a hairspring whose collet or stud stands wrong.
func (s swing) outOfBeat(ms float64) swing {
	s.beatMs = ms
	s.beatHanging = 0.05 * ms
	return s
}

// magnetised is coils that stick to one another: a great gain that no two positions share.
func (s swing) magnetised() swing {
	s.rateSPerDay = 215
	s.lyingDeg -= 24
	s.beatMs = 1.4
	s.scatter, s.scatterDeg = 58, 9
	return s
}

// knocking is a mainspring too strong: the pin meets the back of the fork lying, at full wind only.
func (s swing) knocking() swing {
	s.lyingDeg = 335
	s.hangingLoss = 21
	s.scatter, s.scatterDeg = 4, 2.5
	return s
}

// wornPivots part the hanging rates from the lying ones.
func (s swing) wornPivots() swing {
	s.hangingSPerD -= 27
	s.hangingLoss += 20
	s.downSPerDay += 5
	return s
}

// openPins are regulator pins too far apart: the watch changes with every degree of amplitude.
func (s swing) openPins() swing {
	s.shortArcs = -0.62
	return s
}
