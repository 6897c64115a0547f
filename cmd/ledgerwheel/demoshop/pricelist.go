package demoshop

import (
	"context"
	"slices"
	"time"

	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/pricelist"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/watch"
	"ledgerwheel/store"
)

// offer is a job of Tern Quay's with its price in minor units, tax included.
type offer struct {
	pricelist.Job
	minor int64
}

// offers are the jobs that Tern Quay does at a price of its own.
var offers = []offer{
	{pricelist.Job{Code: "FS", Name: "Full service of the movement", NameDe: "Vollservice des Werks", NameFr: "Service complet du mouvement",
		Kind: estimate.Labour, Windings: []watch.Winding{watch.WindingHand}, Minutes: 270, Parts: pricelist.Typed("MS-120")}, 18500},
	{pricelist.Job{Code: "FSA", Name: "Full service of the automatic movement", NameDe: "Vollservice des Automatikwerks",
		NameFr: "Service complet du mouvement automatique", Kind: estimate.Labour, Windings: []watch.Winding{watch.WindingAutomatic}, Minutes: 330,
		Parts: pricelist.Typed("MS-150\nSL-SET?")}, 29500},
	{pricelist.Job{Code: "FSS", Name: "Full service of the small movement", NameDe: "Vollservice des kleinen Werks",
		NameFr: "Service complet du petit mouvement", Kind: estimate.Labour, Minutes: 300, Parts: pricelist.Typed("Mainspring")}, 19500},
	{pricelist.Job{Code: "REG", Name: "Regulation in six positions", NameDe: "Regulierung in sechs Lagen", NameFr: "Réglage en six positions",
		Kind: estimate.Labour, Minutes: 60}, 4800},
	{pricelist.Job{Code: "REP", Name: "Regulation in six positions, with report", NameDe: "Regulierung in sechs Lagen, mit Bericht",
		NameFr: "Réglage en six positions, avec rapport", Kind: estimate.Labour, Minutes: 75}, 6500},
	{pricelist.Job{Code: "TRI", Name: "Trial of fifteen days, with bulletin", NameDe: "Prüfung über fünfzehn Tage, mit Gangschein",
		NameFr: "Épreuve de quinze jours, avec bulletin", Kind: estimate.Labour, Minutes: 120}, 9800},
	{pricelist.Job{Code: "WT", Name: "Water test", NameDe: "Wasserprüfung", NameFr: "Essai d'étanchéité", Kind: estimate.Labour, Minutes: 20,
		Parts: pricelist.Typed("SL-SET?")}, 2800},
	{pricelist.Job{Code: "CEL", Name: "Cell changed", NameDe: "Knopfzelle gewechselt", NameFr: "Pile changée", Kind: estimate.Labour,
		Windings: []watch.Winding{watch.WindingCell}, Minutes: 15, Parts: pricelist.Typed("CEL-377")}, 1800},
	{pricelist.Job{Code: "GL", Name: "Glass fitted", NameDe: "Glas eingesetzt", NameFr: "Verre posé", Kind: estimate.Labour, Minutes: 30,
		Parts: pricelist.Typed("GL-305")}, 3500},
	{pricelist.Job{Code: "DIA", Name: "Dial and hands made safe", NameDe: "Zifferblatt und Zeiger gesichert", NameFr: "Cadran et aiguilles mis en sécurité",
		Kind: estimate.OutsideWork}, 9000},
}

// priceList adds the jobs that the list lacks.
func (f *filler) priceList(ctx context.Context) error {
	kept, err := f.store.PriceList(ctx)
	if err != nil {
		return err
	}
	at := f.calendar.at(firstBack, "09:15")
	for _, o := range offers {
		if slices.ContainsFunc(kept, func(k store.JobRow) bool { return k.Code == o.Code }) {
			continue
		}
		from := f.calendar.civil(at).AddDate(0, 0, -1)
		o.Prices = []pricelist.Price{{From: time.Date(from.Year(), 1, 1, 0, 0, 0, 0, time.UTC), Minor: o.minor, Currency: "GBP", IncludesTax: true, TaxBasisPoints: 2000}}
		if _, err := f.store.SaveJob(ctx, o.Job, 0, f.staff[staff.Owner], at); err != nil {
			return err
		}
	}
	return nil
}
