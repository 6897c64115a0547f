package docket_test

import (
	"testing"

	"ledgerwheel/domain/docket"
)

// A number in the journal is shown with its unit and the digits that mean something.
func TestNumbersOfTheJournal(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ key, written, want string }{
		{"amplitude_deg", "238.1901014700692", "238.2°"}, {"temperature_c", "23", "23\u00a0°C"},
		{"temperature_c", "-4.5", "−4.5\u00a0°C"}, {"beat_error_ms", "-0.19121381627010833", "−0.19\u00a0ms"},
		{"rate_s_per_day", "1.0369604390454867", "+1.04\u00a0s/d"}, {"beats_used", "90", "90"},
		{"clock_ppm", "-0.001", "0.00\u00a0ppm"}, {"no such key", "-12.3456789", "−12.3456789"},
		{"snr_db", "broken", "broken\u00a0dB"},
	} {
		term, _ := docket.TermOf(c.key)
		if got := term.Number(c.written); got != c.want {
			t.Errorf("%s %s is told %q, want %q", c.key, c.written, got, c.want)
		}
	}
	if term, known := docket.TermOf("place_detail"); known || term.Words != "place detail" {
		t.Errorf("a key without a term: %+v, %v", term, known)
	}
}
