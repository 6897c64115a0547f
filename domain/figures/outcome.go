// Package figures says what became of each docket, and what a shop's dockets come to: an Outcome follows from what the
// record has of one docket, and Cells are what that outcome adds to the shop's monthly figures. It is pure: no database,
// no requests, no clock of its own.
package figures

import (
	"slices"
	"time"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/timing"
)

// Ended is how a watch's stay ended. The value is kept in the database.
type Ended string

// The ends. InShop is the zero value.
const (
	InShop     Ended = ""
	HandedOver Ended = "handed-over" // finished
	Declined   Ended = "declined"    // went back unrepaired
	Withdrawn  Ended = "withdrawn"   // the customer took it back
)

// Stay is one stay of a docket in a stage.
type Stay struct {
	Stage        docket.Stage
	Since, Until time.Time // UTC; Until is zero while it lasts
	BenchID      int64     // who had the work in hand when it ended, or has it now; 0 for nobody
}

// Test is a final test that came to a verdict. One that is recorded again within the same stay corrects the one before.
type Test struct {
	At     time.Time
	Passed bool
}

// Answer is an estimate that the customer answered.
type Answer struct {
	At       time.Time
	Approved bool
	// Refused counts the lines that the customer did not want, by kind: all of a declined estimate, and the optional lines
	// that were left out of an approved one.
	Refused map[estimate.Kind]int
}

// Payment is money taken, or given back where it is below zero.
type Payment struct {
	Day   time.Time // civil day of the till
	Minor int64
}

// Part is a fitted part.
type Part struct {
	Pieces    int
	CostMinor *int64 // of one, in the docket's currency, without tax; nil where nobody said
}

// Facts are what the record has of one docket. Runs, Tests, Answers and Promises are in the order in which they were written
// down, Stays in theirs.
type Facts struct {
	DocketID, Version      int64
	ReceivedOn, PromisedOn time.Time // civil days; zero where none
	LeftAt                 time.Time // zero while the shop keeps the watch
	Stage                  docket.Stage
	Work                   docket.Wanted
	Currency               string
	CalibreID, ComebackOf  int64 // 0 for none
	CameBackOn             time.Time
	Stays                  []Stay
	Promises               []docket.PromiseMoved
	Tests                  []Test
	Runs                   []timing.Run
	Answers                []Answer
	Payments               []Payment
	BilledMinor            *int64 // net of all documents, credit notes taken off; nil where none was issued
	Parts                  []Part
}

// Measured is what a run came to at full wind, over the positions that were measured; nil where it can't be worked out.
type Measured struct {
	RateSPerDay  *float64 // mean
	DeltaSPerDay *float64 // greatest less least rate, of two positions or more
	LyingDeg     *float64 // mean amplitude of CH and FH
	HangingDeg   *float64 // mean amplitude of the vertical positions
	LossDeg      *float64 // amplitude lost over 24 hours
}

// Outcome is what became of a docket.
type Outcome struct {
	DocketID, Version int64 // of the docket when it was worked out
	ReceivedOn        time.Time
	// FirstPromisedOn is the day that the customer was told first, PromisedOn the one that stands; zero where none.
	FirstPromisedOn, PromisedOn time.Time
	// ReadyOn is the civil day from which the watch was ready without going back to the bench; zero before.
	ReadyOn, LeftOn time.Time
	Ended           Ended
	Work            docket.Wanted
	CalibreID       int64 // 0 where the shop's list lacks it
	BenchID         int64 // who did the work, see BenchOf; 0 for nobody
	ComebackOf      int64 // the docket it returned from under warranty
	CameBackOn      time.Time
	TestedOn        time.Time // civil day of the first final test
	FirstPassed     bool
	Tests           int // stays in final test that came to a verdict
	AnsweredOn      time.Time
	Approved        bool
	Refused         map[estimate.Kind]int // of all answers
	Currency        string
	BilledMinor     *int64
	PartsMinor      int64 // what fitted parts cost, those of which it is known
	PartsUnknown    int   // fitted parts whose cost nobody said
	Taken           map[Month]int64
	Seconds         map[docket.Stage]int64 // in each stage, all ended stays together
	Before, After   Measured
}

// Of works out the outcome; days are civil days of the zone.
func Of(f Facts, zone *time.Location) Outcome {
	o := Outcome{DocketID: f.DocketID, Version: f.Version, ReceivedOn: f.ReceivedOn, FirstPromisedOn: firstPromised(f), PromisedOn: f.PromisedOn,
		Work: f.Work, CalibreID: f.CalibreID, BenchID: BenchOf(f.Stays), ComebackOf: f.ComebackOf, CameBackOn: f.CameBackOn,
		Currency: f.Currency, BilledMinor: f.BilledMinor}
	if !f.LeftAt.IsZero() {
		o.LeftOn, o.Ended = CivilDay(f.LeftAt, zone), endOf(f.Stage)
	}
	if at := readyAt(f); !at.IsZero() {
		o.ReadyOn = CivilDay(at, zone)
	}
	o.test(f, zone)
	o.answers(f.Answers, zone)
	for _, p := range f.Payments {
		add(&o.Taken, MonthOf(p.Day), p.Minor)
	}
	for _, p := range f.Parts {
		if p.CostMinor == nil {
			o.PartsUnknown += p.Pieces
		} else {
			o.PartsMinor += int64(p.Pieces) * *p.CostMinor
		}
	}
	for _, s := range f.Stays {
		if !s.Until.IsZero() {
			add(&o.Seconds, s.Stage, int64(s.Until.Sub(s.Since)/time.Second))
		}
	}
	o.Before, o.After = measuredAt(f.Runs, timing.AsReceived), measuredAt(f.Runs, timing.Final)
	return o
}

func add[K comparable, N int | int64](sums *map[K]N, k K, n N) {
	if *sums == nil {
		*sums = map[K]N{}
	}
	(*sums)[k] += n
}

// CivilDay is the day of t in a zone, at midnight UTC.
func CivilDay(t time.Time, zone *time.Location) time.Time {
	y, m, d := t.In(zone).Date()
	return time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
}

func endOf(s docket.Stage) Ended {
	switch s {
	case docket.StageDeclined:
		return Declined
	case docket.StageWithdrawn:
		return Withdrawn
	}
	return HandedOver
}

// firstPromised is the day that the customer was told first: that from which it was moved first, else the one that stands.
func firstPromised(f Facts) time.Time {
	if moved := docket.PromiseMoves(f.Promises); len(moved) > 0 {
		return moved[0].From
	}
	return f.PromisedOn
}

// readyAt is when the watch came into stage ready last, where it has not gone back since; zero where it has, or goes back unrepaired.
func readyAt(f Facts) time.Time {
	if len(f.Stays) == 0 {
		return time.Time{}
	}
	if last := f.Stays[len(f.Stays)-1]; last.Stage == docket.StageReady {
		return last.Since
	}
	return time.Time{}
}

// BenchOf is who did the work: who had the docket in hand in the newest of its stays in service, regulation or final test
// in which somebody had, else in the newest of any. 0 for nobody.
func BenchOf(stays []Stay) int64 {
	var any int64
	for _, s := range slices.Backward(stays) {
		if s.BenchID == 0 {
			continue
		}
		switch s.Stage {
		case docket.StageService, docket.StageRegulation, docket.StageFinalTest:
			return s.BenchID
		}
		if any == 0 {
			any = s.BenchID
		}
	}
	return any
}

// test notes the first final test: the verdict that stood when the first stay with one ended.
func (o *Outcome) test(f Facts, zone *time.Location) {
	for _, s := range f.Stays {
		if s.Stage != docket.StageFinalTest {
			continue
		}
		var verdict *Test
		for i, t := range f.Tests {
			if !t.At.Before(s.Since) && (s.Until.IsZero() || !t.At.After(s.Until)) {
				verdict = &f.Tests[i]
			}
		}
		if verdict == nil {
			continue
		}
		if o.Tests++; o.Tests == 1 {
			o.TestedOn, o.FirstPassed = CivilDay(verdict.At, zone), verdict.Passed
		}
	}
}

// answers notes the newest answer, and what was refused in all of them.
func (o *Outcome) answers(list []Answer, zone *time.Location) {
	for _, a := range list {
		o.AnsweredOn, o.Approved = CivilDay(a.At, zone), a.Approved
		for kind, n := range a.Refused {
			add(&o.Refused, kind, n)
		}
	}
}

// measuredAt is what the newest run of a kind came to.
func measuredAt(runs []timing.Run, kind timing.Kind) (m Measured) {
	for _, run := range slices.Backward(runs) {
		if run.Kind == kind {
			return MeasuredIn(run)
		}
	}
	return m
}

// MeasuredIn is what a run came to, see [timing.StatisticsOf], which has the formulas.
func MeasuredIn(run timing.Run) (m Measured) {
	var set []timing.Position
	for _, p := range timing.Positions() {
		if r, ok := run.Reading(p, 0); ok && r.RateSPerDay != nil {
			set = append(set, p)
		}
	}
	all := timing.StatisticsOf(run, timing.Options{Positions: set})
	m.LossDeg = valueOf(all.AmplitudeLoss24h)
	full, ok := all.At(0)
	if !ok {
		return m
	}
	if len(set) > 0 {
		m.RateSPerDay = valueOf(full.Mean)
	}
	if len(set) > 1 {
		m.DeltaSPerDay = valueOf(full.Delta)
	}
	m.LyingDeg, m.HangingDeg = valueOf(full.HorizontalAmplitude), valueOf(full.VerticalAmplitude)
	return m
}

func valueOf(s timing.Statistic) *float64 {
	if !s.Computable() {
		return nil
	}
	v := s.Value.Value
	return &v
}
