package train_test

import (
	"math"
	"strings"
	"testing"

	"ledgerwheel/domain/train"
)

func faults(j train.Judgement) string {
	var out []string
	for _, e := range j.Effects {
		out = append(out, string(e.Fault))
	}
	return strings.Join(out, ", ")
}

func TestWrongSprings(t *testing.T) {
	t.Parallel()
	b := train.Barrel{InsideDiameterMm: 10.5, ArborDiameterMm: 3.5}
	right := train.Mainspring{WidthMm: 1.5, ThicknessMm: 0.12, LengthMm: b.HalfFillLengthMm(0.12)}
	for _, c := range []struct {
		width, thickness, fill float64
		want, figures          string
	}{
		{1.5, 0.12, 0.5, "", ""},
		{1.5, 0.1225, 0.55, "", ""},                      // within half a step, within the band
		{1.5, 0.125, 0.5, "too thick", "13 % stronger"},  // (125/120)³ = 1.130
		{1.5, 0.15, 0.5, "too thick", "95 % stronger"},   // (15/12)³ = 1.953
		{1.5, 0.11, 0.5, "too thin", "23 % weaker"},      // (11/12)³ = 0.770
		{1.5, 0.12, 0.7, "too long", "29 % weaker"},      // 0.5/0.7 = 0.714
		{1.5, 0.12, 0.3, "too short", "67 % stronger"},   // 0.5/0.3 = 1.667
		{1.6, 0.12, 0.5, "too wide", "7 % stronger"},     // 1.6/1.5 = 1.067
		{1.2, 0.12, 0.5, "too narrow", "20 % weaker"},    // 1.2/1.5
		{0, 0.15, 0.7, "too thick, too long", "70 % of"}, // both are said
		{1.2, 0.1, 0.3, "too thin, too short, too narrow", "30 % of"},
	} {
		s := train.Mainspring{WidthMm: c.width, ThicknessMm: c.thickness,
			LengthMm: 2 * c.fill * b.HalfFillLengthMm(c.thickness)}
		j := train.JudgeSpring(b, s, right)
		var all strings.Builder
		for _, e := range j.Effects {
			all.WriteString(e.Text)
		}
		if faults(j) != c.want || !strings.Contains(all.String(), c.figures) {
			t.Errorf("%+v: got %s: %s", c, faults(j), all.String())
		}
	}
}

// The ratios are those of the torques themselves, whatever the material.
func TestVariants(t *testing.T) {
	t.Parallel()
	w := aWinding()
	list := train.Variants(w.Barrel, w.Spring)
	if len(list) != 5 {
		t.Fatalf("got %d springs, want the right one and four", len(list))
	}
	right := w.Run()
	for _, v := range list {
		w.Spring = v.Spring
		r := w.Run()
		near(t, v.What+": full", v.FullRatio, r.Full.TorqueMNm/right.Full.TorqueMNm, 1e-12)
		near(t, v.What+": end", v.EndRatio, r.End.TorqueMNm/right.End.TorqueMNm, 1e-9)
		near(t, v.What+": turns", v.Development.Turns, r.Development.Turns, 1e-12)
		if v.What != "right" && v.Development.Turns >= right.Development.Turns && !strings.Contains(v.What, "thin") {
			t.Errorf("%s: %.3f turns, no fewer than %.3f", v.What, v.Development.Turns, right.Development.Turns)
		}
	}
	if e := (train.SpringEffect{Fault: train.TooThick, Text: "It knocks."}); e.Sentence() != "Too thick. It knocks." {
		t.Errorf("got %q", e.Sentence())
	}
	full := w.Barrel.FreeAreaMm2() / 0.12
	if list := train.Variants(w.Barrel, train.Mainspring{ThicknessMm: 0.12, LengthMm: 0.95 * full}); len(list) != 3 {
		t.Errorf("got %d springs of a nearly full barrel, want 3: thicker and longer ones don't go in", len(list))
	}
	if r := list[0]; math.Abs(r.FullRatio-1) > 1e-12 {
		t.Error("the right spring is not as strong as itself")
	}
}
