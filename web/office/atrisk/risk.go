package atrisk

import (
	"net/http"

	"ledgerwheel/domain/insured"
	"ledgerwheel/domain/money"
	"ledgerwheel/domain/text"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
)

func (s *Room) showRisk(w http.ResponseWriter, r *http.Request) error {
	return s.renderRisk(w, r, http.StatusOK, nil)
}

// renderRisk shows the page; typed are the limits as they were refused, nil for those that hold.
func (s *Room) renderRisk(w http.ResponseWriter, r *http.Request, status int, typed *page.Form) error {
	viewer, _ := page.ViewerOf(r.Context())
	sheet, err := s.store.RiskSheet(r.Context(), viewer.Shop.Currency)
	if err != nil {
		return err
	}
	f := typed
	if f == nil {
		f = page.EmptyForm()
		if sheet.Limits.Currency == viewer.Shop.Currency {
			for of, minor := range sheet.Limits.Minor {
				f.Values.Set(string(of), money.Plain(minor, sheet.Limits.Currency))
			}
		}
	}
	v := riskView{Form: f.View(), Open: typed != nil || sheet.KeptBy == "", Currency: viewer.Shop.Currency}
	if sheet.KeptBy != "" {
		v.Kept = "Written down by " + sheet.KeptBy + " on " + s.Moment(r, sheet.KeptAt) + "."
	}
	if sheet.Limits.Currency == "" {
		sheet.Limits.Currency = viewer.Shop.Currency
	}
	if was := sheet.Limits.Currency; was != viewer.Shop.Currency {
		v.Beware = "The limits were written down in " + was + ". Write them down in " + viewer.Shop.Currency + ": what is declared in it is held against none of them."
	}
	locale := page.LocaleOf(r)
	for _, o := range sheet.Limits.Exceeded(sheet.Held) {
		v.Over = append(v.Over, o.Sentence(locale, false))
	}
	fillSums(&v, sheet, locale)
	fillPieces(&v, sheet, locale)
	return page.Render(w, r, status, riskPage(s.Page(r, "Value at risk"), v))
}

// fillSums adds what lies where, in the limits' currency, and what is in others, which is held against no limit.
func fillSums(v *riskView, sheet store.RiskSheet, locale string) {
	for i, currency := range insured.Currencies(sheet.Held, sheet.Limits.Currency) {
		for _, of := range insured.AllLimits {
			if of == insured.Item {
				continue
			}
			sum := insured.Sum(sheet.Held, of, currency)
			if of == insured.InAll {
				v.Watches, v.Undeclared = v.Watches+sum.Watches, v.Undeclared+sum.Undeclared
				if loans := insured.Sum(sheet.Held, "", currency); loans.Watches > 0 {
					v.Sums = append(v.Sums, sumRow{Place: "Loan watches in the shop", Watches: loans.Watches, Held: money.Format(loans.Minor, currency, locale), Other: i > 0, Loans: true})
				}
			}
			row := sumRow{Place: text.Capital(of.Words()), Watches: sum.Watches, Undeclared: sum.Undeclared, Held: money.Format(sum.Minor, currency, locale),
				Other: i > 0, Together: of == insured.Unlocked}
			if limit, ok := sheet.Limits.Minor[of]; ok && i == 0 {
				row.Limit, row.Room = money.Format(limit, currency, locale), money.Format(max(limit-sum.Minor, 0), currency, locale)
				if sum.Minor > limit {
					row.Room, row.Over = "", money.Format(sum.Minor-limit, currency, locale)
				}
			}
			if i == 0 || sum.Watches > 0 {
				v.Sums = append(v.Sums, row)
			}
		}
	}
}

func fillPieces(v *riskView, sheet store.RiskSheet, locale string) {
	limit, limited := sheet.Limits.Minor[insured.Item]
	for _, p := range sheet.Dearest {
		row := pieceRow{Number: p.Number, Watch: p.Watch, Place: p.Place.String(), Value: money.Format(p.Minor, p.Currency, locale)}
		if limited && p.Currency == sheet.Limits.Currency && p.Minor > limit {
			row.Over = money.Format(p.Minor-limit, p.Currency, locale) + " above the limit for one watch"
		}
		v.Dearest = append(v.Dearest, row)
	}
	for _, p := range sheet.Undeclared {
		v.Without = append(v.Without, pieceRow{Number: p.Number, Watch: p.Watch, Place: p.Place.String()})
	}
}

func (s *Room) saveLimits(w http.ResponseWriter, r *http.Request) error {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	viewer, _ := page.ViewerOf(r.Context())
	l := insured.Limits{Currency: viewer.Shop.Currency, Minor: map[insured.Limit]int64{}}
	for _, of := range insured.AllLimits {
		if minor := f.Amount(string(of), l.Currency, viewer.Shop.Locale); minor != nil {
			l.Minor[of] = *minor
		}
	}
	f.FailAll(l.Problems())
	if f.OK() {
		err = s.store.SaveLimits(r.Context(), l, page.Actor(r), s.Now())
	}
	if err != nil && !f.Takes(err) {
		return err
	}
	if !f.OK() {
		return s.renderRisk(w, r, http.StatusUnprocessableEntity, f)
	}
	s.Say(r.Context(), "The insurer's limits are saved.")
	return page.SeeOther(w, r, "/value-at-risk")
}
