package train

import (
	"fmt"
	"math"

	"ledgerwheel/domain/text"
)

// ThicknessStepMm is the step in which mainsprings are kept (common practice); half of it is no difference.
const ThicknessStepMm = 0.005

// Strength is a spring set against another in the same barrel. Both are taken as straight when free, so that material
// and curl leave the ratios as they are.
type Strength struct {
	Spring      Mainspring
	Development Development
	FullRatio   float64 // of the torque fully wound to the other's
	EndRatio    float64 // of the torque run down to the other's
}

// strength is s in b against right. Widths count only where both are known.
func strength(b Barrel, s, right Mainspring) Strength {
	if s.WidthMm == 0 || right.WidthMm == 0 {
		s.WidthMm, right.WidthMm = 0, 0
	}
	d, dr := Develop(b, s), Develop(b, right)
	per := s.perTurn() / right.perTurn()
	return Strength{Spring: s, Development: d, FullRatio: per * d.WoundCoils / dr.WoundCoils,
		EndRatio: per * d.RunDownCoils / dr.RunDownCoils}
}

// perTurn is in proportion to the torque of a turn; a width that is not known counts as 1.
func (s Mainspring) perTurn() float64 {
	if s.WidthMm == 0 {
		s.WidthMm = 1
	}
	return s.TorqueMNm(1, 1)
}

// Variant is a spring changed in one measure.
type Variant struct {
	What string
	Strength
}

// Variants show what a spring a tenth too thick or thin, and a fifth too long or short, does in b in place of right,
// which comes first. A variant that can't lie in the barrel is left out. It panics unless right can.
func Variants(b Barrel, right Mainspring) []Variant {
	changed := func(thickness, length float64) Mainspring {
		s := right
		s.ThicknessMm *= thickness
		s.LengthMm *= length
		return s
	}
	out := []Variant{{"right", strength(b, right, right)}}
	for _, v := range []struct {
		what string
		s    Mainspring
	}{
		{"a tenth too thick", changed(1.1, 1)}, {"a tenth too thin", changed(0.9, 1)},
		{"a fifth too long", changed(1, 1.2)}, {"a fifth too short", changed(1, 0.8)},
	} {
		if len(v.s.Problems(b)) == 0 {
			out = append(out, Variant{v.what, strength(b, v.s, right)})
		}
	}
	return out
}

// SpringFault is a way in which a spring is wrong.
type SpringFault string

// The faults of a spring.
const (
	TooThick SpringFault = "too thick"
	TooThin  SpringFault = "too thin"
	TooLong  SpringFault = "too long"
	TooShort SpringFault = "too short"
	TooWide  SpringFault = "too wide"
	TooSlim  SpringFault = "too narrow"
)

// SpringEffect is what a wrong spring does, in sentences with their figures.
type SpringEffect struct {
	Fault SpringFault
	Text  string
}

// Sentence is the fault and what it does.
func (e SpringEffect) Sentence() string {
	fault := string(e.Fault)
	return text.Capital(fault) + ". " + e.Text
}

// Judgement is a spring in hand against the right one.
type Judgement struct {
	Strength
	Effects []SpringEffect // none: it will do
}

// JudgeSpring says what s does in b in place of right: force by strip theory, turns as TurnsInPractice. What the watch then shows
// is common practice. Too long and too short are by the share of the free space, ShortFill to LongFill, too thick and
// too thin beyond half of ThicknessStepMm. It panics unless both can lie in b.
func JudgeSpring(b Barrel, s, right Mainspring) Judgement {
	j := Judgement{Strength: strength(b, s, right)}
	say := func(fault SpringFault, format string, figures ...any) {
		j.Effects = append(j.Effects, SpringEffect{fault, fmt.Sprintf(format, figures...)})
	}
	turns, rightTurns := j.Development.TurnsInPractice(), Develop(b, right).TurnsInPractice()
	cube := math.Pow(s.ThicknessMm/right.ThicknessMm, 3)
	thick := fmt.Sprintf("At %.3f mm in place of %.3f each turn is %s: ", s.ThicknessMm, right.ThicknessMm, stronger(cube))
	switch half := ThicknessStepMm/2 + 1e-9; { // a step typed in decimals is no exact half of itself
	case s.ThicknessMm > right.ThicknessMm+half:
		say(TooThick, "%s%.2f turns in place of %.2f. The amplitude rises, up to knocking, and teeth and pivots wear.", thick,
			turns, rightTurns)
	case s.ThicknessMm < right.ThicknessMm-half:
		say(TooThin, "%s%.2f turns in place of %.2f. The amplitude stays low, and the watch stops before its turns are out.",
			thick, turns, rightTurns)
	}
	best := max(0, b.MostTurns(s.ThicknessMm)-PracticeTurns)
	fill := fmt.Sprintf("It takes %.0f %% of the free space, and a spring this thick that takes half gives %.2f turns, "+
		"this one %.2f", 100*j.Development.FillShare, best, turns)
	perLength := stronger(b.HalfFillLengthMm(s.ThicknessMm) / s.LengthMm)
	switch {
	case j.Development.FillShare > LongFill:
		say(TooLong, "%s. Each turn is %s, and the coils have little room to move: the watch runs shorter, not longer.", fill,
			perLength)
	case j.Development.FillShare < ShortFill:
		say(TooShort, "%s. Each turn is %s, the force falls off faster, and the last coil pulls at its hook and can tear off.", fill, perLength)
	}
	if s.WidthMm > 0 && right.WidthMm > 0 {
		wide := stronger(s.WidthMm / right.WidthMm)
		switch {
		case s.WidthMm > right.WidthMm*1.02:
			say(TooWide, "At %.2f mm in place of %.2f each turn is %s, if the spring doesn't rub on floor and lid.", s.WidthMm,
				right.WidthMm, wide)
		case s.WidthMm < right.WidthMm*0.98:
			say(TooSlim, "At %.2f mm in place of %.2f each turn is %s, and the spring can tilt and rub.", s.WidthMm,
				right.WidthMm, wide)
		}
	}
	return j
}

// stronger words a ratio of forces.
func stronger(ratio float64) string {
	switch percent := math.Round(100 * (ratio - 1)); {
	case percent > 0:
		return fmt.Sprintf("%.0f %% stronger", percent)
	case percent < 0:
		return fmt.Sprintf("%.0f %% weaker", -percent)
	}
	return "as strong"
}
