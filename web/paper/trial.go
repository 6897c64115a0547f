package paper

import (
	"slices"
	"time"
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

// Texts is as [ClaimTicket.Texts].
func (b TrialBulletin) Texts() []string {
	all := slices.Concat(b.Issuer.texts(), fieldTexts(b.Watch), fieldTexts(b.Plan),
		[]string{b.Verdict, b.Simple, b.Rule}, b.Notes, b.Signatures)
	for _, d := range b.Days {
		all = append(all, d.Note)
	}
	return all
}

// PDF sets the bulletin; errors as [Estimate.PDF].
func (b TrialBulletin) PDF(created time.Time) ([]byte, error) {
	f, err := b.layout(created)
	if err != nil {
		return nil, err
	}
	return f.finish()
}

func (b TrialBulletin) layout(created time.Time) (*flow, error) {
	const title = "Bulletin of a trial"
	f, err := newFlow(b.Issuer, title, b.Docket, b.Lang, created)
	if err != nil {
		return nil, err
	}
	f.letterhead()
	if err := f.title(title, b.Date, b.Docket); err != nil {
		return nil, err
	}
	f.fields(b.Watch, 4)
	f.fields(b.Plan, 4)
	f.verdict(Bulletin{Mark: b.Mark, Verdict: b.Verdict + " " + b.Simple})
	f.trialCriteria(b.Criteria)
	f.trialDays(b.Days)
	f.section("How the verdicts are reached", 3*bodyStyle.lineHeight())
	f.prose(b.Rule, bodyStyle)
	f.y += 2
	f.markKey()
	f.notes(b.Notes)
	f.y += 4
	f.signatures(b.Signatures)
	return f, nil
}

// trialCriteria sets the seven criteria.
func (f *flow) trialCriteria(list []TrialCriterion) {
	const symbol, value, limits, verdict = 14.0, 34.0, 30.0, 25.0
	rowHeight := bodyStyle.lineHeight() + smallStyle.lineHeight() + 2*cellPad
	f.section("Criteria", min(12+float64(len(list))*rowHeight, 120))
	t := table{flow: f, columns: []column{{"", symbol, left}, {"Criterion", a4Inner - symbol - value - limits - 2*verdict,
		left},
		{"Figure", value, right}, {"Limits", limits, right}, {"Simple", verdict, left}, {"With guard band", verdict, left}}}
	var rows [][]cell
	for _, c := range list {
		figure := c.Value
		if figure == "" {
			figure = "–"
		}
		rows = append(rows, []cell{{text: c.Symbol, strong: true}, {text: c.Name, note: c.Formula}, {text: figure},
			{text: c.Limits},
			f.verdictCell(Statistic{Judged: true, Mark: c.Simple, Verdict: c.SimpleWord}),
			f.verdictCell(Statistic{Judged: true, Mark: c.Guarded})})
	}
	t.draw(rows)
	f.y += 6
}

// trialDays sets the fifteen days.
func (f *flow) trialDays(days []TrialDay) {
	const number, position, temperature, rate, read = 10.0, 46.0, 18.0, 28.0, 34.0
	f.section("The fifteen days", min(12+float64(len(days))*(bodyStyle.lineHeight()+2*cellPad), 120))
	t := table{flow: f, columns: []column{{"Day", number, left}, {"Position", position, left},
		{"Asked, °C", temperature, right}, {"Was, °C", temperature, right},
		{"Rate, s/d", rate, right}, {"Read", read, left}, {"Note", a4Inner - number - position - 2*temperature - rate - read,
			left}}}
	var rows [][]cell
	for _, d := range days {
		row := []cell{{text: d.Number}, f.positionCell(d.Position), {text: d.Asked}, {text: d.Was}, {text: d.Rate},
			{text: d.Read}, {text: d.Note}}
		for i := 2; i < 5; i++ {
			if row[i].text == "" {
				row[i].text = "–"
			}
		}
		rows = append(rows, row)
	}
	t.draw(rows)
	f.y += 6
}
