package chart_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"ledgerwheel/domain/acoustic"
	"ledgerwheel/web/chart"
)

// bent is a watch of 18 000 beats without scatter, whose wheel of fifteen comes 0.3 ms late with its fourth tooth on the
// pallet of the ticks, and whose rate wanders by more than that.
func bent(turns int) acoustic.Result {
	r := acoustic.Result{BeatsPerHour: 18000, BeatScatterUs: 20}
	for n := range int64(30 * turns) {
		b := acoustic.Beat{Number: n, TimeS: float64(n) / 5, Used: true, ResidualMs: 0.02 * float64(n/30)}
		if n%30 == 6 {
			b.ResidualMs += 0.3
		}
		r.Beats = append(r.Beats, b)
	}
	return r
}

// polar turns a point of the round into its place of the turn, clockwise from the top, and its radius.
func polar(x, y float64) (at, radius float64) {
	const middleX, middleY = 176, 184
	at = math.Atan2(x-middleX, middleY-y) / (2 * math.Pi)
	return at - math.Floor(at), math.Hypot(x-middleX, y-middleY)
}

// Each beat stands at its tooth, turn after turn at the same place, late ones outward in proportion; the wandering rate
// does not move them.
func TestBeatsStandAtTheirTeeth(t *testing.T) {
	t.Parallel()
	result := bent(8)
	root, desc := draw(t, chart.BeatRound{ID: "x", Title: "x", Result: result, Teeth: 15, TeethSaid: "15 teeth assumed"})
	dots, rows := paths(t, root, "chart-dots")
	if len(dots) != 2 || len(dots[0]) != 8*15 {
		t.Fatalf("%d marks of ticks, want %d, and one in the legend", len(dots[0]), 8*15)
	}
	var figures, radii []float64
	for i := range dots[0] {
		at, radius := polar(dots[0][i], rows[0][i])
		n := 2 * i
		// A hundredth of a unit at the middle circle is 2e-5 of the turn.
		if want := float64(n%30) / 30; math.Abs(at-want) > 1e-4 && math.Abs(at-want) < 1-1e-4 {
			t.Fatalf("beat %d stands at %.4f of the turn, want %.4f", n, at, want)
		}
		off := -0.01
		if n%30 == 6 {
			off = 0.29
		}
		figures, radii = append(figures, off), append(radii, radius)
	}
	linear(t, "residual", figures, radii, true) // late stands further out
	for _, want := range []string{"latest: tooth 4, tick, +0.29 ms", "15 teeth assumed; one turn in 6 s", "Tock: 120 beats."} {
		if !strings.Contains(desc, want) {
			t.Errorf("%q is not in %q", want, desc)
		}
	}
}

// A beat that is given another first tooth turns all; the wheel's numbers go on backwards too.
func TestRoundTurnsWithItsFirstTooth(t *testing.T) {
	t.Parallel()
	for from, want := range map[int64]string{0: "tooth 4, tick", 6: "tooth 1, tick", 8: "tooth 15, tick", -4: "tooth 6, tick"} {
		if _, desc := draw(t, chart.BeatRound{ID: "x", Title: "x", Result: bent(8), Teeth: 15, From: from}); !strings.Contains(desc,
			"latest: "+want) {
			t.Errorf("from %d: %q is not in %q", from, want, desc)
		}
	}
}

// What lies beyond the scale, and what was not used, is crossed at rim or hub and counted.
func TestOutliersStandAtTheRim(t *testing.T) {
	t.Parallel()
	result := heardWatch(60)
	result.Beats[100].ResidualMs, result.Beats[100].Used = 40, false
	result.Beats[101].ResidualMs, result.Beats[101].Used = -40, true
	root, desc := draw(t, chart.BeatRound{ID: "x", Title: "x", Result: result, Teeth: 20})
	xs, ys := paths(t, root, "chart-off")
	late, early := 0, 0
	for i := 0; i+3 < len(xs[0]); i += 4 { // a cross is two strokes
		_, radius := polar((xs[0][i]+xs[0][i+1])/2, (ys[0][i]+ys[0][i+1])/2)
		if math.Abs(radius-134) < 0.05 {
			late++
		}
		if math.Abs(radius-42) < 0.05 {
			early++
		}
	}
	if late == 0 || early == 0 {
		t.Errorf("%d crosses at the rim and %d at the hub", late, early)
	}
	if !strings.Contains(desc, "Not used or beyond the scale: ") {
		t.Error(desc)
	}
}

// Of a long recording a stroke stands for nine in ten of a tooth's beats, and a lone wild one does not stretch it.
func TestLongRoundKeepsTheTeeth(t *testing.T) {
	t.Parallel()
	result := heardWatch(7200)
	result.Beats[20001].ResidualMs = 3
	c := chart.BeatRound{ID: "x", Title: "x", Result: result, Teeth: 20}
	root, desc := draw(t, c)
	xs, ys := paths(t, root, "chart-range")
	if len(xs) != 3 { // two swings and the legend
		t.Fatalf("%d paths of strokes", len(xs))
	}
	for swing := range 2 {
		if len(xs[swing]) != 2*20 {
			t.Fatalf("%d ends of strokes, want two of each tooth", len(xs[swing]))
		}
		for i := range xs[swing] {
			at, _ := polar(xs[swing][i], ys[swing][i])
			want := float64(2*(i/2)+swing) / 40
			if math.Abs(at-want) > 1e-3 && math.Abs(at-want) < 1-1e-3 {
				t.Errorf("stroke %d stands at %.4f of the turn, want %.4f", i/2, at, want)
			}
		}
	}
	drawing, _ := c.SVG()
	if len(drawing) > 24<<10 {
		t.Errorf("the drawing is %d bytes long", len(drawing))
	}
	if !strings.Contains(desc, "rim and hub at ±0.050 ms") {
		t.Errorf("a lone wild beat sets the scale: %q", desc)
	}
}

// One turn of the seconds hand: what comes once a minute stands at its second.
func TestMinuteStandsStill(t *testing.T) {
	t.Parallel()
	result := acoustic.Result{BeatsPerHour: 18000}
	for n := range int64(300 * 5) {
		b := acoustic.Beat{Number: n, TimeS: float64(n) / 5, Used: true}
		if n%300 >= 100 && n%300 < 105 { // the twenty-first second
			b.ResidualMs = 0.4
		}
		result.Beats = append(result.Beats, b)
	}
	_, desc := draw(t, chart.BeatRound{ID: "x", Title: "x", Result: result})
	if !strings.Contains(desc, "latest: second 20, +0.39 ms") {
		t.Error(desc)
	}
}

// The beats of a bent tooth lie too far off to be used: it stands out all the same, and sets the scale.
func TestBentToothShowsThoughItIsNotUsed(t *testing.T) {
	t.Parallel()
	result := bent(8)
	for i := range result.Beats {
		if result.Beats[i].Number%30 == 6 {
			result.Beats[i].Used = false
		}
	}
	_, desc := draw(t, chart.BeatRound{ID: "x", Title: "x", Result: result, Teeth: 15})
	if !strings.Contains(desc, "latest: tooth 4, tick, +0.30 ms") || !strings.Contains(desc, "rim and hub at ±0.50 ms") {
		t.Error(desc)
	}
}

// The last seconds alone are shown where that is asked.
func TestRoundOfTheLastSeconds(t *testing.T) {
	t.Parallel()
	_, desc := draw(t, chart.BeatRound{ID: "x", Title: "x", Result: bent(8), Teeth: 15, LastS: 11.9})
	if !strings.Contains(desc, "Tick: 30 beats. Tock: 30 beats.") {
		t.Error(desc)
	}
}

func TestRoundRefuses(t *testing.T) {
	t.Parallel()
	if _, err := (chart.BeatRound{ID: "x", Teeth: 61}).SVG(); !errors.Is(err, chart.ErrTooMany) {
		t.Error(err)
	}
	if _, err := (chart.BeatRound{ID: "1 2", Result: bent(2), Teeth: 15}).SVG(); !errors.Is(err, chart.ErrID) {
		t.Error(err)
	}
}
