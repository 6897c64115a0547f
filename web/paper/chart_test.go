package paper

import (
	"math"
	"strings"
	"testing"
)

func TestTickStep(t *testing.T) {
	t.Parallel()
	tests := []struct {
		span float64
		most int
		want float64
	}{
		{10, 7, 2}, {7, 7, 1}, {39.1, 7, 10}, {1, 7, 0.2}, {172800, 7, 50000}, {20, 7, 5},
	}
	for _, tt := range tests {
		got := tickStep(tt.span, tt.most)
		if math.Abs(got-tt.want) > 1e-9*tt.want { // rounding of the power of ten
			t.Errorf("tickStep(%v, %d) = %v, want %v", tt.span, tt.most, got, tt.want)
		}
		if n := math.Ceil(tt.span/got - 1e-9); n > float64(tt.most) {
			t.Errorf("span %v gets %v steps", tt.span, n)
		}
	}
}

func TestSigned(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		value, step float64
		want        string
	}{{5, 5, "+5"}, {-5, 5, "−5"}, {0, 5, "0"}, {0.4, 0.2, "+0.4"}, {-10, 10, "−10"}, {0.25, 0.05, "+0.25"}} {
		if got := signed(tt.value, tt.step); got != tt.want {
			t.Errorf("signed(%v, %v) = %q, want %q", tt.value, tt.step, got, tt.want)
		}
	}
}

// A value lies as far up the chart as it lies between the ends of the scale.
func TestScale(t *testing.T) {
	t.Parallel()
	sc := scale{low: -10, high: 30, top: 100, bottom: 180}
	for value, want := range map[float64]float64{-10: 180, 30: 100, 10: 140, 0: 160} {
		if got := sc.y(value); math.Abs(got-want) > 1e-9 { // rounding only
			t.Errorf("%v stands at %v, want %v", value, got, want)
		}
	}
}

func TestSpanHoldsLimitsAndBars(t *testing.T) {
	t.Parallel()
	c := rateChart{
		limits: Limits{true, -4, 6},
		series: []chartSeries{{points: []chartPoint{{true, 7, 2}, {true, -1, 0.5}, {false, 99, 0}}}},
	}
	if low, high := c.span(); low != -4 || high != 9 {
		t.Errorf("from %v to %v, want -4 to 9", low, high)
	}
	if low, high := (rateChart{}).span(); high-low < 1 {
		t.Errorf("an empty chart spans %v to %v", low, high)
	}
}

// Runs may differ in positions and states; each reading goes to its own place.
func TestRateCharts(t *testing.T) {
	t.Parallel()
	b := sampleBulletin()
	b.Runs[1].Rows = b.Runs[1].Rows[3:] // the final run without CH, FH and 3H
	b.Runs[0].States, b.Runs[1].States = []string{"Full wind", "After 24 h"}, []string{"After 24 h", "Full wind"}
	charts := b.rateCharts()
	if len(charts) != 2 || charts[0].title != "Full wind" || len(charts[0].series) != 2 {
		t.Fatalf("charts: %+v", charts)
	}
	final := charts[0].series[1]
	if final.points[0].measured || !final.points[3].measured {
		t.Errorf("the final run's points: %+v", final.points)
	}
	if want := b.Runs[1].Rows[0].Readings[1].RateSPerDay; final.points[3].rate != want {
		t.Errorf("6H at %v, want %v", final.points[3].rate, want)
	}
	if as := charts[1].series[0]; as.points[3].measured {
		t.Error("6H after 24 h was not measured as received")
	}
}

// Numbers that no watch can show leave a chart readable and the file sound.
func TestChartOfImpossibleNumbers(t *testing.T) {
	t.Parallel()
	for _, v := range []float64{math.NaN(), math.Inf(1), math.Inf(-1), 1e300, -1e300, 0, 86400} {
		b := sampleBulletin()
		b.Limits = Limits{true, -v, v}
		for i := range b.Runs[0].Rows {
			b.Runs[0].Rows[i].Readings[0].RateSPerDay = v
			b.Runs[0].Rows[i].Readings[0].USPerDay = v
		}
		inside(t, b)
		text := run(t, "pdftotext", onDisk(t, "bulletin", pdfOf(t, "bulletin-odd", b)), "-")
		if strings.Contains(text, "NaN") || strings.Contains(text, "Inf") {
			t.Errorf("%v is printed as it is", v)
		}
	}
}

// A verdict is never shown by its lozenge alone.
func TestVerdictsInWords(t *testing.T) {
	t.Parallel()
	for mark, word := range map[Mark]string{Pass: "pass", Fail: "fail", Undecided: "undecided",
		NotMeasured: "not measured"} {
		b := sampleBulletin()
		b.Mark = mark
		b.Statistics = []Statistic{{Name: "Mean rate, s/d", Values: []string{"", "+2.2 ± 0.3"}, Limit: "−4 to +6",
			Judged: true, Mark: mark}}
		var row, head bool
		for _, box := range laid(t, b).drawing.Boxes() {
			row = row || box.Text == word && box.X > 150
			head = head || strings.EqualFold(box.Text, word) && box.Text != word
		}
		if !row || !head {
			t.Errorf("%v: in its row %v, at the head %v", word, row, head)
		}
	}
}
