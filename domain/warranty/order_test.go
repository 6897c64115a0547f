package warranty_test

import (
	"strings"
	"testing"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/warranty"
)

func TestStandingOrder(t *testing.T) {
	t.Parallel()
	good := docket.Facts{FinalTest: docket.Passed, RunOutcome: docket.Passed}
	for name, c := range map[string]struct {
		given  bool
		change func(*docket.Facts)
		says   string
	}{
		"given":           {true, func(*docket.Facts) {}, ""},
		"not given":       {false, func(*docket.Facts) {}, "by the owner"},
		"test failed":     {true, func(f *docket.Facts) { f.FinalTest = docket.Failed }, "final test"},
		"owner's reason":  {true, func(f *docket.Facts) { f.FinalTest, f.OwnerReason = docket.NotYet, "sails tonight" }, "final test"},
		"limits not kept": {true, func(f *docket.Facts) { f.RunOutcome = docket.Failed }, "limits"},
		"undecided":       {true, func(f *docket.Facts) { f.RunOutcome = docket.Undecided }, "limits"},
		"never judged":    {true, func(f *docket.Facts) { f.RunOutcome = docket.NotYet }, "limits"},
	} {
		f := good
		c.change(&f)
		got := warranty.OrderProblem(c.given, f)
		if (got == "") != (c.says == "") || !strings.Contains(got, c.says) {
			t.Errorf("%s: %q", name, got)
		}
	}
}
