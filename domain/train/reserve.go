package train

import (
	"errors"
	"fmt"
	"math"
	"math/big"
)

// BarrelDrive is the barrel's teeth in the centre pinion's leaves.
type BarrelDrive struct{ BarrelTeeth, CentrePinionLeaves int }

// Problems says, by form field, why d is no drive of a watch.
func (d BarrelDrive) Problems() map[string]string {
	bad := map[string]string{}
	judge(bad, "barrel_teeth", "barrel", d.BarrelTeeth, MinTeeth, MaxTeeth, "teeth")
	judge(bad, "centre_pinion_leaves", "centre pinion", d.CentrePinionLeaves, MinLeaves, MaxLeaves, "leaves")
	if len(bad) == 0 && d.CentrePinionLeaves >= d.BarrelTeeth {
		bad["centre_pinion_leaves"] = fmt.Sprintf("A barrel of %d teeth turns slower than the pinion it drives: the "+
			"pinion has fewer leaves.", d.BarrelTeeth)
	}
	return bad
}

// HoursPerTurn is the hours of one turn of the barrel, exactly: teeth by leaves, the centre wheel turning once an hour.
// Source: derived. It panics unless d has no problems.
func (d BarrelDrive) HoursPerTurn() *big.Rat {
	if len(d.Problems()) > 0 {
		panic("train: a barrel that drives no centre pinion")
	}
	return big.NewRat(int64(d.BarrelTeeth), int64(d.CentrePinionLeaves))
}

// Hours is how long so many turns of the barrel run, in hours. Its error is that of the turns and of one rounding.
func (d BarrelDrive) Hours(turns float64) float64 {
	perTurn, _ := d.HoursPerTurn().Float64()
	return turns * perTurn
}

// TurnsFor is the turns of the barrel in so many hours.
func (d BarrelDrive) TurnsFor(hours float64) float64 {
	perTurn, _ := d.HoursPerTurn().Float64()
	return hours / perTurn
}

// ErrUnknownSizes reports that not all the sizes a computation needs are known.
var ErrUnknownSizes = errors.New("barrel, arbor, spring thickness and the counts of barrel and centre pinion are needed")

// PossibleReserveHours is the longest that a watch can run on one winding, in hours: all turns of development through
// barrel and centre pinion. A length of 0, not known, is taken as the one that gives the most turns. The error wraps
// ErrUnknownSizes where barrel, arbor, thickness or counts are 0; any other error says in a sentence what is
// impossible.
func PossibleReserveHours(b Barrel, s Mainspring, d BarrelDrive) (float64, error) {
	if b.InsideDiameterMm == 0 || b.ArborDiameterMm == 0 || s.ThicknessMm == 0 || d.BarrelTeeth == 0 ||
		d.CentrePinionLeaves == 0 {
		return 0, ErrUnknownSizes
	}
	if err := firstProblem(b.Problems(), d.Problems()); err != nil {
		return 0, err
	}
	if s.LengthMm == 0 {
		s.LengthMm = b.HalfFillLengthMm(s.ThicknessMm)
	}
	if err := firstProblem(s.Problems(b)); err != nil {
		return 0, err
	}
	return d.Hours(Develop(b, s).Turns), nil
}

// springFields are the fields of barrel, spring and drive in the order in which a reader mends them.
var springFields = []string{"barrel_inside_diameter", "arbor_diameter", "barrel_height", "mainspring_thickness",
	"mainspring_length",
	"mainspring_width", "barrel_teeth", "centre_pinion_leaves"}

func firstProblem(of ...map[string]string) error {
	for _, bad := range of {
		for _, field := range springFields {
			if why := bad[field]; why != "" {
				return errors.New(why)
			}
		}
	}
	return nil
}

// SpringMaterial is what a mainspring is made of.
type SpringMaterial struct {
	Key, Name  string
	ModulusGPa float64 // Young's modulus, known to some 5 %: it changes with rolling and hardening
	Source     string
}

// SpringMaterials are those offered, the usual first.
func SpringMaterials() []SpringMaterial {
	return []SpringMaterial{
		{"alloy", "Cobalt-chromium-nickel alloy (white, doesn't rust)", 210,
			"UNS R30003, ASTM F1058 grade 1, 31 million psi: makeitfrom.com, data page of the alloy; other tables print 32 million"},
		{"carbon", "Carbon spring steel (blued or grey)", 203,
			"29.5 million psi for high-carbon spring wire up to 0.032 in: table of moduli of spring materials, as printed at " +
				"engineersedge.com"},
		{"stainless", "Stainless spring steel, 18-8", 193,
			"28 million psi for types 302, 304 and 316: the same table"},
	}
}

// TorqueMNm is the torque of s bent by so many turns from its free shape, in mN·m, by strip theory:
//
//	M = E·b·h³/12 · θ/L, θ = 2π·turns
//
// E in GPa, width b, thickness h and length L in mm. Source: bending of a thin strip, as in every textbook of strength
// of materials; the row MS-TORQUE of the tests. Limits: friction between coils and at the hooks, which takes a tenth to
// a fifth (common practice), and coils that lie still on the arbor or wall are left out.
func (s Mainspring) TorqueMNm(modulusGPa, turns float64) float64 {
	// GPa·mm⁴/mm = 1e9 Pa · 1e-12 m⁴ / 1e-3 m = 1 N·m, hence the thousand.
	h := s.ThicknessMm
	return 1000 * modulusGPa * s.WidthMm * h * h * h / 12 * 2 * math.Pi * turns / s.LengthMm
}

// Winding is a spring in its barrel driving a train. Where the spring's width is 0, not known, torques and energy come
// out as 0; turns, hours and shares hold.
type Winding struct {
	Barrel     Barrel
	Spring     Mainspring
	Drive      BarrelDrive
	ModulusGPa float64
	// coils in which the spring lies out of the barrel, of the way it winds; below 0 when it curls the other way
	FreeCoils float64
	KeptTurns float64 // turns still wound when the watch is stopped or stops: by stop-work, or by want of force
	LostTurns float64 // turns not wound at the top: by stop-work, or a slipping bridle
}

// What the torque of a real spring is known to, as half widths of rectangular distributions (common practice): Young's
// modulus of the material as rolled, and a thickness read to a hundredth.
const (
	ModulusSpread      = 0.05
	ThicknessReadingMm = 0.005
)

// TorqueRelativeU is the standard uncertainty of a torque of s as a share of it: the modulus enters once, the thickness
// three times.
func (s Mainspring) TorqueRelativeU() float64 {
	return math.Hypot(ModulusSpread, 3*ThicknessReadingMm/s.ThicknessMm) / math.Sqrt(3)
}

// The limits of Winding's other figures.
const (
	minModulusGPa, maxModulusGPa = 50, 300
	maxFreeCoils                 = 30
)

// Problems says, by form field, why nothing can be computed of w.
func (w Winding) Problems() map[string]string {
	bad := w.Barrel.Problems()
	for _, more := range []map[string]string{w.Spring.Problems(w.Barrel), w.Drive.Problems()} {
		for field, why := range more {
			bad[field] = why
		}
	}
	if !within(w.ModulusGPa, minModulusGPa, maxModulusGPa) {
		bad["modulus"] = fmt.Sprintf("Give Young's modulus from %d to %d GPa.", minModulusGPa, maxModulusGPa)
	}
	if !within(w.FreeCoils, -maxFreeCoils, maxFreeCoils) {
		bad["free_coils"] = fmt.Sprintf("Give the coils of the free spring from −%d to %d.", maxFreeCoils, maxFreeCoils)
	}
	for field, v := range map[string]float64{"kept_turns": w.KeptTurns, "lost_turns": w.LostTurns} {
		if !within(v, 0, MaxMainspringTurns) {
			bad[field] = fmt.Sprintf("Give the turns from 0 to %d.", MaxMainspringTurns)
		}
	}
	if len(bad) > 0 {
		return bad
	}
	d := Develop(w.Barrel, w.Spring)
	if w.KeptTurns+w.LostTurns >= d.Turns {
		field := "kept_turns"
		if w.LostTurns > w.KeptTurns {
			field = "lost_turns"
		}
		bad[field] = fmt.Sprintf("The spring has %.2f turns in total: nothing is left to run on.", d.Turns)
	} else if w.FreeCoils >= d.WoundCoils-w.LostTurns {
		bad["free_coils"] = fmt.Sprintf("A spring that lies free in %s coils has no force in this barrel: fully wound it "+
			"lies in %.1f.",
			figureWords(w.FreeCoils), d.WoundCoils)
	}
	return bad
}

// Point is one moment of a watch running down.
type Point struct {
	Hours     float64 // since it was fully wound
	Turns     float64 // of the barrel since then
	TorqueMNm float64 // at the barrel
	Share     float64 // of the torque fully wound
}

// Reserve is what a winding gives.
type Reserve struct {
	Development Development
	UsedTurns   float64 // from fully wound to where the watch stops
	Hours       float64
	Full, End   Point
	AfterDay    *Point // after 24 hours; nil when it doesn't run so long
	CentreMNm   float64
	TiredSpring bool // the spring's set ends the run before its turns are out
	EnergyMJ    float64
}

// Run computes what w gives. Torque falls in proportion to the turns still wound (strip theory), so that the energy, in
// millijoules, is the mean of first and last torque times the angle. A watch stops at the latest where the torque is
// nothing, which a spring set in its coils reaches early. It panics unless w has no problems.
func (w Winding) Run() Reserve {
	if len(w.Problems()) > 0 {
		panic("train: a winding with problems")
	}
	d := Develop(w.Barrel, w.Spring)
	used := d.Turns - w.KeptTurns - w.LostTurns
	r := Reserve{Development: d}
	if most := d.WoundCoils - w.LostTurns - w.FreeCoils; used > most {
		used, r.TiredSpring = most, true
	}
	r.UsedTurns, r.Hours = used, w.Drive.Hours(used)
	r.Full, r.End = w.at(d, 0), w.at(d, used)
	if day := w.Drive.TurnsFor(24); day <= used {
		p := w.at(d, day)
		r.AfterDay = &p
	}
	r.CentreMNm = r.Full.TorqueMNm / w.Drive.Hours(1)
	r.EnergyMJ = (r.Full.TorqueMNm + r.End.TorqueMNm) / 2 * 2 * math.Pi * used
	return r
}

// at is the moment when the barrel has made so many turns since it was wound as far as it goes.
func (w Winding) at(d Development, turns float64) Point {
	full := d.WoundCoils - w.LostTurns - w.FreeCoils
	left := full - turns
	return Point{
		Hours: w.Drive.Hours(turns), Turns: turns,
		TorqueMNm: w.Spring.TorqueMNm(w.ModulusGPa, left), Share: left / full,
	}
}

// Course is the torque from fully wound to the end, every so many hours above 0, the end included.
func (w Winding) Course(everyHours float64) []Point {
	r := w.Run()
	var out []Point
	for i := 0; ; i++ {
		hours := float64(i) * everyHours
		if hours >= r.Hours-everyHours/100 { // a step that nearly falls on the end would show it twice
			break
		}
		out = append(out, w.at(r.Development, w.Drive.TurnsFor(hours)))
	}
	return append(out, r.End)
}
