package counter

import (
	"fmt"
	"net/http"
	"strconv"

	"ledgerwheel/domain/customer"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/staff"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/sheet"
	"ledgerwheel/web/view"
)

// addPersonsData adds to a customer's page what was merged and erased, and what the viewer may do about it.
func (s *Room) addPersonsData(r *http.Request, v *customerView, record store.CustomerSheet) error {
	id, region := record.Customer.ID, phoneRegion(r)
	for _, m := range record.Merges {
		v.Merges = append(v.Merges, s.mergeLine(r, m, region))
	}
	if e := record.Erasure; e != nil {
		v.Erasure = s.erasureLines(r, *e)
		v.MayEdit, v.MayTakeIn = false, false
		return nil
	}
	if page.May(r, staff.MergeCustomers) {
		v.MergeURL = sheet.CustomerURL(id) + "/merge"
		alike, err := s.store.AlikeCustomers(r.Context(), record.Customer)
		if err != nil {
			return err
		}
		for _, a := range alike {
			v.Alike = append(v.Alike, alikeRow{Name: a.Customer.Name, Why: a.Reasons.Words(),
				Href: v.MergeURL + "?other=" + strconv.FormatInt(a.Customer.ID, 10)})
		}
	}
	if page.May(r, staff.ExportCustomers) {
		v.Data = append(v.Data, view.LinkView{Text: "Export everything", Href: sheet.CustomerURL(id) + "/everything.zip", TestID: "customer-export"})
	}
	if page.May(r, staff.EraseCustomers) {
		v.Data = append(v.Data, view.LinkView{Text: "Erase", Href: sheet.CustomerURL(id) + "/erase", TestID: "customer-erase"})
	}
	return nil
}

// mergeLine tells of one merging; of records whose person was erased nothing stands there any more.
func (s *Room) mergeLine(r *http.Request, m store.PastMerge, region string) mergeLine {
	line := mergeLine{When: fmt.Sprintf("%s, by %s: customer %d, with %d dockets and %d watches.", s.Moment(r, m.At), m.By, m.MergedID,
		m.Dockets, m.Watches), Why: m.Why}
	if m.Kept.Name == "" {
		return line
	}
	for _, one := range customer.SideBySide(m.Kept, m.Merged, region) {
		if one.Differs() {
			line.Was = append(line.Was, difference{Label: one.Label, Theirs: one.Kept, Mine: one.Other})
		}
	}
	return line
}

// erasureLines say what was erased when, and what stays on which ground.
func (s *Room) erasureLines(r *http.Request, e store.Erasure) []string {
	who := e.By
	if who == "" {
		who = "the program"
	}
	lines := []string{fmt.Sprintf("%s, by %s: %s", s.Moment(r, e.At), who, e.Why)}
	if !e.Finished {
		lines = append(lines, "Name and address stay for invoices until "+docket.DayWords(e.KeptUntil)+", as your law asks. The program deletes them the day after.")
	}
	return append(lines, fmt.Sprintf("%d places in free text were replaced. %d entries of the journals hold words of the person under their seal, "+
		"for claims that may come; no page, paper or export shows them.", e.Replaced, e.Sealed))
}
