package office

import (
	"errors"
	"fmt"
	"net/http"
	"strconv"

	"ledgerwheel/domain"
	"ledgerwheel/domain/record"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/text"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/paper"
	"ledgerwheel/web/sheet"
	"ledgerwheel/web/view"
)

func (s *Room) recordRoutes() []page.Route {
	return []page.Route{
		page.Get("/record", page.Needs(staff.CheckRecord), s.showRecord),
		page.Post("/record/check", page.Needs(staff.CheckRecord), s.checkRecord),
		page.Get("/record/seal", page.Needs(staff.CheckRecord), s.showSeal),
		page.Get("/record/seal.pdf", page.Needs(staff.CheckRecord), s.sendSeal),
		page.Get("/record/seal.txt", page.Needs(staff.CheckRecord), s.sendSealText),
		page.Get("/record/journal", page.Needs(staff.CheckRecord), s.showShopJournal),
	}
}

// showRecord answers whether the record is whole. While a check is under way the page is loaded again by itself.
func (s *Room) showRecord(w http.ResponseWriter, r *http.Request) error {
	done, total, running := s.keeping.Checks.Progress()
	known, err := s.store.RecordStanding(r.Context())
	if err != nil {
		return err
	}
	v := recordView{Checks: s.checkStanding(known.Last), Sealing: s.sealTrouble(), Running: running, Done: done, Total: total,
		Said: known.Last.Said, More: known.Last.Findings - int64(len(known.Last.Said)), Words: known.Last.Words}
	if !known.Last.EndedAt.IsZero() {
		v.Checked = "Checked " + s.Moment(r, known.Last.EndedAt) + ", " + askedBy(known.Last) + "."
	}
	if known.Newest.Failed != "" {
		v.Failed = "The check of " + s.Moment(r, known.Newest.BegunAt) + " could not be made. " + known.Newest.Failed
	}
	for _, c := range known.Earlier {
		v.Earlier = append(v.Earlier, checkLine{When: s.Moment(r, c.BegunAt), Who: text.Capital(askedBy(c)), Findings: c.Findings, Failed: c.Failed})
	}
	if len(known.Seal.Text) > 0 {
		v.Seal = &sealLine{Made: s.Moment(r, known.Seal.At), Over: known.Seal.Over(), Short: known.Seal.Short()}
	}
	if s.keeping.Sealing != nil {
		v.Folders = s.keeping.Sealing.Folders()
	}
	if running {
		w.Header().Set("Refresh", "2; url=/record")
	}
	return page.Render(w, r, http.StatusOK, recordPage(s.Page(r, "The record"), v))
}

func askedBy(c store.CheckRun) string {
	if c.ByName == "" {
		return "by the program itself"
	}
	return "asked for by " + c.ByName
}

func (s *Room) checkStanding(last store.CheckRun) standingView {
	words, alarming := record.CheckStanding(last.EndedAt, last.Findings, s.Now())
	return standingView{Words: words, Alarming: alarming}
}

// sealTrouble says what stands against the newest seal; "" where nothing does.
func (s *Room) sealTrouble() string {
	if s.keeping.Sealing == nil {
		return ""
	}
	err := s.keeping.Sealing.Failed()
	switch {
	case err == nil:
		return ""
	case errors.Is(err, store.ErrRewritten):
		return text.Sentence(store.ErrRewritten.Error())
	}
	return "The record could not be sealed, or a seal not be kept everywhere: " + err.Error() + "."
}

func (s *Room) checkRecord(w http.ResponseWriter, r *http.Request) error {
	if _, err := page.ReadForm(w, r); err != nil {
		return err
	}
	if !s.keeping.Checks.Begin(page.Actor(r).StaffID) {
		s.Say(r.Context(), "A check is under way already.")
	}
	return page.SeeOther(w, r, "/record")
}

// newestSeal reads the seal that is downloaded and printed; the error wraps domain.ErrNotFound where there is none yet.
func (s *Room) newestSeal(r *http.Request) (record.Seal, error) {
	known, err := s.store.RecordStanding(r.Context())
	if err == nil && len(known.Seal.Text) == 0 {
		err = fmt.Errorf("newest seal: %w", domain.ErrNotFound)
	}
	return known.Seal, err
}

func sealName(seal record.Seal) string {
	return fmt.Sprintf("seal-%s-%d", seal.At.UTC().Format("20060102T150405Z"), seal.Size)
}

func (s *Room) sendSealText(w http.ResponseWriter, r *http.Request) error {
	seal, err := s.newestSeal(r)
	if err != nil {
		return err
	}
	h := w.Header()
	h.Set("Content-Type", "text/plain; charset=utf-8")
	h.Set("Content-Disposition", `attachment; filename="`+sealName(seal)+`.txt"`)
	h.Set("Content-Length", strconv.Itoa(len(seal.Text)))
	_, _ = w.Write(seal.Text) // a reader that went away is no fault of ours
	return nil
}

func (s *Room) sealPaper(r *http.Request) (paper.Seal, record.Seal, error) {
	seal, err := s.newestSeal(r)
	viewer, _ := page.ViewerOf(r.Context())
	return paper.Seal{Issuer: page.IssuerOf(viewer.Shop), Lang: viewer.Shop.Locale, Short: seal.Short(), Code: string(seal.Text),
		Text:  page.NonEmptyLines(string(seal.Text)),
		Facts: []paper.Field{{Label: "Sealed", Value: seal.At.UTC().Format(page.MomentLayout) + " UTC"}, {Label: "Over", Value: seal.Over()}},
		Notes: []string{
			"This seal says how the record of the shop stood. Keep it where nobody reaches it who can reach the program.",
			"To hold the record against it, scan the code into a text file, or type the lines above with an empty one before the last, " +
				"and on the machine of the program run: " +
				"ledgerwheel record check --seal FILE",
			"The answer is that the record has only been added to since, or what was changed.",
		}}, seal, err
}

func (s *Room) showSeal(w http.ResponseWriter, r *http.Request) error {
	p, _, err := s.sealPaper(r)
	if err != nil {
		return err
	}
	return page.ShowPaper(w, r, view.PrintView{Page: s.Page(r, "Seal of the record"), Heading: "Seal of the record", BackHref: "/record",
		BackText: "Back to the record", PDF: &view.LinkView{Text: "As PDF", Href: "/record/seal.pdf", TestID: "pdf"}}, p)
}

func (s *Room) sendSeal(w http.ResponseWriter, r *http.Request) error {
	p, seal, err := s.sealPaper(r)
	if err != nil {
		return err
	}
	return s.SendPaper(w, r, sealName(seal), p, seal.At)
}

// showShopJournal shows a page of the shop's own journal, newest first. The query names the entry before which it
// begins, none the newest.
func (s *Room) showShopJournal(w http.ResponseWriter, r *http.Request) error {
	var before int64
	if typed := r.URL.Query().Get("before"); typed != "" {
		var err error
		if before, err = strconv.ParseInt(typed, 10, 64); err != nil || before < 1 {
			return page.BadRequest(fmt.Errorf("before: %q is no entry", typed))
		}
	}
	j, err := s.store.ShopJournal(r.Context(), before)
	if err != nil {
		return err
	}
	v := shopJournalView{Pager: shopJournalPager(j)}
	for _, e := range j.Entries {
		v.Entries = append(v.Entries, sheet.EntryView(s.Host, r, e))
	}
	return page.Render(w, r, http.StatusOK, shopJournalPage(s.Page(r, "The shop's journal"), v))
}

// shopJournalPager relies on a journal's sequence having no gaps.
func shopJournalPager(j store.ShopJournal) view.PagerView {
	if len(j.Entries) == 0 {
		return view.PagerView{}
	}
	const base = "/record/journal"
	newest, oldest := j.Entries[0].Seq, j.Entries[len(j.Entries)-1].Seq
	p := view.PagerView{Here: fmt.Sprintf("entries %d to %d of %d", newest, oldest, j.Newest)}
	if newest < j.Newest {
		p.Newer = base
		if newest+store.JournalPage < j.Newest {
			p.Newer = fmt.Sprintf("%s?before=%d", base, newest+store.JournalPage+1)
		}
	}
	if oldest > 1 {
		p.Older = fmt.Sprintf("%s?before=%d", base, oldest)
	}
	return p
}
