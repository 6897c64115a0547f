package stock_test

import (
	"slices"
	"testing"

	"pgregory.net/rapid"

	"ledgerwheel/domain/stock"
)

func drawLine(t *rapid.T, label string) stock.PartLine {
	word := rapid.SampledFrom([]string{"", "a", "b"})
	return stock.PartLine{ID: 7, Description: word.Draw(t, label), Reference: word.Draw(t, label),
		Supplier: word.Draw(t, label), Note: word.Draw(t, label), Quantity: rapid.IntRange(1, 3).Draw(t, label),
		OldPart: rapid.SampledFrom(stock.OldParts).Draw(t, label), State: rapid.SampledFrom(stock.States).Draw(t, label)}
}

func TestMergeLinesLosesNoChange(t *testing.T) {
	t.Parallel()
	fields := []string{"description", "reference", "quantity", "supplier", "old_part", "note"}
	rapid.Check(t, func(t *rapid.T) {
		base, theirs, mine := drawLine(t, "base"), drawLine(t, "theirs"), drawLine(t, "mine")
		m := stock.MergeLines(base, theirs, mine)
		if m.Merged.ID != theirs.ID || m.Merged.State != theirs.State {
			t.Fatalf("a correction moved the part: %+v", m.Merged)
		}
		type which struct{ description, reference string }
		of := func(p stock.PartLine) which { return which{p.Description, p.Reference} }
		apart := of(theirs) != of(base) && of(mine) != of(base) && of(theirs) != of(mine)
		for _, f := range fields {
			b, th, mi, got := base.FieldWords(f), theirs.FieldWords(f), mine.FieldWords(f), m.Merged.FieldWords(f)
			clash := slices.Contains(m.Clashes, f)
			both := th != b && mi != b && th != mi
			if f == "description" || f == "reference" {
				both = apart && th != mi
			}
			switch {
			case clash != both:
				t.Fatalf("%s clashes %t, and should %t: %q, %q, %q", f, clash, both, b, th, mi)
			case clash && got != mi:
				t.Fatalf("%s, asked about, is not as typed: %q", f, got)
			case !clash && (th != b && got != th || mi != b && got != mi):
				t.Fatalf("%s is %q of %q, %q, %q", f, got, b, th, mi)
			}
		}
		if !apart && of(m.Merged) != of(theirs) && of(m.Merged) != of(mine) {
			t.Fatalf("%+v is neither's part", m.Merged)
		}
	})
}
