package demoshop

import (
	"context"
	"time"

	"ledgerwheel/domain/ledger"
	"ledgerwheel/domain/purchase"
	"ledgerwheel/domain/staff"
)

// drawer is a part that Tern Quay keeps, with how many it had when the book was begun, in lots where it ages.
type drawer struct {
	ledger.Part
	pieces int
	lot    string // "" for a part without lots
	life   int    // months from the opening count to the end of the lot's life
}

func minor(n int64) *int64 { return &n }
func pieces(n int) *int    { return &n }

// drawers are what Tern Quay keeps in its drawers.
var drawers = []drawer{
	{ledger.Part{Number: "MS-120", Name: "Mainspring 1.20 × 0.11 mm", Drawer: "A 1", Fits: []string{"Ebb 17", "Ebb 21"}, CostMinor: minor(640), PriceMinor: minor(3200),
		ReorderAt: pieces(2), ReorderTo: 6}, 5, "", 0},
	{ledger.Part{Number: "MS-150", Name: "Mainspring 1.50 × 0.12 mm, automatic", Drawer: "A 2", CostMinor: minor(980), PriceMinor: minor(3800), ReorderAt: pieces(1),
		ReorderTo: 4}, 1, "", 0},
	{ledger.Part{Number: "CR-55", Name: "Crown 5.5 mm with seal", Drawer: "B 3", CostMinor: minor(1150), PriceMinor: minor(4200)}, 3, "", 0},
	{ledger.Part{Number: "ST-09", Name: "Winding stem, tap 9", Drawer: "B 1", CostMinor: minor(310), PriceMinor: minor(1400), ReorderAt: pieces(1), ReorderTo: 5}, 4, "", 0},
	{ledger.Part{Number: "GL-305", Name: "Glass 30.5 mm, domed", Drawer: "C 2", CostMinor: minor(420), PriceMinor: minor(2600)}, 2, "", 0},
	{ledger.Part{Number: "SL-SET", Name: "Set of seals", Drawer: "D 1", CostMinor: minor(380), PriceMinor: minor(1800), ReorderAt: pieces(3), ReorderTo: 10, Ages: true}, 8,
		"26-114", 60},
	{ledger.Part{Number: "OIL-F", Name: "Fine oil, escapement", Unit: "bottle", Drawer: "refrigerator", CostMinor: minor(2900), ReorderAt: pieces(0), ReorderTo: 2, Ages: true},
		1, "L 3307", 20},
	{ledger.Part{Number: "CEL-377", Name: "Cell 6.8 × 2.6 mm", Drawer: "E 4", CostMinor: minor(60), PriceMinor: minor(500), ReorderAt: pieces(5), ReorderTo: 20, Ages: true}, 12,
		"K 88", 30},
}

// materials is from whom most of them come, with the numbers there that differ.
var materials = purchase.Supplier{Name: coldharbour, Email: "orders@coldharbour.example", Phone: "01632 960 250", Account: "TQ 118", LeadDays: pieces(4)}

// fillDrawers adds the supplier and the parts that the catalogue lacks, and counts them in.
func (f *filler) fillDrawers(ctx context.Context) error {
	at := f.calendar.at(firstBack, "09:25")
	suppliers, err := f.store.Suppliers(ctx)
	if err != nil {
		return err
	}
	from := int64(0)
	for _, s := range suppliers {
		if s.Name == materials.Name {
			from = s.ID
		}
	}
	if from == 0 {
		if from, err = f.store.SaveSupplier(ctx, materials, 0, f.staff[staff.Watchmaker], at); err != nil {
			return err
		}
	}
	today, fresh := f.calendar.civil(at), false
	for _, d := range drawers {
		kept, err := f.store.Catalogue(ctx, d.Number, "", false)
		if err != nil {
			return err
		}
		if len(kept.Parts) > 0 {
			continue
		}
		fresh = true
		d.Sources = []ledger.Source{{SupplierID: from, Number: "CH " + d.Number}}
		d.Currency, d.IncludesTax, d.TaxBasisPoints = "GBP", true, 2000
		id, err := f.store.SavePart(ctx, d.Part, 0, f.staff[staff.Watchmaker], at)
		if err != nil {
			return err
		}
		lot := ledger.Lot{Number: d.lot}
		if d.Ages {
			lot.MadeOn, lot.UsableTo = today.AddDate(0, -2, 0), today.AddDate(0, d.life, 0)
		}
		if err := f.store.ReceiveStock(ctx, id, d.pieces, lot, today, f.staff[staff.Watchmaker], at.Add(time.Minute)); err != nil {
			return err
		}
	}
	if !fresh {
		return nil
	}
	return f.firstStocktake(ctx, at.Add(20*time.Minute))
}

// firstStocktake counts some of the drawers after they were filled. In one a piece is missing.
func (f *filler) firstStocktake(ctx context.Context, at time.Time) error {
	by := f.staff[staff.Watchmaker]
	if err := f.store.BeginStocktake(ctx, by, at); err != nil {
		return err
	}
	for i, d := range drawers[:5] {
		sheet, err := f.store.Stocktake(ctx, d.Number)
		if err != nil {
			return err
		}
		in := sheet.Found
		found := d.pieces
		if d.Number == "GL-305" {
			found--
		}
		at = at.Add(time.Minute)
		if _, err := f.store.CountDrawer(ctx, in.ID, []ledger.Count{{Pieces: found}}, in.Seq, by, at); err != nil {
			return err
		}
		if found != drawers[i].pieces {
			if err := f.store.BookTaken(ctx, in.ID, "One is scratched and was thrown away.", by, at.Add(30*time.Second)); err != nil {
				return err
			}
		}
	}
	return f.store.EndStocktake(ctx, by, at.Add(2*time.Minute))
}
