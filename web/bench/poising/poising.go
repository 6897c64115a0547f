package poising

import (
	"fmt"
	"net/http"
	"slices"

	"ledgerwheel/domain"
	"ledgerwheel/domain/poising"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/timing"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/runs"
	"ledgerwheel/web/sheet"
	"ledgerwheel/web/view"
)

func (s *Room) showPoising(w http.ResponseWriter, r *http.Request) error {
	return s.renderPoising(w, r, http.StatusOK, nil)
}

// read reads the docket's rounds.
func (s *Room) read(r *http.Request) (store.PoisingSheet, error) {
	n, err := page.PathNumber(r)
	if err != nil {
		return store.PoisingSheet{}, err
	}
	return s.store.PoisingSheet(r.Context(), n)
}

// renderPoising shows the page; f is the form of a round that was refused, or nil.
func (s *Room) renderPoising(w http.ResponseWriter, r *http.Request, status int, f *page.Form) error {
	record, err := s.read(r)
	if err != nil {
		return err
	}
	kept, err := runs.Read(r, s.store) // for what may be copied
	if err != nil {
		return err
	}
	sources := copies(kept)
	if f == nil {
		f = page.EmptyForm()
		if from := r.URL.Query().Get("copy"); from != "" {
			at := slices.IndexFunc(sources, func(c source) bool { return c.key() == from })
			if at < 0 {
				return page.BadRequest(fmt.Errorf("copy: the docket has no such readings: %s", from))
			}
			runs.Fill(f, poising.Copied(sources[at].run.Sheet.Run, sources[at].hours))
		}
		if rows := record.Rounds; len(rows) > 0 {
			f.Values.Set("last_round", page.Itoa64(newestRound(rows)))
		}
	}
	p, d := s.DocketPage(r, record.Head, "advice") // whose sheet it belongs to
	p.Title = "Poising of " + d.Number
	v := s.viewOf(r, record, f, d)
	for _, c := range sources {
		v.Copies = append(v.Copies, view.LinkView{Text: "Copy from the run " + c.run.Sheet.Run.Title() + ", " +
			timing.StateWords(c.hours), Href: view.DocketURL(d.Number, "poising") + "?copy=" + c.key() + "#round",
			TestID: "copy-" + c.key()})
	}
	return page.Render(w, r, status, poisingPage(p, d, v))
}

func newestRound(rows []store.PoisingRow) int64 {
	newest := int64(0)
	for _, row := range rows {
		newest = max(newest, row.ID)
	}
	return newest
}

// source is a state of wind of a run that was read hanging at an amplitude to poise at.
type source struct {
	run   store.RunRecord
	hours float64
}

func (c source) key() string { return page.Itoa64(c.run.ID) + "-" + timing.HoursText(c.hours) }

// copies are the readings that a round may be copied from, the newest run first: typed, or heard by listening.
func copies(kept store.RegulationSheet) []source {
	var out []source
	for _, run := range slices.Backward(kept.Runs) {
		for _, hours := range run.Sheet.Run.States() {
			if poising.AtPoising(run.Sheet.Run, hours) {
				out = append(out, source{run, hours})
			}
		}
	}
	return out
}

// readRound reads the posted round with what is wrong with it.
func readRound(f *page.Form) poising.Round {
	round, problems := poising.Parse(f.Raw)
	f.FailAll(problems)
	round.Done = text.Lines(round.Done)
	return round
}

func (s *Room) addRound(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.ChangeForm(w, r)
	if err != nil {
		return err
	}
	c.Version = 0 // a round depends on the rounds before it, which last_round tells
	round, last := readRound(f), f.ID("last_round")
	if f.OK() {
		record, err := s.read(r)
		if err != nil {
			return err
		}
		if _, err = s.store.AddPoising(r.Context(), c, round, runs.BalanceOf(record.Head.Calibre), last); err != nil {
			return s.settle(w, r, f, c, err, func(status int) error { return s.renderPoising(w, r, status, f) })
		}
	}
	return s.settle(w, r, f, c, nil, func(status int) error { return s.renderPoising(w, r, status, f) })
}

// settle ends a save; somebody who saved first is told of at the head of the form, with what was typed kept.
func (s *Room) settle(w http.ResponseWriter, r *http.Request, f *page.Form, c store.Change, err error,
	again func(status int) error) error {
	return s.Settle(w, r, sheet.Ending{Form: f, Change: c, Err: err, Said: "The rounds are saved.", Closed: "readings",
		To: view.DocketURL(c.Number.String(), "poising"), Again: again,
		Changed: func() error {
			record, err := s.read(r)
			if err != nil {
				return err
			}
			f.Values.Set("last_round", page.Itoa64(newestRound(record.Rounds)))
			f.Fail("readings", "Someone else saved first. Look at the rounds below; saving again saves yours all the same.")
			return again(http.StatusConflict)
		}})
}

func (s *Room) showRound(w http.ResponseWriter, r *http.Request) error {
	return s.renderRound(w, r, http.StatusOK, nil)
}

// renderRound shows the page that corrects a round or strikes it out.
func (s *Room) renderRound(w http.ResponseWriter, r *http.Request, status int, f *page.Form) error {
	record, err := s.read(r)
	if err != nil {
		return err
	}
	id, err := page.PathID(r, "id")
	if err != nil {
		return err
	}
	row, found := record.Round(id)
	if !found {
		return domain.ErrNotFound
	}
	if f == nil {
		f = page.EmptyForm()
		runs.Fill(f, row.Typed())
	}
	p, d := s.DocketPage(r, record.Head, "advice") // whose sheet it belongs to
	p.Title = "Poising of " + d.Number
	v := roundPageView{Form: f.View(), Round: gridOf(f.View(), record.Head.Watch.CrownAt), Number: row.Ordinal,
		Action: view.DocketURL(d.Number, "poising/"+page.Itoa64(id)), Back: view.DocketURL(d.Number, "poising"),
		Read: s.Moment(r, row.At) + ", " + row.By}
	return page.Render(w, r, status, roundPage(p, d, v))
}

func (s *Room) correctRound(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.ChangeForm(w, r)
	if err != nil {
		return err
	}
	id, err := page.PathID(r, "id")
	if err != nil {
		return err
	}
	c.Version, c.Why = 0, text.Lines(f.Raw("why")) // the round decides, not the docket's version
	record, err := s.read(r)
	if err != nil {
		return err
	}
	if _, found := record.Round(id); !found { // struck out or corrected meanwhile: the page of rounds shows by whom
		s.Say(r.Context(), "Someone else saved first: this round was corrected or struck out. Nothing of yours was saved.")
		return page.SeeOther(w, r, view.DocketURL(c.Number.String(), "poising"))
	}
	again := func(status int) error { return s.renderRound(w, r, status, f) }
	if f.Text("do") == "strike" {
		return s.settle(w, r, f, c, s.store.StrikePoising(r.Context(), c, id), again)
	}
	round := readRound(f)
	if f.OK() {
		err = s.store.CorrectPoising(r.Context(), c, id, round, runs.BalanceOf(record.Head.Calibre))
	}
	return s.settle(w, r, f, c, err, again)
}
