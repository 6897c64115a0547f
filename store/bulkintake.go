package store

import (
	"fmt"

	"ledgerwheel/domain"
	"ledgerwheel/domain/diagnosis"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/record"
	"ledgerwheel/domain/visit"
)

// TakeIn is Store.TakeIn. A customer and a watch that the record has are given whole, as they stand there, and the watch is
// the customer's. Nobody is asked whether another is like them. A visit is begun, or in.With names a docket of this
// transaction; no parcel is opened, and no day proposed.
func (b *Bulk) TakeIn(in TakingIn) (*BulkDocket, error) {
	in.Shop, in.ParcelID, in.Proposed = b.shop, 0, nil
	if err := domain.Invalid(in.Problems()); err != nil {
		return nil, err
	}
	t := taking{TakingIn: in}
	d := &BulkDocket{bulk: b, receivedBy: in.By.StaffID, condition: in.Condition, movedAt: docket.Moment(in.At)}
	var err error
	if t.number, err = b.number(in.ReceivedOn().Year()); err != nil {
		return nil, err
	}
	if err := b.bringIn(&t, d); err != nil {
		return nil, err
	}
	if in.Intake.WarrantyOf != 0 {
		if err := b.comesBack(&t); err != nil {
			return nil, err
		}
	}
	if d.ID, err = b.id("docket"); err != nil {
		return nil, err
	}
	t.docketID = d.ID
	d.Docket = docket.Docket{ID: d.ID, Number: t.number, Stage: docket.StageIntake, Place: in.Place, ReceivedAt: docket.Moment(in.At),
		Intake: t.intake(t.customerID, t.watchID)}
	d.stays = []bulkStay{{stage: docket.StageIntake, since: d.ReceivedAt}}
	c := Change{By: in.By, At: in.At}
	d.enter(c, t.events()...)
	for _, h := range diagnosis.HazardsFor(diagnosis.FactsOf(t.watch)) {
		d.hazards = append(d.hazards, bulkHazard{hazard: h, foundAt: docket.Moment(in.At)})
		d.enter(c, hazardEvent(h))
	}
	if t.earlier.ID != 0 {
		earlier, err := b.earlierDocket(t.earlier.ID)
		if err != nil {
			return nil, err
		}
		earlier.enter(c, event{kind: docket.ComebackOpened, summary: docket.CameBackSummary(t.number), facts: docket.CameBackFacts(t.number)})
	}
	b.dockets = append(b.dockets, d)
	return d, nil
}

// bringIn keeps customer, watch and visit.
func (b *Bulk) bringIn(t *taking, d *BulkDocket) (err error) {
	at := t.At
	if t.customerID = t.CustomerID; t.customerID == 0 {
		t.Customer = t.Customer.Named()
		if t.customerID, err = b.id("customer"); err != nil {
			return err
		}
		t.Customer.ID = t.customerID
		c, keys := t.Customer, t.Customer.MatchKeys()
		var firm *bool
		if c.Firm {
			firm = &c.Firm
		}
		b.row("customer", c.ID, c.Name, keys.Name, c.Phone, c.PhoneE164, c.Email, keys.Email, c.Address, string(c.PreferredContact), c.Notes, at,
			c.PhoneRegion, nullText(string(c.Tongue)), firm, nullText(c.TaxNumber))
		d.brings("customer", c.ID)
	}
	t.watch = t.Watch
	if t.watchID = t.WatchID; t.watchID == 0 {
		if t.watchID, err = b.id("watch"); err != nil {
			return err
		}
		t.watch.ID = t.watchID
		w, keys := t.watch, keysOf(t.watch)
		w.CalibreID = b.calibres[calibreKey(w.CalibreName)].ID
		b.row("watch", w.ID, t.customerID, w.Maker, w.Model, keys.words, w.Reference, w.Serial, keys.serial, w.MovementSerial, keys.movement,
			nullID(w.CalibreID), w.CalibreName, w.CaseMaterial, w.Strap, string(w.Lume), string(w.Winding), w.WaterResistanceMarked,
			w.OverpressureBar, w.CrownAt, w.Notes, at)
		d.brings("watch", w.ID)
	}
	d.Customer, d.Watch, d.calibre = t.Customer, t.watch, b.calibres[calibreKey(t.watch.CalibreName)]
	d.Watch.CalibreID = d.calibre.ID
	if t.With != (docket.Number{}) {
		j := visit.Joining{Customer: t.customerID, Today: t.ReceivedOn()}
		for _, other := range b.dockets {
			if other.Number == t.With {
				j.Visit, j.OfCustomer, j.BeganOn = other.visitID, other.CustomerID, other.ReceivedOn
			}
		}
		t.visitID, d.visitID = j.Visit, j.Visit
		return domain.Invalid(j.Problems())
	}
	if d.visitID, err = b.id("visit"); err != nil {
		return err
	}
	b.row("visit", d.visitID, docket.Moment(at), t.By.StaffID)
	d.brings("visit", d.visitID)
	return nil
}

// brings notes a row of the shop's that came with the docket, which declares it.
func (d *BulkDocket) brings(relation string, id int64) {
	d.brought = append(d.brought, record.Row{Relation: relation, Key: fmt.Sprint(id)})
}

// comesBack finds the docket that the watch comes back from, and makes certain that its warranty runs.
func (b *Bulk) comesBack(t *taking) error {
	d, err := b.earlierDocket(t.Intake.WarrantyOf)
	if err != nil {
		return err
	}
	if d.WatchID != t.watchID {
		return domain.Invalid(map[string]string{"warranty_of": docket.OtherWatch})
	}
	inHere := d.leftUnder != 0
	promise := promised(d.Stage, d.HandedBackAt, b.shop, nil)
	if !inHere {
		if promise, err = promiseOf(b.ctx, b.tx, d.Docket); err != nil {
			return err
		}
	}
	if !promise.MayComeBack(t.ReceivedOn()) {
		return domain.Invalid(map[string]string{"warranty_of": docket.NoWarrantyProblem(d.Number)})
	}
	if !inHere {
		b.goOn(d)
	}
	t.earlier = d.Docket
	return nil
}

// goOn has the journal of a docket of another transaction go on.
func (b *Bulk) goOn(d *BulkDocket) {
	for _, known := range b.earlier {
		if known == d {
			return
		}
	}
	b.earlier = append(b.earlier, d)
}
