package counter

import (
	"net/http"

	"ledgerwheel/domain/insured"
	"ledgerwheel/web/page"
	"ledgerwheel/web/sheet"
)

// overSeen is the hidden field of what the clerk was warned of: the declared value and where the watch goes.
const overSeen = "over_seen"

// warnOfValue stops a form once whose declared value brings the shop above a limit of its insurer, and says which and
// by how much. Sent again with the same value and place it goes through, as whether the watch is
// taken in is the shop's to say, and the journal keeps who went on.
func (s *Room) warnOfValue(r *http.Request, d *desk) error {
	value := d.in.Intake.DeclaredValueMinor
	if !d.form.OK() || value == nil {
		return nil
	}
	risk, err := s.store.AtRisk(r.Context())
	if err != nil {
		return err
	}
	over := risk.Limits.Brings(risk.Held, insured.Coming{Minor: value, Currency: d.in.Shop.Currency, To: d.in.Place.Kind})
	if len(over) == 0 {
		return nil
	}
	said := sheet.OverWords(over, page.LocaleOf(r))
	seen := page.Itoa64(*value) + " " + d.in.Shop.Currency + " " + string(d.in.Place.Kind)
	if d.form.Text(overSeen) == seen {
		d.in.Warned = said
		return nil
	}
	d.form.Values.Set(overSeen, seen)
	d.form.Fail("declared_value", said+" Choose another place or tell the owner; sent again, it is taken in all the same, and the journal says so.")
	return nil
}
