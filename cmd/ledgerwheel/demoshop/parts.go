package demoshop

import (
	"context"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/stock"
	"ledgerwheel/store"
)

// The suppliers that Tern Quay orders from, all invented.
const (
	coldharbour = "Coldharbour Watch Materials"
	marrow      = "Marrow & Stile, Brindlehaven"
	pellDesk    = "Pellwarne parts desk"
	gannet      = "Gannet Dialworks"
	ostrelSpare = "Ostrelle Spares"
)

// piece is a part that a docket needs.
func piece(description, reference string, old stock.OldPart) stock.PartLine {
	return stock.PartLine{Description: description, Reference: reference, Quantity: 1, State: stock.Needed, OldPart: old}
}

// needs writes parts down.
func (j *job) needs(parts ...stock.PartLine) *job {
	for _, p := range parts {
		j.then(j.hands, func(ctx context.Context, f *filler, c store.Change) error {
			_, err := f.store.AddPart(ctx, c, p)
			return err
		})
	}
	return j
}

// ordered, came, fromDrawer and fitted say where the parts so described go.
func (j *job) ordered(supplier string, descriptions ...string) *job {
	return j.each(staff.Clerk, descriptions, store.PartMove{To: stock.Ordered, Supplier: supplier})
}

func (j *job) came(descriptions ...string) *job {
	return j.each(staff.Clerk, descriptions, store.PartMove{To: stock.Arrived})
}

func (j *job) fromDrawer(descriptions ...string) *job {
	return j.each(j.hands, descriptions, store.PartMove{To: stock.Arrived})
}

func (j *job) fitted(descriptions ...string) *job {
	return j.each(j.hands, descriptions, store.PartMove{To: stock.Fitted})
}

// fittedFor is fitted for a part that no agreed estimate holds, with who pays for it.
func (j *job) fittedFor(payer stock.Payer, why, description string) *job {
	return j.moved(j.hands, description, store.PartMove{To: stock.Fitted, Money: stock.Money{Payer: payer, Why: why}})
}

func (j *job) each(by staff.Role, descriptions []string, m store.PartMove) *job {
	for _, d := range descriptions {
		j.moved(by, d, m)
	}
	return j
}

// toParts has the docket wait for its parts.
func (j *job) toParts() *job { return j.move(j.hands, docket.StageParts, safe, "") }
