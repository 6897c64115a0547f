package listening

import (
	"testing"

	"ledgerwheel/domain/acoustic"
	"ledgerwheel/domain/metrology"
)

// heardFrom is what was heard of a watch of 18 000 beats from a beat on, to another: the first heard is number 0.
func heardFrom(first, past int64) acoustic.Result {
	r := acoustic.Result{BeatsPerHour: 18000, BeatError: &metrology.Value{Value: 0.4}, Wheel: &acoustic.WheelPattern{Teeth: 1,
		Ms: []float64{1, 2}}}
	if first&1 == 1 { // what is called a tick is a tock
		r.BeatError.Value, r.Wheel.Ms = -0.4, []float64{2, 1}
	}
	for n := first; n < past; n++ {
		r.Beats = append(r.Beats, acoustic.Beat{Number: n - first, TimeS: float64(n) / 5})
	}
	return r
}

// As more is heard other beats become the first; each stays at its tooth, ticks stay ticks and the beat error keeps its
// sign.
func TestBeatsStayAtTheirTeeth(t *testing.T) {
	t.Parallel()
	var take Take
	r := heardFrom(10, 40)
	take.steady(&r)
	for _, heard := range [][2]int64{{10, 45}, {9, 52}, {7, 60}, {30, 70}, {31, 90}, {2, 95}} {
		r := heardFrom(heard[0], heard[1])
		take.steady(&r)
		for _, b := range r.Beats {
			n := int64(b.TimeS*5 + 0.5)
			if got := b.Number - take.from; got != n-10 || (b.Number^n)&1 != 0 {
				t.Fatalf("heard from %d to %d: beat %d stands at place %d and has number %d", heard[0], heard[1], n, got, b.Number)
			}
		}
		if r.BeatError.Value != 0.4 || r.Wheel.Ms[0] != 1 {
			t.Errorf("heard from %d to %d: beat error %v, pattern %v", heard[0], heard[1], r.BeatError.Value, r.Wheel.Ms)
		}
	}
	other := heardFrom(3, 40)
	other.BeatsPerHour = 21600
	take.steady(&other)
	if take.from != 0 {
		t.Errorf("another beat goes on from %d", take.from)
	}
}
