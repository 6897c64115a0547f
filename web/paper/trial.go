package paper

import (
	"cmp"

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
	const title = "Bulletin of a trial"
	doc := document{size: a4, title: title, number: b.Docket, issuer: b.Issuer, lang: b.Lang, parts: []part{
		letterhead{Issuer: b.Issuer},
		head{name: title, under: b.Date, code: b.Docket, codeWords: "Docket " + b.Docket},
		fields{list: b.Watch}, fields{list: b.Plan},
		verdict{b.Mark, b.Verdict, b.Simple},
		trialCriteria(b.Criteria), trialDays(b.Days),
	}}
	doc.parts = append(doc.parts, reached(b.Rule)...)
	doc.parts = append(doc.parts, prose{heading: "Notes", paragraphs: b.Notes}, signatures{roles: b.Signatures})
	return doc
}

// trialCriteria are the seven criteria.
func trialCriteria(list []TrialCriterion) table {
	t := table{heading: "Criteria", id: "trial-criteria", columns: []column{{"", 0.07, drawing.Left},
		{"Criterion", 0.25, drawing.Left}, {"Figure", 0.18, drawing.Right}, {"Limits", 0.16, drawing.Right},
		{"Simple acceptance", 0.17, drawing.Left}, {"With guard band", 0.17, drawing.Left}}}
	for _, c := range list {
		t.rows = append(t.rows, []cell{{text: c.Symbol, strong: true}, {text: c.Name, note: c.Formula},
			{text: cmp.Or(c.Value, none)}, {text: c.Limits}, verdictCell(c.Simple, c.SimpleWord),
			verdictCell(c.Guarded, c.GuardedWord)})
	}
	return t
}

// trialDays are the fifteen days.
func trialDays(days []TrialDay) table {
	t := table{heading: "The fifteen days", id: "trial-days", columns: []column{{"Day", 0.06, drawing.Left},
		{"Position", 0.27, drawing.Left}, {"Asked, °C", 0.1, drawing.Right}, {"Was, °C", 0.1, drawing.Right},
		{"Rate, s/d", 0.16, drawing.Right}, {"Read", 0.17, drawing.Left}, {"Note", 0.14, drawing.Left}}}
	for _, d := range days {
		t.rows = append(t.rows, []cell{{text: d.Number}, positionCell(d.Position), {text: cmp.Or(d.Asked, none)},
			{text: cmp.Or(d.Was, none)}, {text: cmp.Or(d.Rate, none)}, {text: d.Read}, {text: d.Note}})
	}
	return t
}
