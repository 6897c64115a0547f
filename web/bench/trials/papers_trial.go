package trials

import (
	"cmp"
	"fmt"
	"net/http"
	"strconv"

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

// trialSeal says up to which entry of the journal the bulletin goes.
func trialSeal(h store.Head) string {
	return fmt.Sprintf("Journal of docket %s at entry %d, seal %s.", h.Docket.Number, h.Docket.Version,
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
	p := view.PrintView{Page: s.Page(r, "Bulletin of a trial "+number), Size: view.PaperA4, Heading: "Bulletin of a trial",
		BackHref: view.DocketURL(number, "trial") + query, BackText: "Back to the trial",
		PDF:     &view.LinkView{Text: "As PDF", Href: view.DocketURL(number, "papers/trial.pdf") + query, TestID: "pdf"},
		Lacking: page.Lacking(s.trialBulletinPaper(r, sheet, t).Texts())}
	verdict, sentence := trialVerdict(t)
	stood := page.AsStood(r, t.shop)
	v := trialBulletinView{Shop: t.shop.Name, Address: t.shop.Address, Number: number,
		Date: s.Moment(stood, s.Now()),
		Mark: runs.MarkOf(verdict), Verdict: sentence, Simple: simpleSentence(t.judged), Rule: t.rule.String(),
		Criteria: bulletinCriteria(t),
		Days:     s.bulletinDays(stood, t), Notes: trialNotes(t), Seal: trialSeal(sheet.Head), Signatures: trialSignatures}
	for _, f := range append(runs.WatchFields(sheet.Head), s.planFields(stood, t)...) {
		v.Watch = append(v.Watch, view.Term(f.Label, f.Value))
	}
	return page.Render(w, r, http.StatusOK, trialBulletin(p, v))
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

// bulletinCriteria is the table of the sheet without what only a running trial has use for.
func bulletinCriteria(t trialPage) view.DataView {
	d := view.DataView{TableView: view.TableView{ID: "trial-criteria", Caption: "Criteria", Dense: true,
		TestID: "trial-criteria"},
		Columns: []view.Column{{Text: "criterion"}, {Text: "figure", Numeric: true}, {Text: "limits", Numeric: true},
			{Text: "simple acceptance"}, {Text: "with guard band"}}}
	for _, res := range t.judged.Results {
		d.Rows = append(d.Rows, view.Row{Head: true,
			Cells: []view.Cell{{Text: res.Criterion.Symbol() + ", " + res.Criterion.Label(), Note: res.Criterion.Formula()},
				view.Txt(knownFigure(res)), view.Txt(limitsWords(res) + " " + res.Criterion.Unit()),
				{Mark: markOfStanding(res.Standing), Text: string(res.Standing)}, {Mark: runs.MarkOf(res.Guarded),
					Text: res.Guarded.String()}}})
	}
	return d
}

func knownFigure(res chronometer.Result) string {
	if !res.Known {
		return "–"
	}
	return res.Text()
}

func (s *Room) bulletinDays(r *http.Request, t trialPage) view.DataView {
	d := view.DataView{TableView: view.TableView{ID: "trial-days", Caption: "The fifteen days", Dense: true,
		TestID: "trial-days"},
		Columns: []view.Column{{Text: "day"}, {Text: "position"}, {Text: "asked", Unit: "°C", Numeric: true},
			{Text: "was", Unit: "°C", Numeric: true},
			{Text: "rate", Unit: "s/d", Numeric: true}, {Text: "read"}}}
	for _, day := range s.paperDays(r, t) {
		d.Rows = append(d.Rows, view.Row{Head: true, Cells: []view.Cell{view.Txt(day.Number),
			view.Txt(day.Position.Symbol + ", " + day.Position.Words),
			view.Txt(day.Asked), view.Txt(day.Was), view.Txt(cmp.Or(day.Rate, "–")), {Text: day.Read, Note: day.Note}}})
	}
	return d
}

// paperDays are the fifteen days as papers print them.
func (s *Room) paperDays(r *http.Request, t trialPage) []paper.TrialDay {
	var days []paper.TrialDay
	for _, want := range chronometer.Programme() {
		day := paper.TrialDay{Number: strconv.Itoa(want.Number), Position: runs.PaperPosition(want.Position, t.crown),
			Asked: figure.Plain(want.TemperatureC)}
		if v, known := t.rates.Rate(want.Number); known {
			p := v.Print(true)
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
		}
		days = append(days, day)
	}
	return days
}

func (s *Room) sendTrialBulletin(w http.ResponseWriter, r *http.Request) error {
	sheet, t, err := s.trialPaper(r)
	if err != nil {
		return err
	}
	pdf, err := s.trialBulletinPaper(r, sheet, t).PDF(s.Now())
	if err != nil {
		return err
	}
	return page.SendPDF(w, "trial-"+sheet.Head.Docket.Number.String(), pdf)
}

// trialBulletinPaper is what the bulletin says as a PDF.
func (s *Room) trialBulletinPaper(r *http.Request, sheet store.TrialSheet, t trialPage) paper.TrialBulletin {
	r = page.AsStood(r, t.shop)
	verdict, sentence := trialVerdict(t)
	b := paper.TrialBulletin{Issuer: page.IssuerOf(t.shop), Lang: t.shop.Locale,
		Docket: sheet.Head.Docket.Number.String(), Date: s.Moment(r, s.Now()),
		Watch: runs.WatchFields(sheet.Head), Plan: s.planFields(r, t), Mark: runs.PaperMark(verdict), Verdict: sentence,
		Simple: simpleSentence(t.judged),
		Rule:   "Decision rule: " + t.rule.String() + ".", Days: s.paperDays(r, t), Notes: append(trialNotes(t),
			trialSeal(sheet.Head)), Signatures: trialSignatures}
	for _, res := range t.judged.Results {
		c := paper.TrialCriterion{Symbol: res.Criterion.Symbol(), Name: text.Capital(res.Criterion.Label()),
			Formula: res.Criterion.Formula(),
			Limits:  limitsWords(res) + " " + res.Criterion.Unit(), Guarded: runs.PaperMark(res.Guarded),
			SimpleWord: string(res.Standing)}
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
