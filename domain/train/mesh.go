package train

import (
	"fmt"
	"math"
)

// Mesh is a wheel and a pinion in mesh, with teeth of the cycloidal forms of watch work.
//
// Proportions are those of BS 978 Part 2 (cycloidal type gears), which the Swiss forms NIHS 20-01 and 20-02 resemble.
// Neither text was seen here: the addenda of a driving wheel are computed from the geometry that BS 978-2 rests on and
// agree with its published table to 0.001 module; the pinion's and those of motion work are the standard's figures as
// others give them. Old watches often follow no standard; addendumU says how far that may reach.
type Mesh struct {
	Wheel, Pinion int
	// PinionDrives is so in motion work, where the cannon pinion leads the minute wheel; such teeth are cut to lead
	// and to be led.
	PinionDrives bool
}

// String writes m with the driver first: 80:10, in motion work 12:36.
func (m Mesh) String() string {
	if m.PinionDrives {
		return fmt.Sprintf("%d:%d", m.Pinion, m.Wheel)
	}
	return fmt.Sprintf("%d:%d", m.Wheel, m.Pinion)
}

// addendumU is the standard uncertainty of an addendum in modules, for a part that nobody says was cut to a standard.
// It is a judgement: the standard's three pinion forms lie from 0.525 to 0.855 module, and a rectangular spread of that
// width has a standard deviation of 0.095.
const addendumU = 0.1

// Modules of watch work, mm: finer or coarser is possible and rare (common practice).
const (
	minModuleMm = 0.05
	maxModuleMm = 0.30
)

// Estimate is a figure with its standard uncertainty in the same unit.
type Estimate struct{ Value, U float64 }

// WheelAddendum is the height of the wheel's teeth above the pitch circle, in modules. For a wheel that drives it is 95
// % of the height at which the two epicycloids of a tooth meet in a point, the describing circle being half the
// pinion's pitch circle, which is how BS 978-2 has it; its table covers pinions of 6 to 16 leaves and ratios from 3 to
// 12.
func (m Mesh) WheelAddendum() float64 {
	if m.PinionDrives {
		return sometimesDriving(m.Wheel)
	}
	height, _ := m.pointed()
	return 0.95 * height
}

// PinionAddendum is the height of the leaves above the pitch circle, in modules: BS 978-2's form C up to 7 leaves,
// B for 8 and 9, A from 10 on.
func (m Mesh) PinionAddendum() float64 {
	switch {
	case m.PinionDrives:
		return sometimesDriving(m.Pinion)
	case m.Pinion <= 7:
		return 0.855
	case m.Pinion <= 9:
		return 0.67
	case m.Pinion == 10:
		return 0.525
	}
	return 0.625
}

// sometimesDriving is BS 978-2's addendum, in modules, of a part that leads and is led. The standard itself prefers
// involute teeth there.
func sometimesDriving(teeth int) float64 {
	for _, row := range []struct {
		upTo     int
		addendum float64
	}{{8, 1.16}, {9, 1.17}, {11, 1.19}, {13, 1.20}, {16, 1.22}, {20, 1.24}, {25, 1.26}, {34, 1.27}, {54, 1.29},
		{134, 1.31}} {
		if teeth <= row.upTo {
			return row.addendum
		}
	}
	return 1.32
}

// pointed returns, for the tooth of the driving wheel that ends in a point, its addendum in modules and the angle, in
// radians, through which the describing circle has rolled from the line of centres when that point is in contact.
//
// With the describing circle's radius as unit the wheel's pitch radius is 2w, w = Wheel/Pinion. Half a tooth takes
// π/(2·Wheel) at the wheel's centre; the circle's point leads the pitch point by that angle when
// t/(2w) - atan2(sin t, 1 + 2w - cos t) = π/(2·Wheel), which is solved by iteration.
func (m Mesh) pointed() (addendum, rolled float64) {
	w2 := 2 * float64(m.Wheel) / float64(m.Pinion)
	leaf := math.Pi / float64(m.Pinion)
	t := 1.0
	for range 200 {
		next := leaf + w2*math.Atan2(math.Sin(t), 1+w2-math.Cos(t))
		if math.Abs(next-t) < 1e-12 {
			break
		}
		t = next
	}
	return m.height(t), t
}

// height is how far above the wheel's pitch circle, in modules, contact lies once the describing circle has rolled
// through t radians from the line of centres.
func (m Mesh) height(t float64) float64 {
	k := 1 + 2*float64(m.Wheel)/float64(m.Pinion)
	return float64(m.Pinion) / 4 * (1 - k + math.Sqrt(1+k*k-2*k*math.Cos(t)))
}

// LedAfterCentres is how much of one pitch a tooth of a driving wheel leads a leaf after the line of centres, before
// the next tooth must have taken over. Below 1 the missing part is led before the line of centres, where friction is
// engaging and the mesh asks more of its depth and finish.
//
// Contact runs along the describing circle, half the pinion's pitch circle, until the tooth's addendum ends it; a roll
// of t radians turns the pinion by t/2 (the geometry of epicycloidal teeth).
func (m Mesh) LedAfterCentres() float64 {
	_, tip := m.pointed()
	lo, hi, want := 0.0, tip, m.WheelAddendum()
	for range 60 {
		mid := (lo + hi) / 2
		if m.height(mid) < want {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo * float64(m.Pinion) / (4 * math.Pi)
}

// involuteUndercutBelow is the count below which an uncorrected involute tooth of 20° is undercut: 2/sin²20° = 17.1.
const involuteUndercutBelow = 18

// Notes says what the counts alone mean for the mesh.
func (m Mesh) Notes() []string {
	var notes []string
	if m.PinionDrives {
		if m.Pinion < involuteUndercutBelow {
			notes = append(notes, fmt.Sprintf("If this motion work has involute teeth, as is common, %d leaves are below %d "+
				"and are undercut unless the form is corrected; copy the old form.",
				m.Pinion, involuteUndercutBelow))
		}
		return notes
	}
	switch led := m.LedAfterCentres(); {
	case led < 0.995:
		notes = append(notes, fmt.Sprintf("With %d leaves a tooth leads for %.0f %% of a pitch after the line of centres; "+
			"the rest is led before it, so depth and finish matter.", m.Pinion, 100*led))
	default:
		notes = append(notes, fmt.Sprintf("With %d leaves a tooth leads for the whole pitch after the line of centres.",
			m.Pinion))
	}
	if m.Pinion < involuteUndercutBelow {
		notes = append(notes, fmt.Sprintf("Order a cycloidal pinion, whose flanks are radial: an involute one of %d "+
			"leaves would be undercut, being below %d.", m.Pinion, involuteUndercutBelow))
	}
	return notes
}

// Size is a mesh at a module: everything to cut or order by.
type Size struct {
	ModuleMm, CircularPitchMm, CentreDistanceMm        Estimate
	WheelPitchMm, PinionPitchMm                        Estimate // pitch diameters
	WheelOutsideMm, PinionOutsideMm                    Estimate // over the tips
	WheelOutsideInModules, PinionOutsideInModules, Sum float64  // Sum is of both counts
}

// Size returns the mesh at the module, mm: circular pitch π·m, pitch diameters z·m, distance of centres
// (z₁+z₂)·m/2, outside diameters (z + 2·addendum)·m. An outside diameter's uncertainty has addendumU in it.
func (m Mesh) Size(module Estimate) Size {
	of := func(factor float64) Estimate { return Estimate{factor * module.Value, factor * module.U} }
	outside := func(teeth int, addendum float64) (Estimate, float64) {
		f := float64(teeth) + 2*addendum
		return Estimate{f * module.Value, math.Hypot(f*module.U, 2*addendumU*module.Value)}, f
	}
	s := Size{ModuleMm: module, CircularPitchMm: of(math.Pi), Sum: float64(m.Wheel + m.Pinion),
		WheelPitchMm: of(float64(m.Wheel)), PinionPitchMm: of(float64(m.Pinion))}
	s.CentreDistanceMm = of(s.Sum / 2)
	s.WheelOutsideMm, s.WheelOutsideInModules = outside(m.Wheel, m.WheelAddendum())
	s.PinionOutsideMm, s.PinionOutsideInModules = outside(m.Pinion, m.PinionAddendum())
	return s
}

// Measured is what was measured at a mesh, mm; 0 is not measured.
type Measured struct {
	CentreDistanceMm                float64
	WheelOutsideMm, PinionOutsideMm float64 // over the tips
}

// Problems says, by the field names given for the three figures, what can't be.
func (d Measured) problems(prefix string) map[string]string {
	bad := map[string]string{}
	for _, f := range []struct {
		name string
		v    float64
	}{{"centres", d.CentreDistanceMm}, {"wheel_outside", d.WheelOutsideMm}, {"pinion_outside", d.PinionOutsideMm}} {
		if f.v != 0 && !(f.v >= 0.2 && f.v <= 100) {
			bad[prefix+f.name] = "Give millimetres from 0.2 to 100, or leave it empty."
		}
	}
	switch {
	case len(bad) > 0 || d.WheelOutsideMm == 0:
	case d.PinionOutsideMm >= d.WheelOutsideMm:
		bad[prefix+"pinion_outside"] = "The pinion is not smaller than its wheel: one of both diameters is wrong."
	case d.CentreDistanceMm != 0 && d.CentreDistanceMm > d.WheelOutsideMm:
		bad[prefix+"centres"] = "The pinion would have to be as large as its wheel to bridge this distance: measure again."
	case d.CentreDistanceMm != 0 && d.WheelOutsideMm > 2*d.CentreDistanceMm:
		bad[prefix+"wheel_outside"] = "A wheel of this size would reach beyond the pinion’s centre: measure again."
	}
	return bad
}

// Module is a mesh's module as measured in one to three ways.
type Module struct {
	Estimate
	FromCentres, FromWheel, FromPinion Estimate // each alone; zero where not measured
	Ways                               int
	// ChiSquared is the sum of squared deviations of the single figures from Value, in their standard uncertainties,
	// with Ways-1 degrees of freedom.
	ChiSquared float64
}

// Module returns the module that was measured, each way weighted by its uncertainty: 2·distance/(z₁+z₂), and outside
// diameter/(z + 2·addendum). uMm is the standard uncertainty of a measured length. Ways is 0 where nothing was
// measured.
func (m Mesh) Module(d Measured, uMm float64) Module {
	var r Module
	var ways []Estimate
	one := func(lengthMm, factor, uFactor float64) Estimate {
		if lengthMm == 0 {
			return Estimate{}
		}
		v := lengthMm / factor
		e := Estimate{v, math.Hypot(uMm, v*uFactor) / factor}
		ways = append(ways, e)
		return e
	}
	r.FromCentres = one(d.CentreDistanceMm, float64(m.Wheel+m.Pinion)/2, 0)
	r.FromWheel = one(d.WheelOutsideMm, float64(m.Wheel)+2*m.WheelAddendum(), 2*addendumU)
	r.FromPinion = one(d.PinionOutsideMm, float64(m.Pinion)+2*m.PinionAddendum(), 2*addendumU)
	r.Ways = len(ways)
	var weight float64
	for _, e := range ways {
		weight += 1 / (e.U * e.U)
		r.Value += e.Value / (e.U * e.U)
	}
	if weight == 0 {
		return r
	}
	r.Value /= weight
	r.U = 1 / math.Sqrt(weight)
	for _, e := range ways {
		z := (e.Value - r.Value) / e.U
		r.ChiSquared += z * z
	}
	return r
}

// Finer says whether the pinion's teeth are too fine or too coarse for the wheel's to mesh with, as the outside
// diameters show: both modules must agree. It is "" where they do, to within 2.5 standard uncertainties, or were not
// both measured.
func (r Module) Finer() string {
	w, p := r.FromWheel, r.FromPinion
	if w.Value == 0 || p.Value == 0 || math.Abs(w.Value-p.Value) <= 2.5*math.Hypot(w.U, p.U) {
		return ""
	}
	word := "finer"
	if p.Value > w.Value {
		word = "coarser"
	}
	return fmt.Sprintf("The pinion is %s than its wheel can mesh with: by its diameter its module is %.3f mm, the "+
		"wheel’s %.3f mm.", word, p.Value, w.Value)
}
