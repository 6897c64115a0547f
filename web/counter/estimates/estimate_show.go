package estimates

import (
	"net/http"
	"slices"
	"strconv"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/shop"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/priced"
	"ledgerwheel/web/view"
)

// limitSaid says up to which amount the customer need not be asked.
func limitSaid(m priced.Money, h store.Head) string {
	if h.Facts.Cover == docket.Covered {
		return "The warranty covers this comeback: nothing is charged, and nobody need be asked."
	}
	if h.Docket.ApprovalLimitMinor == nil {
		return "The customer wants to be asked before any work."
	}
	return "The customer allows work up to " + m.Format(*h.Docket.ApprovalLimitMinor) + " without being asked."
}

// withinSaid says whether a revision that waits lies within the limit, or nothing where no limit was agreed.
func withinSaid(h store.Head, rev estimate.Revision) string {
	if h.Docket.ApprovalLimitMinor == nil || rev.State != estimate.Sent && rev.State != estimate.Draft {
		return ""
	}
	if estimate.WithinLimit(priced.AgreedOrOffered(rev).GrossMinor, h.Docket.ApprovalLimitMinor) {
		return "This lies within it: work may start."
	}
	return "This lies above it: the customer must approve."
}

// revisionView is a revision as it was sent, sh being the shop as it stood then.
func (s *Room) revisionView(r *http.Request, rev estimate.Revision, sh shop.Shop) priced.RevisionView {
	r = page.AsStood(r, sh)
	m := priced.Of(rev.Currency, sh)
	v := priced.RevisionView{Number: strconv.Itoa(rev.Number), State: rev.State.Words(), Lines: priced.LinesOf(m, rev),
		Note:       rev.Note,
		ValidUntil: s.Day(r, rev.ValidUntil), Expired: rev.State == estimate.Sent && rev.Expired(s.Today(r)),
		Waiting: rev.State == estimate.Sent,
		Draft:   rev.State == estimate.Draft, Approved: rev.State == estimate.Approved}
	if rev.Answer != nil {
		v.Answer = s.answerWords(r, *rev.Answer)
		v.AnswerNote = rev.Answer.Note
	}
	return v
}

// answerWords say who answered how and when.
func (s *Room) answerWords(r *http.Request, a estimate.Answer) string {
	done := "Declined"
	if a.Approve {
		done = "Approved"
	}
	return done + " by " + a.Name + " " + a.By.Words() + ", " + s.Moment(r, a.At) + "."
}

// revisionRows is the history, newest first: which, who and when.
func (s *Room) revisionRows(today *http.Request, sheet store.EstimateSheet) []revisionRow {
	var rows []revisionRow
	for _, rev := range slices.Backward(sheet.Estimate.Revisions) {
		who := sheet.Row(rev.Number)
		r, m := page.AsStood(today, who.Shop), priced.Of(rev.Currency, who.Shop)
		row := revisionRow{Number: strconv.Itoa(rev.Number), State: rev.State.Words(), Total: m.Format(who.GrossMinor),
			Made: who.MadeBy + ", " + s.Moment(r, who.MadeAt)}
		if rev.State != estimate.Draft {
			row.PaperURL = view.DocketURL(sheet.Head.Docket.Number.String(), "papers/estimate/"+row.Number)
			row.Sent = s.Moment(r, rev.SentAt)
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
