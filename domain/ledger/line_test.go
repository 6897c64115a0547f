package ledger_test

import (
	"testing"

	"pgregory.net/rapid"

	"ledgerwheel/domain/ledger"
	"ledgerwheel/domain/stock"
)

// However a docket's parts come and go, what is held back for it is what has arrived and is not fitted, and the drawer has
// lost what is fitted and won what was ordered: for several parts of several dockets that share one drawer.
func TestPartsOfDocketsAndTheDrawerAgree(t *testing.T) {
	t.Parallel()
	went, refused := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		opened := rapid.IntRange(0, 8).Draw(t, "opened")
		var b ledger.Balance
		if opened > 0 {
			b, _ = b.After(ledger.Move{Kind: ledger.Received, Pieces: opened})
		}
		lines := map[int64][]stock.PartLine{}
		ordered := 0
		for range rapid.IntRange(1, 40).Draw(t, "steps") {
			docket := rapid.Int64Range(1, 2).Draw(t, "docket")
			var was, now stock.PartLine
			at := -1
			if n := len(lines[docket]); n > 0 && rapid.Bool().Draw(t, "an old one") {
				at = rapid.IntRange(0, n-1).Draw(t, "line")
				was = lines[docket][at]
				next := was.State.Moves()
				now = was
				if rapid.IntRange(0, 4).Draw(t, "corrected") == 0 {
					now.Quantity = rapid.IntRange(1, 4).Draw(t, "quantity")
				} else {
					now.State = rapid.SampledFrom(next).Draw(t, "to")
				}
			} else {
				now = stock.PartLine{PartID: 1, Quantity: rapid.IntRange(1, 4).Draw(t, "quantity"), State: rapid.SampledFrom(stock.States).Draw(t, "state")}
			}
			after, ok := b, true
			for _, m := range ledger.OfLine(was, now) {
				m.DocketID = docket
				if next, err := after.After(m); err == nil {
					after = next
				} else {
					ok = false
					break
				}
			}
			if !ok {
				refused++
				continue
			}
			went++
			if was.State == stock.Ordered && now.State == stock.Arrived {
				ordered += now.Quantity
			}
			b = after
			if at < 0 {
				lines[docket] = append(lines[docket], now)
			} else {
				lines[docket][at] = now
			}
			fitted := 0
			for docket, list := range lines {
				held := 0
				for _, p := range list {
					switch p.State {
					case stock.Arrived:
						held += p.Quantity
					case stock.Fitted:
						fitted += p.Quantity
					}
				}
				if b.ReservedFor(docket) != held {
					t.Fatalf("docket %d holds %d back and has %d that are here", docket, b.ReservedFor(docket), held)
				}
			}
			if b.OnHand() != opened+ordered-fitted {
				t.Fatalf("%d in the drawer of %d and %d ordered, %d fitted", b.OnHand(), opened, ordered, fitted)
			}
		}
	})
	t.Logf("%d steps went, %d were refused", went, refused)
	if went == 0 || refused == 0 {
		t.Error("one of the two was never tried")
	}
}
