package diagnosis

import (
	"slices"
	"testing"

	"ledgerwheel/domain/oscillator"
)

// TestSpeaks: every fault in the table is one that the form offers, and what is said of the spring reaches the advice.
func TestSpeaks(t *testing.T) {
	t.Parallel()
	for component, faults := range speaks {
		for fault, want := range faults {
			if !slices.Contains(UsualFaults(component), fault) {
				t.Errorf("%s: %q is not offered", component, fault)
			}
			if got, ok := (Finding{Component: component, Fault: " " + fault}).Speaks(); !ok || got != want {
				t.Errorf("%s, %s: %q %v", component, fault, got, ok)
			}
		}
	}
	for _, fault := range UsualFaults(Hairspring) {
		if _, ok := (Finding{Component: Hairspring, Fault: fault}).Speaks(); !ok && fault != "rusty" {
			t.Errorf("hairspring %s says nothing", fault)
		}
	}
	if _, ok := (Finding{Component: Calendar, Fault: "jumper weak"}).Speaks(); ok {
		t.Error("the calendar speaks to the rates")
	}
	if got, _ := (Finding{Component: Hairspring, Fault: "Magnetised"}).Speaks(); got != oscillator.SeenMagnetised {
		t.Error("a capital hides a fault")
	}
}
