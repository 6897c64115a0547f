package store_test

import (
	"errors"
	"testing"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/ledger"
	"ledgerwheel/domain/pricelist"
	"ledgerwheel/domain/stock"
	"ledgerwheel/store"
)

// A part of the catalogue is held back when it is here for a docket, taken when it is fitted, put back into its lot when it
// comes off, and given up when it is not needed after all; the drawer and the docket agree after each step.
func TestPartsOfADocketComeFromTheDrawer(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	id, err := b.SavePart(t.Context(), ledger.Part{Number: "SL-1", Name: "seal", Currency: "EUR", Ages: true}, 0, b.clerk, b.at)
	if err != nil {
		t.Fatal(err)
	}
	for _, lot := range []string{"A", "B"} {
		if err := b.ReceiveStock(t.Context(), id, 2, ledger.Lot{Number: lot}, b.at, b.clerk, b.at); err != nil {
			t.Fatal(err)
		}
	}
	seal := stock.PartLine{Description: "Seal", Quantity: 3, State: stock.Needed, PartID: id}
	line := b.mustAddPart(t, seal)
	stands := func(step string, onHand, reserved int) {
		t.Helper()
		if got := b.holdsTogether(t, id); got.OnHand() != onHand || got.Reserved() != reserved {
			t.Errorf("%s: %d in the drawer, %d reserved, want %d and %d", step, got.OnHand(), got.Reserved(), onHand, reserved)
		}
	}
	stands("needed", 4, 0)
	free := stock.Money{Payer: stock.PayerShop, Why: "a gift"}
	for _, step := range []struct {
		move             store.PartMove
		onHand, reserved int
	}{{store.PartMove{To: stock.Arrived}, 4, 3}, {store.PartMove{To: stock.Fitted, Money: free}, 1, 0}, {store.PartMove{To: stock.Arrived}, 4, 3},
		{store.PartMove{To: stock.Needed}, 4, 0}, {store.PartMove{To: stock.Arrived}, 4, 3}, {store.PartMove{To: stock.Cancelled}, 4, 0}} {
		if err := b.MovePart(t.Context(), b.seen(t, b.watchmaker), line, step.move); err != nil {
			t.Fatalf("to %s: %v", step.move.To, err)
		}
		stands(string(step.move.To), step.onHand, step.reserved)
	}
	balance := b.holdsTogether(t, id)
	for _, l := range balance.Lots() {
		if l.Pieces != 2 {
			t.Errorf("lot %d has %d, not 2", l.Lot, l.Pieces)
		}
	}
	// More than the drawer has: nothing moves, and the docket's part stays where it was.
	many := seal
	many.Quantity = 5
	line = b.mustAddPart(t, many)
	var invalid *domain.InvalidError
	if err := b.MovePart(t.Context(), b.seen(t, b.watchmaker), line, store.PartMove{To: stock.Arrived}); !errors.As(err, &invalid) {
		t.Errorf("5 of 4: %v", err)
	}
	stands("refused", 4, 0)
	for _, p := range b.parts(t).Parts {
		if p.ID == line && p.State != stock.Needed {
			t.Errorf("the part that was refused is %s", p.State)
		}
	}
}

// What the customer approves is held back at once, as far as the drawers have it; what a declined or withdrawn docket still
// holds back is free again when the watch leaves.
func TestApprovalHoldsBackAndLeavingLetsGo(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	here, gone := b.cataloguePart(t, "MS-1", 1), b.cataloguePart(t, "CR-1", 0)
	b.mustAddPart(t, stock.PartLine{Description: "Mainspring", Quantity: 1, State: stock.Needed, PartID: here})
	b.mustAddPart(t, stock.PartLine{Description: "Crown", Quantity: 1, State: stock.Needed, PartID: gone})
	n := b.mustSend(t, priced())
	if b.holdsTogether(t, here).Reserved() != 0 {
		t.Error("held back before the customer answered")
	}
	// By the private link, as nobody of the shop.
	c := b.seen(t, store.Actor{Customer: true, Name: "Ada"})
	sum := int64(29940)
	yes := estimate.Answer{Revision: n, Approve: true, Name: "Ada", By: estimate.ByLink, ShownMinor: &sum}
	if err := b.AnswerEstimate(t.Context(), c, yes, estimateDay); err != nil {
		t.Fatal(err)
	}
	if got := b.holdsTogether(t, here).Reserved(); got != 1 {
		t.Errorf("%d held back of what was approved", got)
	}
	for _, p := range b.parts(t).Parts {
		if want := map[int64]stock.State{here: stock.Arrived, gone: stock.Needed}[p.PartID]; p.State != want {
			t.Errorf("%s is %s, want %s", p.Description, p.State, want)
		}
	}
	b.mustMove(t, b.clerk, docket.StageWithdrawn, docket.PlaceSafe, "", "sells it as it is")
	l := b.leaving()
	l.OldParts = docket.OldPartsNone
	if err := b.HandOver(t.Context(), b.change(t, b.clerk), l, ""); err != nil {
		t.Fatal(err)
	}
	if got := b.holdsTogether(t, here); got.Reserved() != 0 || got.OnHand() != 1 {
		t.Errorf("%d held back, %d in the drawer after the watch left", got.Reserved(), got.OnHand())
	}
}

// A job of the price list names a part of the catalogue by its number: the estimate drafted from it has the catalogue's price of
// that day and keeps it, and its approval has the docket need the part and holds it back.
func TestAnEstimateOfTheCatalogueReserves(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	price := int64(3200)
	id, err := b.SavePart(t.Context(), ledger.Part{Number: "MS-9", Name: "Mainspring 1.20", Currency: "EUR", PriceMinor: &price, IncludesTax: true, TaxBasisPoints: 770}, 0, b.clerk, b.at)
	if err != nil {
		t.Fatal(err)
	}
	if err := b.MoveStock(t.Context(), id, []ledger.Move{{Kind: ledger.Received, Pieces: 2}}, b.clerk, b.at); err != nil {
		t.Fatal(err)
	}
	job := pricelist.Job{Code: "FS", Name: "Full service", Kind: estimate.Labour, Parts: pricelist.Typed("ms-9\nCrown?"),
		Prices: []pricelist.Price{{From: estimateDay.AddDate(-1, 0, 0), Minor: 18500, Currency: "EUR", IncludesTax: true, TaxBasisPoints: 770}}}
	jobID, err := b.SaveJob(t.Context(), job, 0, b.clerk, b.at)
	if err != nil {
		t.Fatal(err)
	}
	kept, err := b.Job(t.Context(), jobID)
	if err != nil || kept.Parts[0].PartID != id || kept.Parts[0].Words() != "MS-9" || kept.Parts[1].PartID != 0 {
		t.Fatalf("%+v %v", kept.Parts, err)
	}
	lines, err := kept.Drafted(estimateDay, "en", "EUR", estimate.TaxRule{PricesIncludeTax: true})
	if err != nil || len(lines) != 3 || lines[1].UnitMinor != 3200 || lines[1].PartID != id || lines[2].UnitMinor != 0 {
		t.Fatalf("drafted: %+v %v", lines, err)
	}
	lines[2].UnitMinor = 4200
	r := priced()
	r.Rule, r.Lines = estimate.TaxRule{PricesIncludeTax: true}, lines
	n := b.mustSend(t, r)
	price = 9900 // later; the estimate keeps what it was given
	if _, err := b.SavePart(t.Context(), ledger.Part{ID: id, Number: "MS-9", Name: "Mainspring 1.20", Currency: "EUR", PriceMinor: &price}, 1, b.clerk, b.at); err != nil {
		t.Fatal(err)
	}
	sheet, err := b.EstimateSheet(t.Context(), b.n)
	if err != nil {
		t.Fatal(err)
	}
	if sent, _ := sheet.Estimate.Find(n); sent.Lines[1].UnitMinor != 3200 || sent.Lines[1].PartID != id {
		t.Errorf("sent: %+v", sent.Lines[1])
	}
	yes := estimate.Answer{Revision: n, Approve: true, Name: "Ada", By: estimate.AtCounter}
	if err := b.AnswerEstimate(t.Context(), b.seen(t, b.clerk), yes, estimateDay); err != nil {
		t.Fatal(err)
	}
	parts := b.parts(t).Parts
	if len(parts) != 1 || parts[0].PartID != id || parts[0].State != stock.Arrived || parts[0].Reference != "MS-9" {
		t.Errorf("the docket's parts: %+v", parts)
	}
	if got := b.holdsTogether(t, id); got.Reserved() != 1 || got.Free() != 1 {
		t.Errorf("%d reserved, %d free", got.Reserved(), got.Free())
	}
}
