package chart_test

import (
	"errors"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"ledgerwheel/domain/metrology"
	"ledgerwheel/web/chart"
)

func beforeAfter(pairs ...[2]float64) chart.BeforeAfter {
	c := chart.BeforeAfter{ID: "rates", Title: "Before and after", Desc: "as said", Before: "vor der Arbeit", After: "danach",
		Slow: "geht nach", Fast: "geht vor", Unit: "Sekunden am Tag", DecimalComma: true}
	for i, p := range pairs {
		r := chart.BeforeAfterRow{Name: []string{"liegend, Blatt oben", "12 oben", "3 oben"}[i%3]}
		for side, v := range p {
			if !math.IsNaN(v) {
				to := []**metrology.Value{&r.Before, &r.After}[side]
				*to = &metrology.Value{Value: v, StdUncertainty: 0.5, Unit: "s/d"}
			}
		}
		c.Rows = append(c.Rows, r)
	}
	return c
}

var placed = regexp.MustCompile(`class="chart-mark chart-series-(\d)[^"]*" transform="translate\(([0-9.]+) ([0-9.]+)\)"`)

// TestBeforeAfterLiesOnOneScale holds the marks to a straight scale: their distances are as those of the rates.
func TestBeforeAfterLiesOnOneScale(t *testing.T) {
	t.Parallel()
	drawing, err := beforeAfter([2]float64{-20, 4}, [2]float64{16, 2}, [2]float64{math.NaN(), -3}).SVG()
	if err != nil {
		t.Fatal(err)
	}
	inside(t, parse(t, drawing))
	at := map[string]float64{}
	for _, m := range placed.FindAllStringSubmatch(drawing, -1) {
		if y, _ := strconv.ParseFloat(m[3], 64); y > 60 { // below the legend
			x, _ := strconv.ParseFloat(m[2], 64)
			at[m[1]+" "+m[3]] = x
		}
	}
	if len(at) != 5 {
		t.Fatalf("%d marks are drawn: %v", len(at), at)
	}
	perSecond := (at["2 111"] - at["2 81"]) / 36 // 16 and −20 before
	for key, rate := range map[string]float64{"1 81": 4, "1 111": 2, "1 141": -3} {
		if got := (at[key] - at["2 81"]) / perSecond; math.Abs(got-(rate+20)) > 0.01 {
			t.Errorf("the mark of %+g s/d lies at %+.2f", rate, got-20)
		}
	}
	if !strings.Contains(drawing, "geht nach") || !strings.Contains(drawing, "geht vor") {
		t.Error("the sides of the scale are not named")
	}
}

func TestBeforeAfterOfAnything(t *testing.T) {
	t.Parallel()
	for _, pairs := range [][][2]float64{{{0, 0}}, {{-9999, 4}}, {{300, math.NaN()}}, {{0.2, 0.1}, {0.3, -0.2}}} {
		drawing, err := beforeAfter(pairs...).SVG()
		if err != nil || strings.Contains(drawing, "NaN") {
			t.Errorf("%v: %v", pairs, err)
			continue
		}
		inside(t, parse(t, drawing))
	}
	if _, err := beforeAfter().SVG(); !errors.Is(err, chart.ErrSize) {
		t.Errorf("nothing to draw: %v", err)
	}
	if _, err := beforeAfter([2]float64{math.Inf(1), 0}).SVG(); !errors.Is(err, chart.ErrNotFinite) {
		t.Errorf("no finite figure: %v", err)
	}
}
