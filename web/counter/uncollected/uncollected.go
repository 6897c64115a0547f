package uncollected

import (
	"errors"
	"net/http"
	"strconv"
	"time"

	"ledgerwheel/domain"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/uncollected"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/paper"
	"ledgerwheel/web/sheet"
	"ledgerwheel/web/view"
)

func (s *Room) docketRoutes() []page.Route {
	return []page.Route{
		page.Get("/dockets/{number}/uncollected", page.Needs(staff.ViewDockets), s.show),
		page.Post("/dockets/{number}/uncollected/notice", page.Needs(staff.WriteNotices), s.write),
		page.Post("/dockets/{number}/uncollected/formal", page.Needs(staff.WriteFormal), s.write),
		page.Post("/dockets/{number}/uncollected/posted", page.Needs(staff.WriteNotices), s.posted),
		page.Post("/dockets/{number}/uncollected/block", page.Needs(staff.WriteNotices), s.block),
		page.Post("/dockets/{number}/uncollected/lift", page.Needs(staff.WriteNotices), s.lift),
		page.Get("/dockets/{number}/papers/notice", page.Needs(staff.PrintPapers), s.showPaper),
		page.Get("/dockets/{number}/papers/notice.pdf", page.Needs(staff.PrintPapers), s.sendPaper),
	}
}

// The forms of the page, by the last part of their addresses.
const (
	formNotice = "notice"
	formFormal = "formal"
	formPosted = "posted"
	formBlock  = "block"
	formLift   = "lift"
)

func (s *Room) show(w http.ResponseWriter, r *http.Request) error {
	return s.render(w, r, http.StatusOK, sheet.Refused{})
}

// change reads a form that names the version it was drawn from: a letter is written once.
func (s *Room) change(w http.ResponseWriter, r *http.Request) (*page.Form, store.Change, error) {
	f, c, err := s.ChangeForm(w, r)
	if err == nil && c.Version == 0 {
		err = page.BadRequest(errors.New("the form needs the version that was seen"))
	}
	return f, c, err
}

func (s *Room) answer(w http.ResponseWriter, r *http.Request, f *page.Form, c store.Change, what string, err error, said string) error {
	return s.Settle(w, r, sheet.Ending{Form: f, Change: c, Err: err, Said: said, To: view.DocketURL(c.Number.String(), "uncollected"),
		Again: func(status int) error { return s.render(w, r, status, sheet.Refused{What: what, Form: f}) }})
}

// write composes a letter in the customer's language and keeps it word for word.
func (s *Room) write(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.change(w, r)
	if err != nil {
		return err
	}
	record, err := s.store.UncollectedSheet(r.Context(), c.Number)
	if err != nil {
		return err
	}
	what, kind := formNotice, uncollected.CollectNotice
	var until time.Time
	if r.URL.Path == view.DocketURL(c.Number.String(), "uncollected/"+formFormal) {
		what, kind, until = formFormal, uncollected.FormalNotice, f.Day("until")
		if until.IsZero() || until.Before(s.Today(r)) {
			f.Fail("until", "Give the day by which the watch is to be collected.")
		}
	}
	address := f.Text("addressee")
	if len(page.NonEmptyLines(address)) < 2 {
		f.Fail("addressee", "Write the name and the whole address, in lines.")
	}
	if !f.OK() {
		return s.render(w, r, http.StatusUnprocessableEntity, sheet.Refused{What: what, Form: f})
	}
	viewer, _ := page.ViewerOf(r.Context())
	l := letterOf(record, viewer.Shop, letterAsks{kind: kind, addressee: address, own: f.Text("own"), until: until,
		ready: s.CivilDayOf(r, record.Head.MovedAt)})
	return s.answer(w, r, f, c, what, s.store.WriteNotice(r.Context(), c, l), "The letter is written. Print it, post it, and keep the proof here.")
}

func (s *Room) posted(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.change(w, r)
	if err != nil {
		return err
	}
	p := uncollected.Posting{On: f.Day("posted_on"), Number: f.Text("post_number"), PhotoID: f.ID("photo")}
	return s.answer(w, r, f, c, formPosted, s.store.PostNotice(r.Context(), c, f.ID("notice"), p), "The proof of posting is kept.")
}

func (s *Room) block(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.change(w, r)
	if err != nil {
		return err
	}
	err = s.store.NoteBlock(r.Context(), c, uncollected.BlockKind(f.Text("kind")), f.Text("words"))
	return s.answer(w, r, f, c, formBlock, err, "Noted. Nothing follows from the days while this stands.")
}

func (s *Room) lift(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.change(w, r)
	if err != nil {
		return err
	}
	return s.answer(w, r, f, c, formLift, s.store.LiftBlock(r.Context(), c, f.ID("block"), f.Text("why")), "It no longer stands against a letter.")
}

// letter is the letter that the address names, else the newest; the error wraps domain.ErrNotFound where there is none.
func (s *Room) letter(r *http.Request) (paper.Notice, store.NoticeRow, error) {
	n, err := page.PathNumber(r)
	if err != nil {
		return paper.Notice{}, store.NoticeRow{}, err
	}
	record, err := s.store.UncollectedSheet(r.Context(), n)
	if err != nil {
		return paper.Notice{}, store.NoticeRow{}, err
	}
	asked := r.URL.Query().Get("notice") // none is the newest
	for i := len(record.Notices) - 1; i >= 0; i-- {
		if row := record.Notices[i]; asked == "" || strconv.FormatInt(row.ID, 10) == asked {
			return noticePaper(n, row), row, nil
		}
	}
	return paper.Notice{}, store.NoticeRow{}, domain.ErrNotFound
}

func (s *Room) showPaper(w http.ResponseWriter, r *http.Request) error {
	v, row, err := s.letter(r)
	if err != nil {
		return err
	}
	id := strconv.FormatInt(row.ID, 10)
	return page.ShowPaper(w, r, view.PrintView{Page: s.Page(r, v.Title+" "+v.Docket), Heading: v.Title,
		BackHref: view.DocketURL(v.Docket, "uncollected"), BackText: "Back to the letters",
		PDF: &view.LinkView{Text: "As PDF", Href: view.DocketURL(v.Docket, "papers/notice.pdf?notice="+id), TestID: "pdf"}}, v)
}

func (s *Room) sendPaper(w http.ResponseWriter, r *http.Request) error {
	v, row, err := s.letter(r)
	if err != nil {
		return err
	}
	return s.SendPaper(w, r, "letter-"+v.Docket, v, row.WrittenAt)
}
