package docket_test

import (
	"slices"
	"testing"

	"ledgerwheel/domain/docket"
)

// Money goes back by the way it came, up to what came so and did not go back yet; the owner may choose another.
func TestWaysBack(t *testing.T) {
	t.Parallel()
	methods := docket.Methods()
	came := map[docket.Method]int64{methods[0]: 500, methods[1]: 0, methods[2]: -20}
	if got := docket.WaysBack(came, false); !slices.Equal(got, []docket.WayBack{{methods[0], 500}}) {
		t.Errorf("%+v", got)
	}
	owners := docket.WaysBack(came, true)
	if len(owners) != len(methods) || owners[0].CameMinor != 500 {
		t.Errorf("the owner's: %+v", owners)
	}
	for _, w := range owners {
		more := docket.Payment{Minor: -w.CameMinor - 1, Method: w.Method}
		if (docket.Payment{Minor: -w.CameMinor, Method: w.Method}).WayProblem(came[w.Method], false) != "" || more.WayProblem(came[w.Method], false) == "" {
			t.Errorf("%s is offered up to %d, which is not what may go back", w.Method, w.CameMinor)
		}
	}
}
