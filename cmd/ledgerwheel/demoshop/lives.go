package demoshop

import (
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"ledgerwheel/domain/diagnosis"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/finaltest"
	"ledgerwheel/domain/service"
	"ledgerwheel/domain/timing"
	"ledgerwheel/domain/watch"
	"ledgerwheel/store"
)

// misbehaving is the calibre that gives the shop most trouble: it comes in with less amplitude than the others, fails more final
// tests, and comes back more often.
const misbehaving = pellAuto

// Shares of what becomes of dockets. They are made up, to look as a shop's do; nobody counted them.
const (
	declines         = 0.10
	withdraws        = 0.02
	revises          = 0.08
	waitsForParts    = 0.30
	failsTest        = 0.08
	failsTestOfWorst = 0.22
	returns          = 0.028
	returnsOfWorst   = 0.09
)

// wait is how long a stage takes: log-normal, in working days, so that most are short and a few drag on.
type wait struct{ median, sigma float64 }

var (
	untilDiagnosis = wait{1.5, 0.6}
	untilPriced    = wait{0.6, 0.5}
	untilAnswered  = wait{2.2, 0.8}
	untilParts     = wait{6, 0.5}
	untilService   = wait{4, 0.6}
	untilRegulated = wait{1.2, 0.5}
	untilTested    = wait{1.2, 0.5}
	untilRetested  = wait{3, 0.5}
	untilCollected = wait{3.5, 0.8}
	untilBack      = wait{40, 0.7}
)

// longest bounds a wait, in standard deviations, so that nothing lies for years.
const longest = 1.8

// life is a docket's way through the shop, by a random source of its own. It ends where the day of the filling is reached.
type life struct {
	*store.BulkDocket
	shop   crew
	random *rand.Rand
	clock  time.Time
	until  time.Time
	hand   store.Actor // at whose bench it lies
	place  docket.Place
	err    error
}

// crew are the people of the shop, and its days.
type crew struct {
	calendar
	owner, clerk store.Actor
	makers       []store.Actor // one for each bench
	instrument   string
	ppm          float64
}

// over reports whether nothing more happens: something went wrong, or the present is reached.
func (l *life) over() bool { return l.err != nil || !l.clock.Before(l.until) }

// after moves the clock on by a wait, to an hour at which the shop is open.
func (l *life) after(w wait) *life {
	z := max(-longest, min(longest, l.random.NormFloat64()))
	days := w.median * math.Exp(w.sigma*z)
	whole := int(days)
	if l.random.Float64() < days-float64(whole) {
		whole++
	}
	if whole == 0 {
		return l.soon(20 + l.random.IntN(40))
	}
	day := workday(l.shop.civil(l.clock), -whole)
	l.clock = l.shop.midnight(day).Add(9*time.Hour + time.Duration(5+l.random.IntN(6*60))*minute + time.Duration(l.random.IntN(60))*time.Second)
	return l
}

// soon moves the clock on by minutes.
func (l *life) soon(minutes int) *life {
	l.clock = l.clock.Add(time.Duration(minutes)*minute + time.Duration(l.random.IntN(60))*time.Second)
	return l
}

// do is what somebody does now, where the present is not reached.
func (l *life) do(by store.Actor, act func(store.Change) error) bool {
	if l.over() {
		return false
	}
	l.err = act(store.Change{By: by, At: l.clock})
	return l.err == nil
}

func (l *life) chance(p float64) bool { return l.random.Float64() < p }

func (l *life) move(by store.Actor, to docket.Stage, place docket.Place, why string) bool {
	return l.do(by, func(c store.Change) error {
		var hand int64
		if place.Kind == docket.PlaceBench {
			hand = l.hand.StaffID
		}
		return l.Move(c, to, docket.Act{Place: place, Reason: why}, hand)
	})
}

// worst reports whether the watch has the calibre that misbehaves.
func (l *life) worst() bool { return l.Watch.CalibreName == misbehaving }

// live leads the docket from intake as far as it comes.
func (l *life) live() error {
	bench := l.random.IntN(len(l.shop.makers))
	l.hand, l.place = l.shop.makers[bench], docket.PlaceAt(docket.PlaceBench, fmt.Sprint(bench+1))
	l.after(untilDiagnosis)
	if l.chance(withdraws) {
		if l.move(l.shop.clerk, docket.StageWithdrawn, safe, "The customer needs it for a journey.") {
			l.collected()
		}
		return l.err
	}
	if !l.diagnose() || !l.agree() {
		return l.err
	}
	if l.chance(waitsForParts) && !l.Comeback() {
		l.soon(15)
		l.move(l.shop.clerk, docket.StageParts, safe, "")
		l.after(untilParts)
	}
	l.after(untilService)
	l.work(false)
	l.test()
	l.collected()
	return l.err
}

func (l *life) diagnose() bool {
	l.move(l.shop.clerk, docket.StageDiagnosis, l.place, "")
	l.soon(30)
	l.do(l.hand, l.ReadCautions)
	l.soon(5)
	f := faults[l.random.IntN(len(faults))]
	l.do(l.hand, func(c store.Change) error { return l.AddFinding(c, f) })
	if l.chance(0.3) {
		l.soon(6)
		more := faults[l.random.IntN(len(faults))]
		l.do(l.hand, func(c store.Change) error { return l.AddFinding(c, more) })
	}
	why := ""
	if l.soon(25); l.chance(0.15) {
		why = "It does not go long enough for a run."
	} else {
		l.run(timing.AsReceived, l.found(), fullWind)
	}
	l.soon(10)
	return l.move(l.hand, docket.StageEstimate, safe, why)
}

// found is how the watch goes as it came.
func (l *life) found() swing {
	s := l.sound()
	s.rateSPerDay += -19 + 14*l.random.NormFloat64()
	s.lyingDeg -= 45 + 20*l.random.Float64()
	s.hangingLoss += 12
	s.dayLoss += 12
	s.scatter += 3
	if l.worst() {
		s.lyingDeg -= 22
		s.hangingSPerD -= 9
	}
	return s
}

// sound is how it goes after the work: a little otherwise each.
func (l *life) sound() swing {
	s := sound(l.Watch.CalibreName)
	s.rateSPerDay += 1.2 * l.random.NormFloat64()
	s.lyingDeg += 3 * l.random.NormFloat64()
	s.heavyHour = float64(l.random.IntN(12))
	if l.worst() {
		s.lyingDeg -= 9
		s.hangingLoss += 7
		s.hangingSPerD -= 4
	}
	return s
}

func (l *life) run(kind timing.Kind, s swing, hours []float64) bool {
	return l.do(l.hand, func(c store.Change) error {
		sheet := s.sheet(fmt.Sprintf("%s %s %d", l.Number, kind, l.random.Uint32()), kind, "", hours, l.shop.instrument, l.shop.ppm, c.At)
		return l.RecordRun(c, store.RunEntry{Sheet: sheet})
	})
}

// agree prices the work and has the customer answer; false where it goes no further.
func (l *life) agree() bool {
	if l.after(untilPriced); l.over() {
		return false
	}
	if l.Comeback() { // work that costs nothing is allowed
		l.draft(0)
		return !l.over()
	}
	minor := l.priced()
	if !l.offer(minor) {
		return false
	}
	if l.chance(declines) {
		l.answer(false)
		l.soon(15)
		if l.move(l.shop.clerk, docket.StageDeclined, safe, "") {
			l.collected()
		}
		return false
	}
	l.answer(true)
	if l.chance(revises) {
		if l.after(untilPriced); !l.offer(minor + 3500) {
			return false
		}
		l.answer(true)
	}
	return !l.over()
}

// priced is what the work costs, minor units, tax included.
func (l *life) priced() int64 {
	price := map[docket.Wanted]int64{docket.WantedService: 18500, docket.WantedRepair: 9500, docket.WantedRegulation: 6500, docket.WantedCase: 5500,
		docket.WantedAdvice: 12000}[l.Wanted]
	if l.Watch.Winding == watch.WindingAutomatic && l.Wanted == docket.WantedService {
		price = 29500
	}
	return price + int64(l.random.IntN(8))*500
}

// draft writes down what the work costs; nothing for 0.
func (l *life) draft(minor int64) (number int) {
	lines := []estimate.Line{{Kind: estimate.Labour, Description: labourOf[l.Wanted], QuantityMilli: 1000, UnitMinor: minor, TaxBasisPoints: 2000}}
	if minor > 0 && l.chance(0.45) {
		part := fitted[l.random.IntN(len(fitted))]
		part.QuantityMilli, part.TaxBasisPoints = 1000, 2000
		lines = append(lines, part)
	}
	l.do(l.shop.clerk, func(c store.Change) (err error) {
		number, err = l.SaveDraft(c, estimate.Revision{Rule: estimate.TaxRule{PricesIncludeTax: true}, Lines: lines, ValidUntil: l.shop.civil(l.clock).AddDate(0, 0, 60)})
		return err
	})
	return number
}

// offer prices and sends an estimate.
func (l *life) offer(minor int64) bool {
	number := l.draft(minor)
	l.soon(12)
	return l.do(l.shop.clerk, func(c store.Change) error { return l.SendEstimate(c, number, l.shop.civil(l.clock)) })
}

func (l *life) answer(approve bool) bool {
	l.after(untilAnswered)
	return l.do(l.shop.clerk, func(c store.Change) error {
		return l.AnswerEstimate(c, estimate.Answer{Revision: l.Sent(), Approve: approve, Name: l.Customer.Name}, l.shop.civil(l.clock))
	})
}

// work is service, or after a failed test what the test found, then regulation.
func (l *life) work(again bool) {
	l.move(l.hand, docket.StageService, l.place, "")
	l.soon(70 + l.random.IntN(50))
	if again || l.Wanted != docket.WantedService {
		l.do(l.hand, func(c store.Change) error {
			return l.AddWork(c, service.Work{Steps: []service.Step{service.StepInspect, service.StepEscapement, service.StepCaseUp}, Minutes: 25 + l.random.IntN(60)})
		})
	} else {
		l.do(l.hand, func(c store.Change) error {
			return l.AddWork(c, service.Work{Steps: []service.Step{service.StepLetDown, service.StepUncase, service.StepDismantle, service.StepInspect,
				service.StepClean, service.StepPegJewels}, Minutes: 70 + l.random.IntN(40)})
		})
		l.after(wait{0.8, 0.3}).soon(40)
		l.do(l.hand, func(c store.Change) error { return l.AddWork(c, l.rebuilding()) })
	}
	l.after(untilRegulated)
	l.move(l.hand, docket.StageRegulation, l.place, "")
	l.after(wait{1, 0.2})
	l.run(timing.Final, l.sound(), bothDays)
	why := ""
	if l.Facts().RunOutcome != docket.Passed {
		why = "As near as this calibre comes; the customer knows."
	}
	l.soon(10)
	l.move(l.hand, docket.StageFinalTest, l.place, why)
}

func (l *life) rebuilding() service.Work {
	automatic := l.Watch.Winding == watch.WindingAutomatic
	w := service.Work{Minutes: 100 + l.random.IntN(50), Steps: []service.Step{service.StepReassemble, service.StepLubricate, service.StepEscapement,
		service.StepDialAndHands, service.StepCaseUp}}
	for _, p := range service.Places {
		if p == service.AutomaticWork && !automatic || p == service.CalendarWork {
			continue
		}
		w.Lubricants = append(w.Lubricants, service.Lubricant{Place: p, Kind: service.UsualLubricant(p, automatic)})
	}
	return w
}

// test is the final test, which nine in ten pass at once.
func (l *life) test() {
	fails := failsTest
	if l.worst() {
		fails = failsTestOfWorst
	}
	sheet := passes(l.reserve(), l.Watch.OverpressureBar, false)
	l.after(untilTested)
	if l.chance(fails) {
		failed := sheet.With(finaltest.Result{Test: finaltest.PowerReserve, Outcome: finaltest.OutcomeFail, Figure: math.Round(l.reserve() * 0.7), HasFigure: true,
			Note: "Stops too soon."})
		l.do(l.hand, func(c store.Change) error {
			_, err := l.RecordFinalTest(c, failed, "")
			return err
		})
		l.soon(10)
		l.work(true)
		l.after(untilRetested)
	}
	l.do(l.hand, func(c store.Change) error {
		_, err := l.RecordFinalTest(c, sheet, "")
		return err
	})
	l.soon(12)
	l.move(l.hand, docket.StageReady, safe, "")
}

// reserve is what the power reserve is found to be, hours.
func (l *life) reserve() float64 {
	for _, k := range calibres {
		if k.Name == l.Watch.CalibreName {
			return k.PowerReserveHours + 1
		}
	}
	return 40
}

// collected is the watch's leaving.
func (l *life) collected() {
	l.after(untilCollected)
	l.do(l.shop.clerk, func(c store.Change) error {
		pay := docket.PayCard
		switch {
		case l.chance(0.3):
			pay = docket.PayCash
		case l.chance(0.2):
			pay = docket.PayTransfer
		}
		return l.HandOver(c, docket.Leaving{CollectedBy: l.Customer.Name, Ticket: l.Number.String(), OldParts: docket.OldPartsNone, Pay: docket.Tender{Way: pay}}, "")
	})
}

var faults = []diagnosis.Finding{
	seen(diagnosis.Train, "dirty", diagnosis.Require, "Oil gone to gum."),
	seen(diagnosis.Mainspring, "set", diagnosis.Require, ""),
	seen(diagnosis.Mainspring, "broken", diagnosis.Require, "At the eye."),
	seen(diagnosis.CaseAndSeals, "gasket hardened", diagnosis.Advise, ""),
	seen(diagnosis.Train, "pivot worn or scored", diagnosis.Advise, "Fourth wheel."),
	seen(diagnosis.DialAndHands, "hands loose", diagnosis.Require, ""),
}

var labourOf = map[docket.Wanted]string{docket.WantedService: "Full service of the movement", docket.WantedRepair: "Repair of the fault found",
	docket.WantedRegulation: "Regulation in six positions", docket.WantedCase: "Case closed, seals fitted", docket.WantedAdvice: "Repair as advised",
	docket.WantedWarranty: "Put right under warranty"}

var fitted = []estimate.Line{
	{Kind: estimate.Part, Description: "Mainspring", UnitMinor: 4500},
	{Kind: estimate.Part, Description: "Seals", UnitMinor: 2800},
	{Kind: estimate.Part, Description: "Glass", UnitMinor: 3500, Optional: true},
	{Kind: estimate.OutsideWork, Description: "Case polished", UnitMinor: 6000, Optional: true},
}
