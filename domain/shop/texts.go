package shop

import (
	"cmp"

	"ledgerwheel/domain/tongue"
)

// TermsFor are the terms on the claim ticket for a customer spoken to in t: the shop's own text in that language, else
// the one that is for all.
func (s Shop) TermsFor(t tongue.Tongue) string {
	own := map[tongue.Tongue]string{tongue.English: s.TicketTermsEn, tongue.German: s.TicketTermsDe, tongue.French: s.TicketTermsFr}
	return cmp.Or(own[t], s.TicketTerms)
}

// CoversFor is what the warranty covers, likewise.
func (s Shop) CoversFor(t tongue.Tongue) string {
	own := map[tongue.Tongue]string{tongue.English: s.WarrantyCoversEn, tongue.German: s.WarrantyCoversDe,
		tongue.French: s.WarrantyCoversFr}
	return cmp.Or(own[t], s.WarrantyCovers)
}
