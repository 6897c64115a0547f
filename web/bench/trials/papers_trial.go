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
	"ledgerwheel/domain/tongue"
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
func trialEntry(t tongue.Tongue, h store.Head) string {
	return t.Say("paper.entry", "number", h.Docket.Number, "entry", h.Docket.Version, "hash", h.Docket.Head.Short())
}

// trialVerdict is the verdict as its bulletin says it: of a trial that is not over it says so.
func trialVerdict(say page.Voice, t trialPage) (metrology.Verdict, string) {
	switch t.record.State {
	case trial.Abandoned:
		return metrology.NotMeasured, say.Say("paper.trial.abandoned", "why", t.record.Reason)
	case trial.Running:
		return t.verdict, say.Say("paper.trial.running", "verdict", verdictSaid(say, t))
	}
	return t.verdict, verdictSaid(say, t)
}

// verdictSaid is the verdict of the trial in a sentence, in the customer's language.
func verdictSaid(say page.Voice, t trialPage) string {
	switch {
	case t.judged.Standing == chronometer.Open:
		return say.Say("paper.trial.open")
	case len(t.judged.With(chronometer.Spoilt)) > 0 && t.verdict == metrology.NotMeasured:
		return say.Say("paper.trial.spoilt")
	case t.verdict == metrology.Pass:
		return say.Say("paper.trial.pass")
	case t.verdict == metrology.Undecided:
		return say.Say("paper.trial.undecided")
	}
	var out []string
	for _, c := range t.judged.With(chronometer.Fail) {
		out = append(out, c.Symbol()+", "+say.Say("criterion."+string(c)))
	}
	return say.Say("paper.trial.fail", "list", cmp.Or(strings.Join(out, "; "), say.Say("paper.trial.outside")))
}

// departureSaid says how a day did not follow the programme, and what it spoils.
func departureSaid(say page.Voice, w chronometer.Warning) string {
	how := say.Say("paper.trial.departs."+string(w.Way.Kind), "day", w.Day, "is", say.Figures(w.Way.Is), "want", say.Figures(w.Way.Want),
		"within", say.Figures(w.Way.Within))
	if w.Programme {
		return how + " " + say.Say("paper.trial.spoils_none")
	}
	symbols := make([]string, len(w.Spoils))
	for i, c := range w.Spoils {
		symbols[i] = c.Symbol()
	}
	return how + " " + say.Say("paper.trial.spoils", "list", strings.Join(symbols, ", "))
}

func trialNotes(say page.Voice, t trialPage) []string {
	notes := []string{say.Say("paper.trial.units"), say.Say("paper.trial.own")}
	if slices.ContainsFunc(t.record.Days, func(d store.TrialDay) bool { return d.Version > 1 }) {
		notes = append(notes, say.Say("paper.trial.corrected_days"))
	}
	for _, w := range t.warnings {
		notes = append(notes, departureSaid(say, w))
	}
	return notes
}

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
		s.trialBulletinPaper(sheet, t))
}

// planFields say how the trial was run.
func planFields(say page.Voice, t trialPage) []paper.Field {
	p := t.record.Plan
	method, category := "paper.trial.instrument", "paper.trial.category_2"
	if p.Method == trial.ByComparison {
		method = "paper.trial.comparison"
	}
	if p.Category == chronometer.Category1 {
		category = "paper.trial.category_1"
	}
	list := []paper.Field{{Label: say.Say("paper.trial.category"), Value: say.Say(category)},
		{Label: say.Say("paper.trial.rates_by"), Value: say.Say(method)},
		{Label: say.Say("paper.trial.zone"), Value: t.record.TimeZone},
		{Label: say.Say("paper.trial.begins"), Value: say.Moment(p.DueAt(0, t.zone))},
		{Label: say.Say("paper.trial.ends"), Value: say.Moment(p.DueAt(chronometer.Days, t.zone))}}
	if p.Method == trial.ByInstrument {
		list = append(list, paper.Field{Label: say.Say("paper.instrument"), Value: p.Instrument},
			paper.Field{Label: say.Say("paper.its_clock"),
				Value: say.Say("paper.trial.clock", "ppm", say.Figures(figure.Plain(p.ClockPPM)))})
	}
	if p.Settling != nil {
		list = append(list, paper.Field{Label: say.Say("paper.trial.settled"), Value: say.Say("paper.trial.settled_for",
			"hours", say.Figures(figure.Plain(p.Settling.Hours)), "celsius", say.Figures(figure.Shown(p.Settling.TemperatureC)))})
	}
	list = append(list, paper.Field{Label: say.Say("paper.trial.begun"), Value: say.Moment(t.record.BegunAt) + ", " + t.record.BegunBy})
	if !t.record.EndedAt.IsZero() {
		label := say.Say("paper.trial.ended")
		if t.record.State == trial.Abandoned {
			label = say.Say("paper.trial.was_abandoned")
		}
		list = append(list, paper.Field{Label: label, Value: say.Moment(t.record.EndedAt) + ", " + t.record.EndedBy})
	}
	return slices.DeleteFunc(list, func(f paper.Field) bool { return f.Value == "" })
}

// paperDays are the fifteen days as papers print them.
func paperDays(say page.Voice, t trialPage) []paper.TrialDay {
	var days []paper.TrialDay
	for _, want := range chronometer.Programme() {
		day := paper.TrialDay{Number: strconv.Itoa(want.Number),
			Position: runs.PaperPosition(say.Tongue, want.Position, t.crown), Asked: say.Figures(figure.Plain(want.TemperatureC))}
		if v, known := t.rates.Rate(want.Number); known {
			p := v.Brief(true)
			p.Unit = ""
			day.Rate = say.Figures(p.String())
		}
		if kept, noted := t.record.Day(want.Number); noted {
			day.Read, day.Note = say.Moment(kept.ReadAt), kept.Note
			if kept.TemperatureC != nil {
				day.Was = say.Figures(figure.Shown(*kept.TemperatureC))
			}
			if kept.Position != want.Position {
				day.Note = cmp.Or(day.Note, say.Say("paper.trial.in_position", "position", string(kept.Position)))
			}
			if kept.Version > 1 {
				day.Note = strings.TrimSpace(day.Note + " " + correctedNote(say, t, kept))
			}
		}
		days = append(days, day)
	}
	return days
}

// correctedNote marks a day that was noted otherwise at first, with what it read then.
func correctedNote(say page.Voice, t trialPage, kept store.TrialDay) string {
	if first, found := t.record.First(kept.Day); found {
		if was := kept.Was(first.Entry, say.Say("paper.trial.not_noted")); len(was) > 0 {
			return say.Say("paper.trial.corrected_was", "at", say.Moment(kept.At),
				"was", say.Figures(text.TrueMinus(strings.Join(was, ", "))))
		}
	}
	return say.Say("paper.trial.corrected", "at", say.Moment(kept.At))
}

func (s *Room) sendTrialBulletin(w http.ResponseWriter, r *http.Request) error {
	sheet, t, err := s.trialPaper(r)
	if err != nil {
		return err
	}
	return s.SendPaper(w, r, "trial-"+sheet.Head.Docket.Number.String(), s.trialBulletinPaper(sheet, t), s.Now())
}

// trialBulletinPaper is what the bulletin says.
func (s *Room) trialBulletinPaper(sheet store.TrialSheet, t trialPage) paper.TrialBulletin {
	say := page.VoiceOf(sheet.Head.Docket.Tongue, t.shop)
	verdict, sentence := trialVerdict(say, t)
	b := paper.TrialBulletin{Issuer: page.IssuerOf(say.Shop), Lang: say.Lang(), Tongue: say.Tongue,
		Docket: sheet.Head.Docket.Number.String(), Date: say.Moment(s.Now()),
		Watch: runs.WatchFields(say.Tongue, sheet.Head), Plan: planFields(say, t), Mark: runs.PaperMark(verdict), Verdict: sentence,
		Simple: say.Say("paper.trial.simple", "standing", say.Say("standing."+string(t.judged.Standing))),
		Rule:   runs.RuleSaid(say.Tongue, t.rule), Days: paperDays(say, t),
		Notes:      append(trialNotes(say, t), trialEntry(say.Tongue, sheet.Head), say.SealLine(sheet.Seal)),
		Signatures: []string{say.Say("paper.watchmaker"), say.Say("paper.date")}}
	for _, res := range t.judged.Results {
		b.Criteria = append(b.Criteria, criterionSaid(say, res))
	}
	return b
}

// criterionSaid is one of the seven, beside its limits.
func criterionSaid(say page.Voice, res chronometer.Result) paper.TrialCriterion {
	unit := res.Criterion.Unit()
	if res.Criterion == chronometer.ThermalVariation {
		unit = say.Say("per_celsius")
	}
	lower, upper := limitEnds(res)
	c := paper.TrialCriterion{Symbol: res.Criterion.Symbol(), Name: text.Capital(say.Say("criterion." + string(res.Criterion))),
		Formula: res.Criterion.Formula(), Limits: runs.BoundsSaid(say, lower, upper) + " " + unit,
		Guarded: runs.PaperMark(res.Guarded), SimpleWord: say.Say("standing." + string(res.Standing))}
	switch res.Criterion {
	case chronometer.GreatestVariation, chronometer.LargestDeviation: // formulae with words
		c.Formula = say.Say("formula." + string(res.Criterion))
	}
	if res.Standing == chronometer.Spoilt {
		c.GuardedWord = c.SimpleWord
	}
	if res.Known {
		c.Value = say.Figures(strings.Replace(res.Text(), res.Criterion.Unit(), unit, 1))
	}
	switch res.Standing {
	case chronometer.Pass:
		c.Simple = paper.Pass
	case chronometer.Fail:
		c.Simple = paper.Fail
	}
	return c
}
