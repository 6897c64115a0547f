package drawing

import (
	"math"
	"testing"
)

// ISO 3158 names a vertical position by the hour mark that is uppermost (as
// summarised in a digest of ISO 3159:1976, read there with the crown at three).
func TestNamedHourIsUppermost(t *testing.T) {
	t.Parallel()
	tests := []struct {
		hour   float64
		wrist  Lie // crown at three
		pocket Lie // crown at twelve
	}{
		{12, CrownRight, CrownUp}, {3, CrownUp, CrownLeft}, {6, CrownLeft, CrownDown}, {9, CrownDown, CrownRight},
	}
	for _, tt := range tests {
		for _, p := range []Position{{Lies: tt.wrist}, {Lies: tt.pocket, CrownAtTwelve: true}} {
			_, twelve := p.turned()
			up := math.Mod(twelve+30*tt.hour+2*360, 360)
			if math.Abs(up-270) > 1e-9 { // rounding only
				t.Errorf("%vH with %+v: that hour points to %v degrees clockwise from the right", tt.hour, p, up)
			}
		}
	}
}
