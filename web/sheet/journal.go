package sheet

import (
	"errors"
	"fmt"
	"math"
	"net/http"
	"strconv"
	"time"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/text"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/view"
)

func (s *Frame) journalRoutes() []page.Route {
	return []page.Route{
		page.Get("/dockets/{number}/journal", page.Needs(staff.ViewJournal), s.showJournal),
	}
}

// showJournal shows a page of the journal, newest first. The query names the newest entry to show, upto; none
// starts at the journal's head.
func (s *Frame) showJournal(w http.ResponseWriter, r *http.Request) error {
	n, err := page.PathNumber(r)
	if err != nil {
		return err
	}
	upTo := int64(math.MaxInt64)
	if typed := r.URL.Query().Get("upto"); typed != "" {
		if upTo, err = strconv.ParseInt(typed, 10, 64); err != nil || upTo < 1 {
			return page.BadRequest(fmt.Errorf("upto: %q is no entry", typed))
		}
	}
	j, err := s.store.JournalSheet(r.Context(), n, upTo)
	if err != nil {
		return err
	}
	p, d := s.DocketPage(r, j.Head, "journal")
	v := journalView{Pager: journalPager(d.Number, j)}
	for _, e := range j.Entries {
		v.Entries = append(v.Entries, s.EntryView(r, e))
	}
	v.Sound, v.Verdict = chainVerdict(j)
	return page.Render(w, r, http.StatusOK, journalPage(p, d, v))
}

// chainVerdict says whether the entries shown hold together, and with what stands next to them.
func chainVerdict(j store.JournalSheet) (sound bool, words string) {
	err := j.Verify()
	var broken *docket.BrokenError
	switch {
	case err == nil && len(j.Entries) == 0:
		return true, "There is no entry here."
	case err == nil:
		return true, fmt.Sprintf("Entries %d to %d are unbroken: each one's contents match its hash, and each follows the "+
			"one before it.",
			j.Entries[len(j.Entries)-1].Seq, j.Entries[0].Seq)
	case errors.As(err, &broken):
		return false, fmt.Sprintf("The chain breaks at entry %d: %s. The journal was changed outside the program; tell the owner.",
			broken.Seq, broken.What)
	}
	return false, "The chain can't be checked."
}

// journalPager relies on a journal's sequence having no gaps.
func journalPager(number string, j store.JournalSheet) view.PagerView {
	if len(j.Entries) == 0 {
		return view.PagerView{}
	}
	base := view.DocketURL(number, "journal")
	newest, oldest, head := j.Entries[0].Seq, j.Entries[len(j.Entries)-1].Seq, j.Head.Docket.Version
	p := view.PagerView{Here: fmt.Sprintf("entries %d to %d of %d", newest, oldest, head)}
	if newest < head {
		p.Newer = base
		if newest+store.JournalPage < head {
			p.Newer = fmt.Sprintf("%s?upto=%d", base, newest+store.JournalPage)
		}
	}
	if oldest > 1 {
		p.Older = fmt.Sprintf("%s?upto=%d", base, oldest-1)
	}
	return p
}

// EntryView is a journal entry as every page shows it.
func (s *Frame) EntryView(r *http.Request, e docket.Entry) view.EntryView {
	return EntryView(s.Host, r, e)
}

// EntryView is what [Frame.EntryView] is, for an entry of no docket.
func EntryView(h *page.Host, r *http.Request, e docket.Entry) view.EntryView {
	v := view.EntryView{Seq: strconv.FormatInt(e.Seq, 10), At: h.Moment(r, e.At),
		Datetime: e.At.UTC().Format(time.RFC3339),
		Who:      e.By.String(), Summary: text.TrueMinus(e.Summary), Why: e.Why, Hash: e.Hash.Short()}
	viewer, _ := page.ViewerOf(r.Context())
	v.Facts = factTerms(e.Facts, viewer.Shop)
	return v
}
