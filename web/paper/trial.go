package paper

import (
	"cmp"

	"ledgerwheel/domain/tongue"
	"ledgerwheel/web/paper/drawing"
)

// TrialDay is one of the fifteen days of a trial.
type TrialDay struct {
	Number   string
	Position Position
	Asked    string // temperature of the programme, °C
	Was      string // temperature as it was, °C; empty if not noted
	Rate     string // s/d, signed, with its uncertainty; empty if not known
	Read     string // when
	Note     string
}

// TrialCriterion is one of the seven, beside its limits.
type TrialCriterion struct {
	Symbol, Name string
	Formula      string
	Value        string // with uncertainty and unit; empty while it is not known
	Limits       string // with unit
	Simple       Mark   // by simple acceptance
	SimpleWord   string // empty takes the mark's own
	Guarded      Mark   // with the guard band
	GuardedWord  string // empty takes the mark's own
}

// TrialBulletin is the report of a trial of fifteen days (A4).
type TrialBulletin struct {
	Issuer     Issuer
	Lang       string
	Tongue     tongue.Tongue
	Docket     string
	Date       string
	Watch      []Field
	Plan       []Field // category, method, first day
	Mark       Mark
	Verdict    string // in a sentence
	Simple     string // how it stands by simple acceptance, in a sentence
	Rule       string // the decision rule, stated
	Criteria   []TrialCriterion
	Days       []TrialDay
	Notes      []string
	Signatures []string // roles that sign
}

func (b TrialBulletin) document() document {
	t := b.Tongue
	title := t.Say("paper.trial")
	doc := document{size: a4, title: title, number: b.Docket, issuer: b.Issuer, lang: b.Lang, tongue: t, parts: []part{
		letterhead{Issuer: b.Issuer},
		head{name: title, under: b.Date, code: b.Docket, codeWords: t.Say("paper.docket", "number", b.Docket)},
		fields{list: b.Watch}, fields{list: b.Plan},
		verdict{t, b.Mark, b.Verdict, b.Simple},
		trialCriteria(t, b.Criteria), trialDays(t, b.Days),
	}}
	doc.parts = append(doc.parts, reached(t, b.Rule)...)
	doc.parts = append(doc.parts, prose{heading: t.Say("paper.notes"), paragraphs: b.Notes}, signatures{roles: b.Signatures})
	return doc
}

// trialCriteria are the seven criteria.
func trialCriteria(tongue tongue.Tongue, list []TrialCriterion) table {
	t := table{heading: tongue.Say("paper.criteria"), id: "trial-criteria", columns: []column{{"", 0.07, drawing.Left},
		{tongue.Say("paper.criterion"), 0.25, drawing.Left}, {tongue.Say("paper.figure"), 0.18, drawing.Right}, {tongue.Say("paper.limits"), 0.16, drawing.Right},
		{tongue.Say("paper.simple_acceptance"), 0.17, drawing.Left}, {tongue.Say("paper.with_guard_band"), 0.17, drawing.Left}}}
	for _, c := range list {
		t.rows = append(t.rows, []cell{{text: c.Symbol, strong: true}, {text: c.Name, note: c.Formula},
			{text: cmp.Or(c.Value, none)}, {text: c.Limits}, verdictCell(tongue, c.Simple, c.SimpleWord),
			verdictCell(tongue, c.Guarded, c.GuardedWord)})
	}
	return t
}

// trialDays are the fifteen days.
func trialDays(tongue tongue.Tongue, days []TrialDay) table {
	t := table{heading: tongue.Say("paper.fifteen_days"), id: "trial-days", columns: []column{{tongue.Say("paper.day"), 0.06, drawing.Left},
		{tongue.Say("paper.position"), 0.27, drawing.Left}, {tongue.Say("paper.asked_celsius"), 0.1, drawing.Right}, {tongue.Say("paper.was_celsius"), 0.1, drawing.Right},
		{tongue.Say("paper.rate_unit"), 0.16, drawing.Right}, {tongue.Say("paper.read"), 0.17, drawing.Left}, {tongue.Say("paper.note"), 0.14, drawing.Left}}}
	for _, d := range days {
		t.rows = append(t.rows, []cell{{text: d.Number}, positionCell(d.Position), {text: cmp.Or(d.Asked, none)},
			{text: cmp.Or(d.Was, none)}, {text: cmp.Or(d.Rate, none)}, {text: d.Read}, {text: d.Note}})
	}
	return t
}
