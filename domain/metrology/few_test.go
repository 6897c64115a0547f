package metrology_test

import (
	"math"
	"testing"

	"ledgerwheel/domain/metrology"
)

// TestWidenedForFew: JCGM 100:2008, Table G.2, column of 95.45 %; the figures are cited from memory.
func TestWidenedForFew(t *testing.T) {
	t.Parallel()
	for freedom, want := range map[int]float64{2: 4.53, 3: 3.31, 4: 2.87, 5: 2.65, 6: 2.52, 8: 2.37, 10: 2.28, 20: 2.13, 50: 2.05} {
		if got := 2 * metrology.WidenedForFew(freedom); math.Abs(got-want) > 0.0051 { // half of the table's last digit
			t.Errorf("t for %d degrees of freedom is %.4f, the table has %.2f", freedom, got, want)
		}
	}
	if metrology.WidenedForFew(1) != metrology.WidenedForFew(2) {
		t.Error("one degree of freedom is not bounded")
	}
	defer func() {
		if recover() == nil {
			t.Error("no readings say how well they repeat")
		}
	}()
	metrology.WidenedForFew(0)
}
