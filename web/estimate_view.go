package web

import (
	"net/http"
	"slices"
	"strconv"
	"strings"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/money"
	"ledgerwheel/domain/shop"
	"ledgerwheel/store"
	"ledgerwheel/web/view"
)

// prices writes amounts of one currency as the shop does.
type prices struct {
	currency string
	shop     shop.Shop
}

func pricesOf(currency string, sh shop.Shop) prices { return prices{currency, sh} }

func (m prices) format(minor int64) string {
	return money.Format(minor, m.currency, m.shop.Locale)
}

// limitWords say up to which amount the customer need not be asked.
func (m prices) limitWords(h store.Head) string {
	if h.Docket.ApprovalLimitMinor == nil {
		return "The customer wants to be asked before any work."
	}
	return "The customer allows work up to " + m.format(*h.Docket.ApprovalLimitMinor) + " without being asked."
}

// withinWords say whether a revision that waits lies within the limit, or nothing where no limit was agreed.
func (m prices) withinWords(h store.Head, rev estimate.Revision) string {
	if h.Docket.ApprovalLimitMinor == nil || rev.State != estimate.Sent && rev.State != estimate.Draft {
		return ""
	}
	if estimate.WithinLimit(agreedOrOffered(rev).GrossMinor, h.Docket.ApprovalLimitMinor) {
		return "This lies within it: work may start."
	}
	return "This lies above it: the customer must approve."
}

// totals are the sums below the lines: net, tax by rate and the whole; or, where prices include tax, the whole and
// the tax within it.
func (m prices) totals(t estimate.Totals, rule estimate.TaxRule) []view.TotalRow {
	var rows []view.TotalRow
	if !rule.PricesIncludeTax {
		rows = append(rows, view.TotalRow{Label: "Net", Amount: m.format(t.NetMinor)})
	}
	for _, rate := range t.ByRate {
		if rate.TaxBasisPoints == 0 && rate.TaxMinor == 0 {
			continue
		}
		label := m.shop.TaxName + " " + estimate.FormatPercent(rate.TaxBasisPoints) + " %"
		if rule.PricesIncludeTax {
			label += ", included"
		}
		rows = append(rows, view.TotalRow{Label: label, Amount: m.format(rate.TaxMinor)})
	}
	return append(rows, view.TotalRow{Label: "Total", Amount: m.format(t.GrossMinor), Strong: true})
}

// agreedOrOffered are the totals that a revision stands for: of an approved one without the lines left out.
func agreedOrOffered(rev estimate.Revision) estimate.Totals {
	t, err := rev.AgreedTotals()
	if err != nil {
		return estimate.Totals{} // what can't be summed is never kept
	}
	return t
}

// linesView are a revision's lines and totals for reading.
func (m prices) linesView(rev estimate.Revision) view.PricedLines {
	v := view.PricedLines{Totals: m.totals(agreedOrOffered(rev), rev.Rule), Rule: rev.Rule.Words()}
	for _, l := range rev.Lines {
		row := view.PricedLine{Kind: l.Kind.Words(), Description: l.Description, Quantity: estimate.FormatQuantity(l.QuantityMilli),
			UnitPrice: m.format(l.UnitMinor), Tax: estimate.FormatPercent(l.TaxBasisPoints) + " %", LeftOut: l.Declined}
		if l.Optional && !l.Declined {
			row.Optional = "may be left out"
			if rev.Answer != nil && rev.Answer.Approve {
				row.Optional = ""
			}
		}
		if minor, err := l.AmountMinor(rev.Rule.Rounding); err == nil {
			row.Amount = m.format(minor)
		}
		v.Lines = append(v.Lines, row)
	}
	return v
}

func (s *Server) revisionView(r *http.Request, rev estimate.Revision, m prices) view.RevisionView {
	v := view.RevisionView{Number: strconv.Itoa(rev.Number), State: rev.State.Words(), Lines: m.linesView(rev), Note: rev.Note,
		ValidUntil: s.day(r, rev.ValidUntil), Expired: rev.State == estimate.Sent && rev.Expired(s.today(r)), Waiting: rev.State == estimate.Sent,
		Draft: rev.State == estimate.Draft, Approved: rev.State == estimate.Approved}
	if rev.Answer != nil {
		v.Answer = s.answerWords(r, *rev.Answer)
		v.AnswerNote = rev.Answer.Note
	}
	return v
}

// answerWords say who answered how and when.
func (s *Server) answerWords(r *http.Request, a estimate.Answer) string {
	done := "Declined"
	if a.Approve {
		done = "Approved"
	}
	return done + " by " + a.Name + " " + a.By.Words() + ", " + s.moment(r, a.At) + "."
}

// revisionRows is the history, newest first: which, who and when.
func (s *Server) revisionRows(r *http.Request, sheet store.EstimateSheet, m prices) []view.RevisionRow {
	var rows []view.RevisionRow
	for _, rev := range slices.Backward(sheet.Estimate.Revisions) {
		who := sheet.Row(rev.Number)
		row := view.RevisionRow{Number: strconv.Itoa(rev.Number), State: rev.State.Words(), Total: m.format(who.GrossMinor),
			Made: who.MadeBy + ", " + s.moment(r, who.MadeAt)}
		if rev.State != estimate.Draft {
			row.PaperURL = view.DocketURL(sheet.Head.Docket.Number.String(), "papers/estimate/"+row.Number)
			row.Sent = s.moment(r, rev.SentAt)
			if who.SentBy != "" {
				row.Sent = who.SentBy + ", " + row.Sent
			}
		}
		if rev.Answer != nil {
			row.Answer = s.answerWords(r, *rev.Answer)
			if who.AnswerTakenBy != "" {
				row.Answer += " Written down by " + who.AnswerTakenBy + "."
			}
		}
		rows = append(rows, row)
	}
	return rows
}

// linkMessage is what the shop may write to the customer along with the link.
func linkMessage(sheet store.EstimateSheet, m prices, url, until string) string {
	h := sheet.Head
	name, watch, number := h.Customer.Name, watchWords(h), h.Docket.Number.String()
	lines := []string{"Dear " + name + ",", ""}
	if waiting, ok := sheet.Estimate.Waiting(); ok {
		lines = append(lines, "The estimate for your "+watch+" (docket "+number+", revision "+strconv.Itoa(waiting.Number)+") comes to "+
			m.format(agreedOrOffered(waiting).GrossMinor)+". Please look at it and approve or decline it by "+until+":")
	} else {
		lines = append(lines, "Follow your "+watch+" (docket "+number+") here:")
	}
	return strings.Join(append(lines, url, "", "The link is yours alone: whoever has it can answer for you.", "", m.shop.Name), "\n")
}

// customerWords say where a docket is in words for the owner of its watch.
var customerWords = map[docket.Stage]string{
	docket.StageIntake:     "Your watch is with us and waits for the watchmaker to look at it.",
	docket.StageDiagnosis:  "The watchmaker is looking at your watch.",
	docket.StageEstimate:   "We have looked at your watch and are settling with you what it needs.",
	docket.StageParts:      "We are waiting for parts for your watch.",
	docket.StageService:    "Your watch is on the bench.",
	docket.StageRegulation: "Your watch is put together again and is being regulated.",
	docket.StageFinalTest:  "The work is done. Your watch is being tested.",
	docket.StageReady:      "Your watch is ready to collect.",
	docket.StageHandedOver: "Your watch has been handed over.",
	docket.StageDeclined:   "Your watch goes back to you unrepaired, as you decided. It can be collected.",
	docket.StageWithdrawn:  "You asked for your watch back. It can be collected.",
}
