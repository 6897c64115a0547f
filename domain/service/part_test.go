package service_test

import (
	"testing"

	"ledgerwheel/domain/oscillator"
	"ledgerwheel/domain/service"
)

func TestPartsThatReadingsFeel(t *testing.T) {
	t.Parallel()
	for description, want := range map[string]oscillator.Work{"Mainspring, automatic": oscillator.MainspringReplaced,
		"Hairspring (flat)": oscillator.HairspringReplaced, " balance  STAFF ": oscillator.StaffReplaced,
		"hairspring stud": "", "crown": "", "": ""} {
		if got, ok := service.PartWork(description); got != want || ok != (want != "") {
			t.Errorf("%q: %q, %t", description, got, ok)
		}
	}
}
