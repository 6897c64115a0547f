package train

import (
	"fmt"
	"math"
	"math/big"
)

// What makes one answer more plausible than another is a judgement from common practice, put into factors that are
// multiplied: usual counts of leaves and teeth, usual ratios, a usual beat, and how well what was measured agrees.
// The factors only order answers; each of them is exact in its counts.

// leafFactor is how usual a count of leaves is in going trains: 8 and 10 above all, 6 and 7 at the escape pinion, 12 in
// finer work; odd counts from 9 on are rare (common practice). Watch pinions have 6 to 14 leaves (Horopedia, pinions).
func leafFactor(leaves int, escape bool) float64 {
	usual := map[int]float64{6: 0.7, 7: 0.8, 8: 1, 9: 0.5, 10: 1, 11: 0.25, 12: 0.8, 13: 0.08, 14: 0.35, 15: 0.12, 16: 0.2}
	if escape {
		usual = map[int]float64{6: 0.9, 7: 1, 8: 0.9, 9: 0.35, 10: 0.4, 11: 0.06, 12: 0.1}
	}
	if f, ok := usual[leaves]; ok {
		return f
	}
	return 0.02
}

// wheelFactor is how usual a count of a wheel is: 50 to 90 teeth, and counts of small divisors, which every dividing
// plate has (common practice).
func wheelFactor(teeth, usualLeast, usualMost int) float64 {
	f := 1.0
	switch {
	case teeth >= usualLeast && teeth <= usualMost:
	case teeth >= usualLeast*4/5 && teeth <= usualMost*7/6:
		f = 0.5
	case teeth >= usualLeast*3/5 && teeth <= usualMost*4/3:
		f = 0.2
	default:
		f = 0.02
	}
	switch p := largestPrime(teeth); {
	case p <= 5:
		return f
	case p == 7:
		return 0.8 * f
	case p == 11:
		return 0.5 * f
	case p == 13:
		return 0.3 * f
	}
	return 0.1 * f
}

func largestPrime(n int) int {
	largest := 1
	for p := 2; p <= n; p++ {
		for n%p == 0 {
			largest, n = p, n/p
		}
	}
	return largest
}

func escapeFactor(teeth int) float64 {
	if f, ok := map[int]float64{15: 1, 20: 0.5, 21: 0.3, 16: 0.12, 18: 0.12, 14: 0.08, 12: 0.08, 13: 0.03, 17: 0.03,
		19: 0.03}[teeth]; ok {
		return f
	}
	return 0.01
}

func beatFactor(beats int) float64 {
	if f, ok := map[int]float64{18000: 1, 21600: 1, 28800: 1, 19800: 0.4, 25200: 0.25, 36000: 0.25, 14400: 0.2,
		16200: 0.1}[beats]; ok {
		return f
	}
	return 1 // given, not found
}

// motionFactor is how usual a count is in motion work: pinions of 8 to 14, wheels of 24 to 48.
func motionFactor(n int, kind Kind) float64 {
	if kind == WheelTeeth {
		return wheelFactor(n, 24, 48)
	}
	switch {
	case n >= 8 && n <= 14:
		return 1
	case n == 7 || n == 15 || n == 16:
		return 0.5
	}
	return 0.1
}

// ratioFactor is how usual a ratio of wheel to pinion is in a going train: 6 to 10, less often 5 to 12.
func ratioFactor(ratio float64) float64 {
	switch {
	case ratio >= 6 && ratio <= 10:
		return 1
	case ratio >= 5 && ratio <= 12:
		return 0.6
	case ratio >= 4 && ratio <= 15:
		return 0.2
	}
	return 0.03
}

// sharedSpread is how far, as a logarithm, the modules of two meshes on one centre distance commonly differ
// (judgement).
const sharedSpread = 0.12

// plea collects what speaks for and against an answer.
type plea struct {
	weight  float64
	reasons []string
}

func (p *plea) add(factor float64, reason string) {
	p.weight *= factor
	if reason != "" {
		p.reasons = append(p.reasons, reason)
	}
}

// graded words a factor of usualness.
func graded(f float64) string {
	switch {
	case f >= 0.8:
		return "usual"
	case f >= 0.3:
		return "less usual"
	case f >= 0.1:
		return "uncommon"
	}
	return "rare"
}

// weigh returns the plausibility of a, whose counts q has in place, as an answer to the question asked.
func (q *Missing) weigh(asked *Missing, sought []Sought, a Answer) (float64, []string) {
	p := &plea{weight: 1}
	for i, s := range sought {
		q.weighCount(p, s, a.Counts[i])
	}
	if q.Motion == nil {
		if asked.BeatsPerHour == 0 {
			f := beatFactor(a.BeatsPerHour)
			p.add(f, fmt.Sprintf("%d beats per hour are %s.", a.BeatsPerHour, graded(f)))
		}
		q.weighSeconds(p, asked)
	}
	for _, m := range a.Meshes {
		q.weighMesh(p, m)
	}
	if q.sharedCentres() {
		q.weighShared(p, a)
	}
	return p.weight, p.reasons
}

// countFactor is how usual a count is in its place.
func (q *Missing) countFactor(s Sought, n int) float64 {
	switch {
	case q.Motion != nil:
		return motionFactor(n, s.Kind)
	case s.Kind == EscapeWheelTeeth:
		return escapeFactor(n)
	case s.Kind == PinionLeaves:
		return leafFactor(n, s.Name == "escape pinion")
	}
	return wheelFactor(n, 50, 90)
}

func (q *Missing) weighCount(p *plea, s Sought, n int) {
	f := q.countFactor(s, n)
	article := "a"
	if s.Name[0] == 'e' {
		article = "an"
	}
	reason := fmt.Sprintf("%d %s are %s for %s %s", n, s.Kind.Unit(), graded(f), article, s.Name)
	if prime := largestPrime(n); s.Kind == WheelTeeth && prime > 7 {
		reason += fmt.Sprintf(" (they divide by %d, which few dividing plates have)", prime)
	}
	p.add(f, reason+".")
}

func (q *Missing) weighSeconds(p *plea, asked *Missing) {
	hand, ok := q.Train.SecondsHand()
	switch {
	case !ok:
	case hand.TurnsPerHour.Cmp(big.NewRat(60, 1)) == 0:
		if !asked.SecondsOnceAMinute {
			p.add(1, fmt.Sprintf("The %s turns once a minute and can carry a seconds hand.", hand.On))
		}
	default:
		p.add(0.25, fmt.Sprintf("The %s turns %s times an hour and can’t carry a seconds hand.", hand.On,
			Fraction(hand.TurnsPerHour)))
	}
}

// weighMesh judges the ratio of a mesh and how what was measured agrees with it. Three figures of one mesh that differ
// by chi-squared are exp(-chi²/2) as likely as three that agree, errors being normal.
func (q *Missing) weighMesh(p *plea, m MeshFound) {
	if q.Motion == nil {
		ratio := float64(m.Mesh.Wheel) / float64(m.Mesh.Pinion)
		switch f := ratioFactor(ratio); {
		case f < 1:
			p.add(f, fmt.Sprintf("A ratio of %s between %s is %s.",
				Fraction(big.NewRat(int64(m.Mesh.Wheel), int64(m.Mesh.Pinion))), m.Name, graded(f)))
		default:
			p.add(f, "")
		}
	}
	if m.Module.Ways > 1 {
		f := math.Exp(-min(m.Module.ChiSquared, 60) / 2)
		p.add(f, moduleWords(m))
	}
	if m.Module.Ways > 0 && (m.Module.Value < minModuleMm || m.Module.Value > maxModuleMm) {
		p.add(0.05, fmt.Sprintf("A module of %.3f mm is outside what watches have, %.2f to %.2f mm.", m.Module.Value,
			minModuleMm, maxModuleMm))
	}
}

// moduleWords says how the modules of one mesh agree.
func moduleWords(m MeshFound) string {
	if m.Module.fits() {
		return fmt.Sprintf("What was measured of %s gives one module, %.3f mm, in %d ways.", m.Name, m.Module.Value,
			m.Module.Ways)
	}
	if says := m.Module.Finer(); says != "" {
		return says
	}
	return fmt.Sprintf("What was measured of %s doesn’t fit: %s.", m.Name, m.Module.apart())
}

// fits reports whether the measured ways to r agree: chi-squared below its 99th percentile, 6.63 with one degree of
// freedom and 9.21 with two (tables of the chi-squared distribution).
func (r Module) fits() bool {
	return r.Ways < 2 || r.Ways == 2 && r.ChiSquared < 6.63 || r.Ways == 3 && r.ChiSquared < 9.21
}

// apart lists the module by each way that was measured.
func (r Module) apart() string {
	says := "the module is"
	sep := " "
	for _, way := range []struct {
		of string
		e  Estimate
	}{{"by the distance of centres", r.FromCentres}, {"by the wheel’s diameter", r.FromWheel},
		{"by the pinion’s", r.FromPinion}} {
		if way.e.Value != 0 {
			says += fmt.Sprintf("%s%.3f mm %s", sep, way.e.Value, way.of)
			sep = ", "
		}
	}
	return says
}

// weighShared judges two meshes on one centre distance: module times sum of counts is the same for both.
func (q *Missing) weighShared(p *plea, a Answer) {
	first, second := q.meshAt(0), q.meshAt(1)
	touched := false
	for _, m := range a.Meshes {
		touched = touched || m.Mesh == first || m.Mesh == second
	}
	if !touched {
		return
	}
	s1, s2 := first.Wheel+first.Pinion, second.Wheel+second.Pinion
	d := math.Log(float64(s1)/float64(s2)) / sharedSpread
	reason := fmt.Sprintf("Both meshes share their centres and have %d and %d teeth in total, so the second needs a "+
		"module %.2f times the first’s.", s1, s2, float64(s1)/float64(s2))
	if s1 == s2 {
		reason = fmt.Sprintf("Both meshes share their centres and have %d teeth in total, so one module serves both.", s1)
	}
	p.add(math.Exp(-min(d*d, 60)/2), reason)
}

// leastUsual is the product of factors below which a wheel maker would hardly cut what is asked for, however well it
// gives the beat: one count or ratio that is rare, or two that are uncommon (judgement; the published trains of the
// tests, with any one or two counts missing and their beat known, stand above it).
const leastUsual = 0.05

// standing words an answer in place i by its weight against the best one's and by its own usualness.
func standing(i int, weight, usual float64) string {
	switch {
	case usual < leastUsual && i == 0:
		return "nearest, but hardly ever cut so"
	case usual < leastUsual:
		return "hardly ever cut so"
	case i == 0:
		return "most plausible"
	case weight >= 0.5:
		return "nearly as plausible"
	case weight >= 0.1:
		return "possible"
	case weight >= 0.005:
		return "unlikely"
	}
	return "hardly likely"
}

// found returns the meshes of q, whose counts are all in place, that had missing counts.
func (q *Missing) found(sought []Sought) []MeshFound {
	var list []MeshFound
	for i, s := range sought {
		if s.mesh < 0 || i == 1 && sought[0].mesh == s.mesh {
			continue
		}
		m := MeshFound{Of: i, Name: q.meshName(s.mesh), Mesh: q.meshAt(s.mesh)}
		m.Module = m.Mesh.Module(q.measuredAt(sought, s.mesh), q.LengthUM)
		m.Size = m.Mesh.Size(m.Module.Estimate)
		list = append(list, m)
	}
	return list
}

// measuredAt gathers what was measured of a mesh.
func (q *Missing) measuredAt(sought []Sought, mesh int) Measured {
	var d Measured
	take := func(into *float64, from float64) {
		if *into == 0 {
			*into = from
		}
	}
	for i, s := range sought {
		if s.mesh == mesh {
			take(&d.CentreDistanceMm, q.Measured[i].CentreDistanceMm)
			take(&d.WheelOutsideMm, q.Measured[i].WheelOutsideMm)
			take(&d.PinionOutsideMm, q.Measured[i].PinionOutsideMm)
		}
	}
	if q.sharedCentres() && (mesh == 0 || mesh == 1) {
		for i, s := range sought {
			if s.mesh == 1-mesh {
				take(&d.CentreDistanceMm, q.Measured[i].CentreDistanceMm)
			}
		}
	}
	return d
}

// meshName names the two parts of a mesh.
func (q *Missing) meshName(mesh int) string {
	var wheel, pinion string
	for _, p := range q.places() {
		switch {
		case p.mesh != mesh:
		case p.Kind == PinionLeaves:
			pinion = p.Name
		default:
			wheel = p.Name
		}
	}
	if q.Motion != nil {
		return pinion + " and " + wheel
	}
	return wheel + " and " + pinion
}

// Misfit says which measured figures no answer fits: the place in Sought of their mesh's missing count and a sentence;
// false where some answer fits, or nothing can be told.
func (f Found) Misfit() (at int, says string, ok bool) {
	if len(f.Answers) == 0 {
		return 0, "", false
	}
	for _, a := range f.Answers {
		fits := true
		for _, m := range a.Meshes {
			fits = fits && m.Module.fits()
		}
		if fits {
			return 0, "", false
		}
	}
	for _, m := range f.Answers[0].Meshes {
		if !m.Module.fits() {
			return m.Of, "With no count that the beat allows do these figures agree. With the nearest: " + moduleWords(m), true
		}
	}
	return 0, "", false
}
