package service

import (
	"testing"

	"ledgerwheel/domain/oscillator"
)

func TestStepsThatChangeTheRates(t *testing.T) {
	t.Parallel()
	want := map[Step]oscillator.Work{StepDemagnetise: oscillator.Demagnetised, StepClean: oscillator.Cleaned,
		StepMainspring: oscillator.MainspringReplaced}
	for _, s := range Steps {
		got, ok := s.Work()
		if w, says := want[s]; got != w || ok != says {
			t.Errorf("%s: %q %v", s, got, ok)
		}
	}
}
