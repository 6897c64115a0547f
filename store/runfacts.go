package store

import (
	"cmp"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/timing"
)

// runFacts is what the journal keeps of a run: every figure as it was typed, and the verdict.
type runFacts struct {
	Run          string         `json:"run"`
	Note         string         `json:"note,omitempty"`
	Instrument   string         `json:"instrument,omitempty"`
	ClockPPM     float64        `json:"clock_within_ppm"`
	TemperatureC *float64       `json:"temperature_c,omitempty"`
	LiftAngleDeg float64        `json:"lift_angle_deg,omitempty"` // of the calibre, with its uncertainty where determined
	LiftAngleU95 float64        `json:"lift_angle_u95_deg,omitempty"`
	CrownAt      int            `json:"crown_at"`
	States       string         `json:"states_of_wind_h"`
	Touched      string         `json:"touched,omitempty"`
	Readings     []readingFacts `json:"readings"`
	JudgedBy     string         `json:"judged_by,omitempty"`
	Rule         string         `json:"rule,omitempty"`
	Verdict      string         `json:"verdict,omitempty"`
}

type readingFacts struct {
	At      string `json:"at"` // "CH, full wind"
	Figures string `json:"figures"`
	// Asked is what was asked about them when they were typed, and who confirmed it.
	Asked string `json:"asked,omitempty"`
}

// judgedAnew is one run's verdict before and after.
type judgedAnew struct {
	Run    string `json:"run"`
	Before string `json:"before"`
	Now    string `json:"now"`
}

// changedFigure is one thing that was changed on a run.
type changedFigure struct {
	What string `json:"figure"`
	From string `json:"from"`
	To   string `json:"to"`
	// Asked is what was asked about it when it was typed, and who confirmed it.
	Asked string `json:"asked,omitempty"`
}

func factsOfRun(sh timing.Sheet, j *timing.Judgement) runFacts {
	f := runFacts{Run: sh.Run.Title(), Note: sh.Run.Label, Instrument: sh.Instrument, ClockPPM: sh.ClockPPM,
		TemperatureC: sh.TemperatureC, CrownAt: sh.Run.CrownHour, LiftAngleDeg: sh.LiftAngle.Deg, LiftAngleU95: liftU95Deg(sh.LiftAngle), States: timing.StatesText(sh.States),
		Touched: timing.TouchedWords(sh.Run.Touched)}
	for _, r := range sh.Run.Readings {
		f.Readings = append(f.Readings, readingFacts{
			At: r.Cell(), Figures: r.Text(), Asked: r.Asked()})
	}
	if j != nil {
		f.JudgedBy, f.Rule, f.Verdict = j.LimitsTitle(), j.Rule.String(), j.Verdict.String()
	}
	return f
}

// judgedWords says how a run came out and by what.
func judgedWords(r RunRecord, j *timing.Judgement) string {
	if j == nil {
		return r.Outcome.JudgedWords("")
	}
	return r.Outcome.JudgedWords(j.LimitsTitle())
}

// changeEvents tell of a changed run, and of its verdict where that changed with it.
func changeEvents(why string, before, after RunRecord, edits []timing.Edit, j *timing.Judgement) []event {
	changes, asked := make([]changedFigure, len(edits)), after.Sheet.Confirmed()
	for i, e := range edits {
		changes[i] = changedFigure{e.What, cmp.Or(e.From, "none"), cmp.Or(e.To, "none"), asked[e.Field]}
	}
	title := after.Sheet.Run.Title()
	events := []event{{kind: docket.ReadingChanged, why: why, summary: docket.RunChangedSummary(title, len(edits)),
		facts: struct {
			Run     string          `json:"run"`
			Changes []changedFigure `json:"changes"`
		}{title, changes}}}
	if j == nil || after.Outcome == before.Outcome && after.RateLimitsID == before.RateLimitsID &&
		after.SimpleAcceptance == before.SimpleAcceptance {
		return events
	}
	return append(events, event{kind: docket.RunJudged, summary: docket.RunJudgedSummary(title, judgedWords(after, j)),
		facts: struct {
			By       string       `json:"judged_by"`
			Rule     string       `json:"rule"`
			Verdicts []judgedAnew `json:"verdicts"`
		}{j.LimitsTitle(), j.Rule.String(), []judgedAnew{{title, before.Outcome.Words(), j.Verdict.String()}}}})
}
