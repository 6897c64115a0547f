package trials

import (
	"cmp"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"ledgerwheel/domain"
	"ledgerwheel/domain/chronometer"
	"ledgerwheel/domain/figure"
	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/trial"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/paper"
	"ledgerwheel/web/runs"
	"ledgerwheel/web/view"
)

// trialPaper reads the trial of the query, or the newest, for its bulletin.
func (s *Room) trialPaper(r *http.Request) (store.TrialSheet, trialPage, error) {
	sheet, err := s.trialOf(r)
	if err != nil {
		return sheet, trialPage{}, err
	}
	if sheet.Shown == nil {
		return sheet, trialPage{}, fmt.Errorf("bulletin of docket %s: no trial: %w", sheet.Head.Docket.Number,
			domain.ErrNotFound)
	}
	t, err := newTrialPage(sheet)
	return sheet, t, err
}

// trialEntry says up to which entry of the journal the bulletin goes.
func trialEntry(h store.Head) string {
	return fmt.Sprintf("Journal of docket %s at entry %d, hash %s.", h.Docket.Number, h.Docket.Version,
		h.Docket.Head.Short())
}

// trialVerdict is the verdict as its bulletin says it: of a trial that is not over it says so.
func trialVerdict(t trialPage) (metrology.Verdict, string) {
	switch t.record.State {
	case trial.Abandoned:
		return metrology.NotMeasured, "The trial was abandoned: " + t.record.Reason
	case trial.Running:
		return t.verdict, "The trial is not ended yet. " + verdictSentence(t)
	}
	return t.verdict, verdictSentence(t)
}

func trialNotes(t trialPage) []string {
	notes := []string{"Rates in seconds per day, plus when the watch gains. Figures after ± are expanded " +
		"uncertainties, k = 2, about 95 %. " +
		"Positions are named by ISO 3158, days and criteria by ISO 3159. Simple acceptance holds the figure itself " +
		"against the limit.",
		"The shop ran this trial itself. This bulletin is no chronometer certificate."}
	if slices.ContainsFunc(t.record.Days, func(d store.TrialDay) bool { return d.Version > 1 }) {
		notes = append(notes, "A day marked as corrected was noted otherwise at first; the docket's journal keeps why.")
	}
	for _, w := range t.warnings {
		notes = append(notes, w.Text)
	}
	return notes
}

var trialSignatures = []string{"Watchmaker", "Date"}

func (s *Room) showTrialBulletin(w http.ResponseWriter, r *http.Request) error {
	sheet, t, err := s.trialPaper(r)
	if err != nil {
		return err
	}
	number := sheet.Head.Docket.Number.String()
	query := "?trial=" + page.Itoa64(t.record.ID)
	return page.ShowPaper(w, r, view.PrintView{Page: s.Page(r, "Bulletin of a trial "+number),
		Heading: "Bulletin of a trial", BackHref: view.DocketURL(number, "trial") + query, BackText: "Back to the trial",
		PDF: &view.LinkView{Text: "As PDF", Href: view.DocketURL(number, "papers/trial.pdf") + query, TestID: "pdf"}},
		s.trialBulletinPaper(r, sheet, t))
}

func (s *Room) planFields(r *http.Request, t trialPage) []paper.Field {
	var fields []paper.Field
	for _, term := range s.trialTerms(r, t) {
		if term.Cell.Text != "" {
			fields = append(fields, paper.Field{Label: term.Term, Value: term.Cell.Text})
		}
	}
	return fields
}

// paperDays are the fifteen days as papers print them.
func (s *Room) paperDays(r *http.Request, t trialPage) []paper.TrialDay {
	var days []paper.TrialDay
	for _, want := range chronometer.Programme() {
		day := paper.TrialDay{Number: strconv.Itoa(want.Number), Position: runs.PaperPosition(want.Position, t.crown),
			Asked: figure.Plain(want.TemperatureC)}
		if v, known := t.rates.Rate(want.Number); known {
			p := v.Brief(true)
			p.Unit = ""
			day.Rate = p.String()
		}
		if kept, noted := t.record.Day(want.Number); noted {
			day.Read, day.Note = s.Moment(r, kept.ReadAt), kept.Note
			if kept.TemperatureC != nil {
				day.Was = figure.Shown(*kept.TemperatureC)
			}
			if kept.Position != want.Position {
				day.Note = cmp.Or(day.Note, "in "+string(kept.Position))
			}
			if kept.Version > 1 {
				day.Note = strings.TrimSpace(day.Note + " " + s.correctedNote(r, t, kept))
			}
		}
		days = append(days, day)
	}
	return days
}

// correctedNote marks a day that was noted otherwise at first, with what it read then.
func (s *Room) correctedNote(r *http.Request, t trialPage, kept store.TrialDay) string {
	note := "Corrected " + s.Moment(r, kept.At)
	if first, found := t.record.First(kept.Day); found {
		if was := kept.WasWords(first.Entry); was != "" {
			note += ", " + was
		}
	}
	return note + "."
}

func (s *Room) sendTrialBulletin(w http.ResponseWriter, r *http.Request) error {
	sheet, t, err := s.trialPaper(r)
	if err != nil {
		return err
	}
	return page.SendPaper(w, "trial-"+sheet.Head.Docket.Number.String(), s.trialBulletinPaper(r, sheet, t), s.Now())
}

// trialBulletinPaper is what the bulletin says.
func (s *Room) trialBulletinPaper(r *http.Request, sheet store.TrialSheet, t trialPage) paper.TrialBulletin {
	r = page.AsStood(r, t.shop)
	verdict, sentence := trialVerdict(t)
	b := paper.TrialBulletin{Issuer: page.IssuerOf(t.shop), Lang: t.shop.Locale,
		Docket: sheet.Head.Docket.Number.String(), Date: s.Moment(r, s.Now()),
		Watch: runs.WatchFields(sheet.Head), Plan: s.planFields(r, t), Mark: runs.PaperMark(verdict), Verdict: sentence,
		Simple: simpleSentence(t.judged),
		Rule:   "Decision rule: " + t.rule.String() + ".", Days: s.paperDays(r, t), Notes: append(trialNotes(t),
			trialEntry(sheet.Head), sheet.Seal.Line()), Signatures: trialSignatures}
	for _, res := range t.judged.Results {
		c := paper.TrialCriterion{Symbol: res.Criterion.Symbol(), Name: text.Capital(res.Criterion.Label()),
			Formula: res.Criterion.Formula(),
			Limits:  limitsWords(res) + " " + res.Criterion.Unit(), Guarded: runs.PaperMark(res.Guarded),
			SimpleWord: string(res.Standing), GuardedWord: res.GuardedWords()}
		if res.Known {
			c.Value = res.Text()
		}
		switch res.Standing {
		case chronometer.Pass:
			c.Simple = paper.Pass
		case chronometer.Fail:
			c.Simple = paper.Fail
		}
		b.Criteria = append(b.Criteria, c)
	}
	return b
}
