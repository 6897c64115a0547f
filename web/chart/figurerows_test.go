package chart_test

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"ledgerwheel/web/chart"
)

func figureRows(mids ...float64) chart.FigureRows {
	c := chart.FigureRows{ID: "rows", Title: "Days from taking in to ready", Unit: "days", Range: "the line goes to 8 in 10"}
	for i, mid := range mids {
		low, high := mid-1, mid+4
		c.Rows = append(c.Rows, chart.FigureRow{Label: fmt.Sprintf("2026-%02d", i+1), Low: &low, Mid: &mid, High: &high})
	}
	return c
}

func TestFigureRows(t *testing.T) {
	t.Parallel()
	for _, n := range []int{1, 12, 60} {
		mids := make([]float64, n)
		for i := range mids {
			mids[i] = float64(5 + i)
		}
		c := figureRows(mids...)
		c.Rows = append(c.Rows, chart.FigureRow{Label: "Somebody with a very long name indeed", Words: "too few to say"})
		drawing, err := c.SVG()
		if err != nil {
			t.Fatal(err)
		}
		inside(t, parse(t, drawing))
		if marks, lines := strings.Count(drawing, "chart-mark chart-series-1"), strings.Count(drawing, "chart-bar"); marks != n || lines != n {
			t.Errorf("%d rows: %d marks and %d lines", n, marks, lines)
		}
		if !strings.Contains(drawing, "too few to say") || !strings.Contains(drawing, "2026-01: 5, from 4 to 9.") {
			t.Errorf("the words lack a row: %s", drawing)
		}
	}
}

// A row of which too few are known has no mark, so that nobody compares it.
func TestFigureRowsOfNothing(t *testing.T) {
	t.Parallel()
	for _, c := range []chart.FigureRows{{ID: "rows", Title: "x"}, {ID: "rows", Title: "x", Rows: []chart.FigureRow{{Label: "a", Words: "too few to say"}}}} {
		drawing, err := c.SVG()
		if err != nil || strings.Contains(drawing, "chart-mark") || !strings.Contains(drawing, "Too few") {
			t.Errorf("%v: %s", err, drawing)
		}
	}
	if _, err := figureRows(math.NaN()).SVG(); !errors.Is(err, chart.ErrNotFinite) {
		t.Errorf("a figure that is none: %v", err)
	}
	for _, mids := range [][]float64{{0}, {-3, 2}, {1e6, 3}, {0, 0}} {
		for _, from := range []bool{false, true} {
			c := figureRows(mids...)
			c.FromZero = from
			drawing, err := c.SVG()
			if err != nil {
				t.Fatal(err)
			}
			inside(t, parse(t, drawing))
		}
	}
}
