package record_test

import (
	"strings"
	"testing"

	"ledgerwheel/domain/record"
)

// TestWholeIsSaidOfEverythingAlone: a check that left something out does not call the record whole, and one that found
// something does not say that the files are as they were kept.
func TestWholeIsSaidOfEverythingAlone(t *testing.T) {
	t.Parallel()
	all := record.Held{Files: true, Secrets: true, Seals: true}
	for _, tt := range []struct {
		name    string
		checked record.Checked
		with    record.Held
		whole   bool
	}{
		{"everything", record.Checked{}, all, true},
		{"no files", record.Checked{}, record.Held{Secrets: true, Seals: true}, false},
		{"no secret", record.Checked{}, record.Held{Files: true, Seals: true}, false},
		{"no seal", record.Checked{}, record.Held{Files: true, Secrets: true}, false},
		{"another's marks", record.Checked{Foreign: 1}, all, false},
		{"a finding", record.Checked{Findings: 1}, all, false},
	} {
		said := strings.Join(tt.checked.Words(tt.with), "\n")
		if strings.Contains(said, "whole") != tt.whole {
			t.Errorf("%s: %s", tt.name, said)
		}
		if tt.checked.Findings > 0 && strings.Contains(said, "are those that were kept") {
			t.Errorf("%s: %s", tt.name, said)
		}
	}
}
